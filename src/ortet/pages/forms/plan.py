"""Forms of the plan: make it, change by hand who gets what and what stands where, and give the choice back."""

from typing import Any

from django import forms
from django.db.models import QuerySet
from django.utils.text import format_lazy
from django.utils.translation import gettext_lazy as _

from ortet.ledger.models import (
    Balance,
    BenchSetup,
    Nursery,
    OrderLine,
    Pick,
    Place,
    PlanKind,
    Slot,
    Target,
)
from ortet.ledger.places import WOOD
from ortet.pages import known
from ortet.pages.templatetags.say import window
from ortet.wood.speech import say, short_month
from ortet.wood.units import show_temperature
from ortet.work import Refused
from ortet.work.plan.bench_look import Standing
from ortet.work.plan.by_hand import find_pick, find_slot, find_wish
from ortet.work.plan.desk import Desk, latest, monday

from .deed import FEW, Deed
from .fields import CodeField, CountField, DayField, one_of

__all__ = ["Give", "LetChoose", "LookAt", "PlanSeason", "SetBatch", "where_key"]

SURE = [("0.8", _("4 winters in 5")), ("0.9", _("9 winters in 10")), ("0.95", _("19 winters in 20"))]
TO_TAKE = "take"  # marks wood that is still to be taken: no code of a lot is so short
HOW_LONG = _("It usually takes ten to thirty seconds; the page answers when it is done.")


class PlanSeason(Deed):
    """The whole season, planned."""

    title = _("Plan the season")
    why = format_lazy(
        "{why} {how_long}",
        why=_(
            "How much to take, who gets what, what goes on the bench, which day to post. Nothing is moved by it."
        ),
        how_long=HOW_LONG,
    )
    act = _("Plan the season")
    first = ("sure",)

    sure = one_of(_("Each wish is to be met in"), SURE)
    at = None
    note = None

    def usual(self) -> dict[str, Any]:
        """Return what is usual."""
        return {"sure": "0.9"}


def wish_or_none(text: str) -> OrderLine | Target | None:
    """Return the wish that a text means, if it means one."""
    try:
        return find_wish(text) if text else None
    except Refused:
        return None


class Give(Deed):
    """Wood for a wish, chosen by hand."""

    title = _("Give it other wood")
    why = format_lazy(
        "{why} {how_long}",
        why=_("The plan keeps your choice and plans the rest around it. Nothing is moved by it."),
        how_long=HOW_LONG,
    )
    act = _("Keep this, plan the rest")
    first = ("wish", "wood", ("count", "day"))

    wish = forms.CharField(
        label=_("For"), max_length=40, help_text=_("3/2 for the second line of order 3, or target 4.")
    )
    wood = forms.ChoiceField(label=_("Wood"))
    count = CountField(label=_("Cuttings"), least=1)
    day = DayField(label=_("In the week of"), help_text=_("Any day of it."))
    instead = forms.IntegerField(required=False, widget=forms.HiddenInput)
    at = None
    note = None

    def usual(self) -> dict[str, Any]:
        """Return this week."""
        return {"day": self.nursery.today()}

    def fit(self) -> None:
        """Offer the wood of the variety that is wanted, and of what is taken instead; begin in the order's window."""
        wish = wish_or_none(self.said("wish"))
        if wish:
            whose = wish.order.buyer if isinstance(wish, OrderLine) else wish.get_purpose_display()
            self.fields["wish"].help_text = say(
                "{whose}: {count} of {variety}.", whose=whose, count=wish.count, variety=wish.variety
            )
        if isinstance(wish, OrderLine) and not self.is_bound:
            self.fields["day"].help_text = say(
                "Any day of it. Posted {days}.",
                days=window(wish.first_day, wish.last_day, self.nursery.units),
            )
            if self.initial["day"] == self.nursery.today():
                self.initial["day"] = max(self.initial["day"], wish.first_day)
        choices = [(f"{row.lot.code}:{row.place.code}", _words(row)) for row in _wood(wish)]
        choices += _still_to_take(wish)
        lot, place = known.lot_or_none(self.said("lot")), known.place_or_none(self.said("from_place"))
        if lot:
            self.initial["wood"] = next(
                (
                    value
                    for value, _ in choices
                    if value == f"{lot.code}:{place.code if place else ''}"
                    or (not place and lot.code in value)
                ),
                "",
            )
        if mother := self.said("accession"):
            self.initial["wood"] = f"{TO_TAKE}:{mother}"
        if 1 <= len(choices) <= FEW:
            self.fields["wood"].widget = forms.RadioSelect()
        self.fields["wood"].choices = choices
        self.fields["wood"].error_messages["invalid_choice"] = say(
            "That wood is not on hand, or of another variety than is wanted or taken instead."
        )

    def deed(self) -> dict[str, Any]:
        """Return the choice with its lot and place apart, or the mother plant it is still to be taken from."""
        said = super().deed()
        lot, _, place = said.pop("wood").partition(":")
        if lot == TO_TAKE:
            return {**said, "lot": None, "mother": place, "from_place": None}
        return {**said, "lot": lot, "mother": None, "from_place": place}


