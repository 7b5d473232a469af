"""Forms of what grows: strike, graft, count, pot on, sell."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext, pgettext_lazy

from ortet.ledger.models import Batch, Craft, Kind, Place
from ortet.ledger.places import WOOD
from ortet.pages import known
from ortet.wood.speech import say, to_say
from ortet.work.cautions import cautions
from ortet.work.growing.counting import counts_of, rooted_now
from ortet.work.growing.striking import next_batch_name, room_on

from .deed import Deed
from .fields import CodeField, CountField, Notes, PriceField, TemperatureField

__all__ = ["Count", "Graft", "Pot", "Sell", "Strike"]

A_LOT = _("Code or mark, typed or scanned.")
ONE_PLACE = _("May stay empty where the lot lies in one place.")


def _used(field: str) -> Any:
    """Return what offers the words that a field of batches held before, the latest first."""

    def offer() -> list[tuple[str, str]]:
        words = Batch.objects.exclude(**{field: ""}).order_by("-struck_at").values_list(field, flat=True)
        return [(word, "") for word in dict.fromkeys(words[:200])]

    return offer


class _Batch(Deed):
    """What a batch is made into."""

    craft = Craft.STRIKE
    offers = {
        "bench": lambda: known.places(Kind.BENCH),
        "tray": _used("tray"),
        "medium": _used("medium"),
        "treatment": _used("treatment"),
    }

    bench = CodeField(label=_("Bench"), help_text=_("Where the batch stands."))
    base_c = TemperatureField(label=_("Base, what the mat is set to"), required=False)
    name = forms.CharField(label=_("Name of the batch"), max_length=80, required=False)
    tray = forms.CharField(
        label=_("Tray"),
        max_length=40,
        required=False,
        help_text=_("As written on it; several batches may share one."),
    )
    medium = forms.CharField(
        label=_("Medium"), max_length=80, required=False, help_text=_("Such as sand or perlite.")
    )
    treatment = forms.CharField(
        label=_("Treatment of the base"),
        max_length=120,
        required=False,
        help_text=_("In your words, such as none, or K-IBA 2500 mg/l dip."),
    )

    def fit(self) -> None:
        """Say which name comes next; offer the benches if they are few."""
        self.fields["name"].help_text = say(
            "Empty: the next free one, {name}.", name=next_batch_name(self.craft)
        )
        benches = [(name, name) for name, _ in known.places(Kind.BENCH)]
        if len(benches) > 1:
            self.choose("bench", benches, picked=known.name_of(self.said("bench"), Kind.BENCH))

    @property
    def rooms(self) -> list[str]:
        """For each bench, or the one named, how much of it is taken."""
        benches = Place.objects.filter(kind=Kind.BENCH)
        if there := known.place_or_none(self.said("bench"), Kind.BENCH):
            benches = benches.filter(pk=there.pk)
        return [words for bench in benches if (words := room_on(bench))]

    @property
    def cautions(self) -> tuple[str, ...]:
        """The usual cautions that go with it."""
        return cautions(self.craft)

    def deed(self) -> dict[str, Any]:
        """Return how the batch is made; its bench may have been scanned."""
        said = super().deed()
        return {**said, "bench": known.name_of(said["bench"], Kind.BENCH)}


class Strike(_Batch):
    """Strike cuttings."""

    needs = ("lot", "bench")
    title = _("Strike")
    why = _(
        "A batch is what was set to root together: one lot, one day, one treatment. What it teaches goes by its name."
    )
    act = _("Strike")
    first = ("lot", "from_place", "count", "bench", "base_c", "treatment")
    folded = {
        to_say("Tray, medium, wound, name"): ("tray", "medium", "wounded", "name"),
        to_say("A plot of a trial"): (("trial", "plot"),),
    }
    offers = {"lot": known.lots, "from_place": lambda: known.places(*WOOD), **_Batch.offers}

    lot = CodeField(label=_("Lot"), help_text=A_LOT)
    from_place = CodeField(label=_("From"), required=False, help_text=ONE_PLACE)
    count = CountField(
        label=_("Cuttings"), least=1, required=False, help_text=_("Empty: all that lie there.")
    )
    wounded = forms.BooleanField(label=_("The base was wounded"), required=False)
    trial = CountField(label=_("Trial"), least=1, required=False, help_text=_("Its number."))
    plot = CountField(
        label=_("Plot"), least=1, required=False, help_text=_("Treatment and tray are then the plot's.")
    )

    def fit(self) -> None:
        """Offer the places of the lot."""
        super().fit()
        self.choose_from(Kind.BENCH, among=WOOD)

    def deed(self) -> dict[str, Any]:
        """Return what is struck, from where, and how."""
        said = super().deed()
        return {**said, "from_place": said["from_place"] or None}


class Graft(_Batch):
    """Graft scions on stocks."""

    craft = Craft.GRAFT
    needs = ("lot", "bench")
    title = _("Graft")
    why = _(
        "Scion and stock become one: a new lot of the scion's variety, with a label of its own, that remembers both."
    )
    act = _("Graft")
    first = ("scion", "stock", "count", "bench", "mark")
    folded = {
        to_say("Where they lie"): ("scion_from", "stock_from"),
        to_say("Heat, medium, tray, name"): ("base_c", "medium", "treatment", "tray", "name"),
    }
    offers = {
        "scion": known.lots,
        "stock": known.lots,
        "scion_from": lambda: known.places(*WOOD),
        "stock_from": lambda: known.places(*WOOD),
        **_Batch.offers,
    }

    scion = CodeField(label=_("Scion lot"), help_text=A_LOT)
    stock = CodeField(label=_("Rootstock lot"), help_text=A_LOT)
    count = CountField(label=_("Grafts"), least=1)
    mark = forms.CharField(
        label=_("Your mark for the new lot"),
        required=False,
        max_length=40,
        help_text=_("The code is made for you."),
    )
    scion_from = CodeField(label=_("Scions from"), required=False, help_text=ONE_PLACE)
    stock_from = CodeField(label=_("Stocks from"), required=False, help_text=ONE_PLACE)

    def fit(self) -> None:
        """Show the mark of a lot that a link named by its code."""
        super().fit()
        for name in ("scion", "stock"):
            if not self.is_bound and (lot := known.lot_or_none(self.said(name))):
                self.initial[name] = known.named(lot)

    def deed(self) -> dict[str, Any]:
        """Return what is grafted on what."""
        said = super().deed()
        return said | {name: said[name] or None for name in ("mark", "scion_from", "stock_from")}


class Count(Deed):
    """Count a batch."""

    needs = ("batch",)
    title = pgettext_lazy("deed", "Count")
    why = _("Leave empty what you did not count: nothing seen is not the same as none.")
    first = ("place", "lot", ("rooted", "callused"), ("leafed", "dead"), "give_up_dead")
    offers = {"place": lambda: [*known.batches(), *known.places(Kind.GROUND)], "lot": known.lots}

    place = CodeField(
        label=_("Batch or standing ground"), help_text=_("What is written on it, or its code scanned.")
    )
    lot = CodeField(
        label=_("Lot"), required=False, help_text=_("May stay empty where only one stands there.")
    )
    rooted = CountField(label=_("Rooted"), required=False)
    callused = CountField(label=_("Callus only"), required=False)
    leafed = CountField(label=_("Leaves, no roots"), required=False)
    dead = CountField(label=_("Dead"), required=False)
    give_up_dead = forms.BooleanField(label=_("Throw the dead out: book them as given up"), required=False)

    def fit(self) -> None:
        """Ask for numbers only, where the batch was named by the link that led here."""
        place = self.of_place
        if place is None:
            return
        self.fields["place"].widget = forms.HiddenInput()
        if not self.is_bound:
            self.fields["rooted"].widget.attrs["autofocus"] = True
        if place.kind == Kind.BATCH:
            self.fields["lot"].widget = forms.HiddenInput()
            if place.batch.craft == Craft.GRAFT:
                self.fields["rooted"].label = pgettext("graft", "Taken")
        else:
            lot = self.of_lot
            self.choose("lot", known.lots_in(place), picked=lot.code if lot else "")

    @property
    def counted_before(self) -> Any | None:
        """The last count of the batch, to compare with."""
        place = self.of_place
        if place is None or place.kind != Kind.BATCH:
            return None
        return next(reversed(counts_of(place.batch.lot, place)), None)

    def deed(self) -> dict[str, Any]:
        """Return what was counted; empty is not counted."""
        said = super().deed()
        return {**said, "lot": said["lot"] or None}


class Pot(Deed):
    """Pot rooted cuttings on."""

    needs = ("batch",)
    title = _("Pot on")
    why = _(
        "What is potted had roots: more than were counted rooted may be potted, and teach as a count does."
    )
    act = _("Pot on")
    first = ("batch", "count", "to_place")
    offers = {"batch": known.batches, "to_place": lambda: known.places(Kind.GROUND)}

    batch = CodeField(label=_("Batch"), help_text=_("What is written on it, or its code scanned."))
    count = CountField(label=_("Potted"), least=1, required=False)
    to_place = CodeField(
        label=_("Stand on"),
        help_text=_("The standing ground. A new one is added first: Record, Add a place."),
    )
    note = Notes(_("The pot, or a note"))

    def fit(self) -> None:
        """Offer the standing grounds; say how many are rooted."""
        place = self.of_place
        rooted = rooted_now(place.batch.lot, place) if place else None
        self.fields["count"].help_text = (
            say("Empty: the {rooted} that were counted rooted.", rooted=rooted)
            if rooted
            else say("How many had roots.")
        )
        if place:
            self.fields["batch"].widget = forms.HiddenInput()
        grounds = [(name, name) for name, _ in known.places(Kind.GROUND)]
        if len(grounds) == 1:
            self.fields["count"].help_text += say(" They go to {ground}.", ground=grounds[0][0])
        if grounds:
            self.choose("to_place", grounds, picked=known.name_of(self.said("to_place"), Kind.GROUND))

    @property
    def of_place(self) -> Place | None:
        """The batch named so far."""
        return known.place_or_none(self.fields["batch"].to_python(self.said("batch")), Kind.BATCH)

    def deed(self) -> dict[str, Any]:
        """Return how many are potted, and where they stand."""
        said = super().deed()
        return {"to": said.pop("to_place"), **said}


class Sell(Deed):
    """Sell cuttings or plants."""

    needs = ("lot",)
    title = _("Sell")
    why = _(
        "Who has them is part of the account: if a name turns out wrong, whoever bought them can be told."
    )
    act = _("Book as sold")
    first = ("lot", "from_place", "count", "buyer")
    folded = {to_say("Order, price"): ("order", "price")}
    offers = {"lot": known.lots, "from_place": known.places, "buyer": known.buyers}

    lot = CodeField(label=_("Lot"), help_text=A_LOT)
    from_place = CodeField(label=_("From"), required=False, help_text=ONE_PLACE)
    count = CountField(
        label=_("How many"), least=1, required=False, help_text=_("Empty: all that stand there.")
    )
    buyer = forms.CharField(
        label=_("Buyer"), max_length=120, required=False, help_text=_("A new name makes a new buyer.")
    )
    order = forms.CharField(
        label=_("Fills order"),
        max_length=20,
        required=False,
        help_text=_("Its number, such as 3, or one line of it, 3/2. Then no buyer is needed."),
    )
    price = PriceField(
        label=_("Price of one"), required=False, help_text=_("Empty: the order line's, if any.")
    )

    def fit(self) -> None:
        """Offer the places of the lot."""
        self.choose_from(Kind.GROUND)

    def deed(self) -> dict[str, Any]:
        """Return what is sold, to whom."""
        said = super().deed()
        return {**said, "from_place": said["from_place"] or None}