def _wood(wish: OrderLine | Target | None) -> QuerySet[Balance]:
    """Return the wood on hand that a wish can be given; all where the wish is not named yet."""
    rows = Balance.objects.filter(count__gt=0, place__kind__in=WOOD)
    if wish:
        varieties = [wish.variety_id]
        if isinstance(wish, OrderLine):
            varieties += wish.substitutes.values_list("variety_id", flat=True)
        rows = rows.filter(lot__variety__in=varieties)
    return rows.select_related("lot__variety", "place").order_by("lot__variety__name", "lot__code")


def _still_to_take(wish: OrderLine | Target | None) -> list[tuple[str, str]]:
    """Return what the plan still takes of the variety and for the use that is wanted."""
    plan = latest(PlanKind.TAKE)
    if plan is None or wish is None:
        return []
    rows = plan.to_take.filter(mother__variety=wish.variety_id, use=wish.use).select_related("mother")
    return [
        (
            f"{TO_TAKE}:{row.mother.accession}",
            say("to take from {mother}: {count}", mother=row.mother.accession, count=row.count),
        )
        for row in rows
    ]


def _words(row: Balance) -> str:
    grade = f", {row.lot.grade}" if row.lot.grade else ""
    return say(
        "{lot} in {place}: {count} of {variety}{grade}",
        lot=known.named(row.lot),
        place=row.place,
        count=row.count,
        variety=row.lot.variety.name,
        grade=grade,
    )


def where_key(bench: Place, base_c: float | None) -> str:
    """Return a bench and its heat as a form's value."""
    return f"{bench.code}:{'' if base_c is None else f'{base_c:g}'}"


def _wheres(nursery: Nursery) -> list[tuple[str, str]]:
    """Return every bench that can be planned for at each of its heats."""
    setups = sorted(Desk(nursery.now(), nursery).setups.values(), key=lambda one: one.place.name)
    return [
        (where_key(one.place, heat), f"{one.place} {_heat(heat, nursery.units)}")
        for one in setups
        for heat in (one.heats or [None])
    ]


def _heat(base_c: float | None, units: str) -> str:
    return say("without heat") if base_c is None else say("at {heat}", heat=show_temperature(base_c, units))


class SetBatch(Deed):
    """Bench, heat and week of a batch, chosen by hand."""

    title = _("Choose its bench by hand")
    why = _("The plan keeps your choice and plans the other batches around it. Nothing is moved by it.")
    act = _("Keep this, plan the rest")
    first = ("lot", "from_place", "where", ("start", "count"))
    offers = {"lot": known.lots, "from_place": known.places}

    lot = CodeField(label=_("Lot"), help_text=_("Code or mark, typed or scanned."))
    from_place = CodeField(
        label=_("From"), required=False, help_text=_("May stay empty where the lot lies in one place.")
    )
    where = forms.ChoiceField(label=_("Bench and heat"))
    start = DayField(label=_("Set in the week of"), help_text=_("Any day of it."))
    count = CountField(
        label=_("Cuttings"), least=1, required=False, help_text=_("Empty: all. Else whole trays.")
    )
    at = None
    note = None

    def usual(self) -> dict[str, Any]:
        """Return this week."""
        return {"start": self.nursery.today()}

    def fit(self) -> None:
        """Offer the benches and their heats."""
        self.fields["where"].choices = _wheres(self.nursery)
        self.choose_from()

    def deed(self) -> dict[str, Any]:
        """Return the choice with its bench and heat apart."""
        said = super().deed()
        code, _, heat = said.pop("where").partition(":")
        setup = BenchSetup.objects.filter(place__code=code).order_by("at", "id").last()
        heats = {f"{one:g}": one for one in setup.heats} if setup else {}
        return {**said, "bench": code, "base_c": heats.get(heat)}


class LetChoose(Deed):
    """A choice made by hand, given back to the plan."""

    title = _("Let the plan choose again")
    act = _("Let the plan choose")
    pick = forms.IntegerField(required=False, widget=forms.HiddenInput)
    slot = forms.IntegerField(required=False, widget=forms.HiddenInput)
    at = None
    note = None

    def fit(self) -> None:
        """Say which choice is given back."""
        self.why = say(
            "{what} was chosen by hand. The plan is made anew without that choice. {how_long}",
            what=self._what(),
            how_long=HOW_LONG,
        )

    def _what(self) -> str:
        try:
            if (number := self.said("slot")).isdecimal():
                return _of_slot(find_slot(int(number)), self.nursery.units)
            if (number := self.said("pick")).isdecimal():
                return _of_pick(find_pick(int(number)))
        except Refused:
            pass
        return say("What you name")

    def clean(self) -> dict[str, Any]:
        """Refuse what names neither."""
        said = super().clean()
        if not (said.get("pick") or said.get("slot")):
            raise forms.ValidationError(say("Come here from the plan, by the link beside a choice."))
        return said


def _of_pick(pick: Pick) -> str:
    lot = (
        say("lot {lot}", lot=known.named(pick.lot))
        if pick.lot
        else say("the wood to take from {mother}", mother=pick.mother)
    )
    return say(
        "{count} of {lot} for {wish}", count=pick.count, lot=lot, wish=known.called(pick.line or pick.target)
    )


def _of_slot(slot: Slot, units: str) -> str:
    heat = _heat(slot.base_c, units)
    return say(
        "Lot {lot} on {bench} {heat} from {day} {month}",
        lot=known.named(slot.lot),
        bench=slot.bench,
        heat=heat,
        day=slot.start.day,
        month=short_month(slot.start),
    )


class LookAt(forms.Form):
    """A batch on another bench, at another heat, in another week: what would come of it."""

    batch = forms.ChoiceField(label=_("Batch"))
    where = forms.ChoiceField(label=_("Bench and heat"))
    start = forms.ChoiceField(label=_("Set in the week of"))

    def __init__(self, standing: Standing, nursery: Nursery, data: Any) -> None:
        there = {f"{lot.code}:{place.code}": key for key, (lot, place) in standing.wood.items()}
        self.keys = there
        super().__init__(self._whole(standing, there, data), use_required_attribute=False)
        self.fields["batch"].choices = [
            (value, f"{known.named(lot)} {lot.variety.name}, {standing.season.batch[key].count}")
            for value, key in there.items()
            for lot, _ in [standing.wood[key]]
        ]
        self.benches = {
            where_key(course.place, heat): (course.bench.key, heat)
            for course in standing.courses
            for heat in course.bench.levels
        }
        self.fields["where"].choices = [
            (value, f"{bench} {_heat(heat, nursery.units)}") for value, (bench, heat) in self.benches.items()
        ]
        weeks = [standing.season.monday(n) for n in range(standing.season.weeks)]
        self.fields["start"].choices = [
            (day.isoformat(), f"{day.day} {short_month(day)} {day.year}") for day in weeks
        ]

    @staticmethod
    def _whole(standing: Standing, there: dict[str, str], data: Any) -> dict[str, str]:
        """Return what is asked; where only a batch is named, or nothing, as it is planned."""
        first = standing.bars[0].key if standing.bars else next(iter(standing.wood), "")
        values = {key: value for value, key in there.items()}
        batch = data.get("batch") or values.get(first, "")
        bar = next((bar for bar in standing.bars if values.get(bar.key) == batch), None)
        course = next((one for one in standing.courses if bar and one.bench.key == bar.bench), None)
        if bar and course:
            usual = where_key(course.place, bar.base_c), monday(bar.start).isoformat()
        else:
            place = standing.courses[0]
            usual = where_key(place.place, place.bench.levels[0]), standing.season.first.isoformat()
        return {
            "batch": batch,
            "where": data.get("where") or usual[0],
            "start": data.get("start") or usual[1],
        }

    def asked(self) -> tuple[str, str, float | None, Any]:
        """Return the batch's key, the bench, its heat and the day."""
        said = self.cleaned_data
        bench, heat = self.benches[said["where"]]
        return self.keys[said["batch"]], bench, heat, DayField().to_python(said["start"])
