"""Forms to receive a parcel: its slip, then one step a screen, then what is done with it."""

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _
from uuid_utils.compat import uuid7

from ortet.decisions.receiving import BUDS, CLEAR, LABELS, SMELLS, WATERS
from ortet.ledger.models import Kind, Nursery, Place, Use
from ortet.pages import known
from ortet.science.species import known_species, species
from ortet.wood.speech import say, to_say
from ortet.work.receiving import THEN, SlipLine
from ortet.work.receiving.told import LineTold, ParcelTold
from ortet.work.taking import BENCH

from .deed import Deed
from .fields import CountField, DayField, LengthField, MassField, Measured, Notes, one_of

__all__ = ["STEP_FORMS", "Count", "Finish", "Look", "Receive", "Scratch", "Slip", "Step", "Whole"]

WORDS = {
    "tight": _("tight"), "swelling": _("swelling"), "open": _("open"),
    "fresh": _("fresh"), "musty": _("musty"), "sour": _("sour"),
    "none": _("none"), "droplets": _("droplets"), "pooled": _("pooled"),
    "clear": _("clear"), "unclear": _("unclear"),
    "legible": _("legible"), "unreadable": _("unreadable"), "missing": _("missing"),
    "store": _("store"), "strike": _("strike"), "give up": _("give up"), "hold": _("hold"),
}  # fmt: skip
NOT_SEEN = ("", _("not looked at"))


def _senders() -> list[tuple[str, str]]:
    return [(name, "") for name in Place.objects.filter(kind=Kind.SENDER).values_list("name", flat=True)]


def _kinds() -> list[tuple[str, str]]:
    return [("", say("as the book has it")), *((key, say(species(key).name)) for key in known_species())]


class _SlipFields(forms.Form):
    """What a line of the slip says."""

    variety = forms.CharField(label=_("Variety"), max_length=120, required=False)
    species = forms.ChoiceField(
        label=_("Species"),
        choices=_kinds,
        required=False,
        help_text=_("Of a variety that is new to the book."),
    )
    count = CountField(label=_("Cuttings stated"), least=1, required=False)
    sent_g = MassField(
        label=_("Weight of the wood when sent"),
        required=False,
        help_text=_("If the sender states it, without wrap."),
    )

    def line(self) -> SlipLine:
        """Return the line."""
        said = self.cleaned_data
        use = said.get("use") or Use.ROOTING
        return SlipLine(
            said["variety"], said["species"], said["count"], said["sent_g"], use, said.get("mark", "")
        )


class Receive(Deed, _SlipFields):
    """Begin to receive a parcel."""

    title = _("Receive a parcel")
    why = _(
        "Note who sent it and what the slip says first; then it is counted, weighed and looked at, line by line. It can be left and taken up again on any device."
    )
    act = _("Open the parcel")
    first = ("sender", "posted_on")
    folded: Mapping[str, Any] = {
        to_say("The first line of the slip"): ("variety", "species", ("count", "sent_g"))
    }
    offers = {"sender": _senders, "variety": known.varieties}

    note = None  # type: ignore[assignment]
    sender = forms.CharField(label=_("From"), max_length=80, help_text=_("A new name makes a new sender."))
    posted_on = DayField(label=_("Posted on"), required=False)

    def clean_posted_on(self) -> date | None:
        """Return the day it was posted."""
        day: date | None = self.cleaned_data["posted_on"]
        return day

    def deed(self) -> dict[str, Any]:
        """Return who sent it, when, and the line if one was typed."""
        said = super().deed()
        lines = [self.line()] if said["variety"] else []
        return {name: said[name] for name in ("sender", "posted_on", "at", "id")} | {"lines": lines}


class Step(forms.Form):
    """One screen of a parcel: a few fields of a draft, filled in with what was noted."""

    title = ""
    why = ""
    folded: tuple[str, ...] = ()

    def __init__(self, nursery: Nursery, data: Mapping[str, Any] | None, before: Mapping[str, Any]) -> None:
        super().__init__(data, initial=dict(before))
        for field in self.fields.values():
            if isinstance(field, Measured):
                field.in_units(nursery.units)
        for name in ("variety",):
            if name in self.fields:
                self.fields[name].offer = known.varieties()
                self.fields[name].widget.attrs["list"] = f"known-{name}"

    @property
    def shown(self) -> Iterable[forms.BoundField]:
        """The fields always open."""
        return [self[name] for name in self.fields if name not in self.folded]

    @property
    def tucked(self) -> Iterable[forms.BoundField]:
        """The fields that fold away."""
        return [self[name] for name in self.folded]

    @property
    def is_open(self) -> bool:
        """Whether something in the fold was said or is amiss."""
        return any(field.value() or field.errors for field in self.tucked)

    def found(self) -> dict[str, Any]:
        """Return what was said; None where a field was left empty."""
        return {name: None if value == "" else value for name, value in self.cleaned_data.items()}


class Slip(Step, _SlipFields):
    """A line of the slip."""

    title = _("What the slip says")
    why = _("One line for each variety.")
    folded = ("use", "mark")

    use = one_of(_("Meant for"), Use.choices, required=False)
    mark = forms.CharField(label=_("Your mark for the lot"), max_length=40, required=False)


class Count(Step):
    """Count and weigh."""

    title = _("Count and weigh")
    why = _(
        "Count every cutting. Weigh the wood without its wrap, before it is wetted: against what was sent it tells the water lost."
    )
    folded = ("length_mm", "nodes", "base_mm", "tip_mm")

    counted = CountField(label=_("Cuttings that came"), required=True)
    came_g = MassField(label=_("Weight of the wood now"), required=False)
    length_mm = LengthField(label=_("Usual length"), required=False)
    nodes = CountField(label=_("Nodes"), required=False)
    base_mm = LengthField(label=_("Thickness at the base"), required=False)
    tip_mm = LengthField(label=_("Thickness at the tip"), required=False)


def _words(label: str, words: Iterable[str]) -> forms.ChoiceField:
    return one_of(label, [NOT_SEEN, *((word, WORDS[word]) for word in words)], required=False)


class Look(Step):
    """Look at bark, buds and bases."""

    title = _("Look")
    why = _("Bark, buds, bases, and the wrap they came in. Nought is an answer; empty is not looked at.")
    folded = ("smell", "water", "polarity", "label", "note")

    dead = CountField(label=_("Dead: dry, brown or soft"), required=True)
    mouldy = CountField(label=_("Mould on the bark, else alive"), required=True)
    bored = CountField(label=_("With holes or frass of borers"), required=False)
    scale = forms.BooleanField(label=_("Scale insects"), required=False)
    mites = forms.BooleanField(label=_("Mites or their eggs"), required=False)
    wrinkled = forms.BooleanField(label=_("Bark wrinkled"), required=False)
    reportable = forms.BooleanField(
        label=_("May be a pest or disease that must be reported"),
        required=False,
        help_text=_("If in doubt, tick it: then all stops until you have asked the plant-health authority."),
    )
    buds = _words(_("Buds"), BUDS)
    callus = one_of(
        _("Callus"), [NOT_SEEN, ("0", _("none")), ("1", _("first specks")), ("2", _("half the ring")), ("3", _("most of it")), ("4", _("full ring"))],
        required=False,
    )  # fmt: skip
    smell = _words(_("Smell"), SMELLS)
    water = _words(_("Water in the wrap"), WATERS)
    polarity = _words(_("Top and base"), CLEAR)
    label = _words(_("Label"), LABELS)
    note = Notes()

    def found(self) -> dict[str, Any]:
        """Return what was seen."""
        said = super().found()
        return said | {"callus": int(said["callus"]) if said["callus"] else None}


class Scratch(Step):
    """Scratch test."""

    title = _("Scratch test")
    why = _(
        "Of ten that look alive, chosen blind, scratch a thumbnail's width of bark near the base: green and moist is alive."
    )

    scratch_of = CountField(label=_("Scratched"), required=False, help_text=_("0 or empty: not tested."))
    scratch_green = CountField(label=_("Green"), required=False)

    def found(self) -> dict[str, Any]:
        """Return the test; one that was not done is noted as none of none."""
        said = super().found()
        return said if said["scratch_of"] else {"scratch_of": 0, "scratch_green": 0}


STEP_FORMS: dict[str, type[Step]] = {"slip": Slip, "count": Count, "look": Look, "scratch": Scratch}


class Whole(Step):
    """What concerns the parcel as a whole."""

    title = _("The parcel as a whole")
    why = _(
        "Where the sender states one weight for all: the wood of all lines together, without box and wrap."
    )

    sent_g = MassField(label=_("All wood when sent"), required=False)
    came_g = MassField(label=_("All wood now"), required=False)
    stock = forms.CharField(
        label=_("Your bleach, as its label says"),
        required=False,
        max_length=60,
        help_text=_("Such as 5 % by mass, or 12.5 trade %. The mix is reckoned from it."),
    )
    address = forms.CharField(
        label=_("The sender's address"), required=False, max_length=300, help_text=_("It heads the claim.")
    )
    note = Notes()


class Finish(forms.Form):
    """What is done with each line, and where it goes."""

    id = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, told: ParcelTold, data: Mapping[str, Any] | None = None) -> None:
        super().__init__(data, initial={"id": uuid7()})
        self.told = told
        stores = known.places(Kind.STORE)
        wants = {one.advice.then for one in told.lines}
        apart = any(one.advice.is_apart for one in told.lines)
        self._place("store", say("Cold place for what is sound"), stores, "store" in wants)
        self._place("quarantine", say("Cold place for what is kept apart"), stores, apart)
        self._place("bench", say("Bench for what waits"), known.places(Kind.BENCH), True)
        self.initial |= {"bench": BENCH}
        for one in told.lines:
            self.fields[f"then_{one.line}"] = one_of(say("Do"), [(word, WORDS[word]) for word in THEN])
            self.initial[f"then_{one.line}"] = one.advice.then
            if one.advice.soak_h or one.advice.dip:
                self.fields[f"treated_{one.line}"] = forms.BooleanField(
                    label=say("Soaked and dipped already, as advised"), required=False
                )

    def _place(self, name: str, label: str, offer: list[tuple[str, str]], is_needed: bool) -> None:
        field = forms.CharField(label=label, max_length=80, required=False)
        field.offer = offer
        field.widget.attrs["list"] = f"known-{name}"
        field.help_text = say("A new name makes a new one.")
        if not is_needed and name != "bench":
            field.help_text = say("Nothing is advised to go there.")
        self.fields[name] = field

    @property
    def places(self) -> list[forms.BoundField]:
        """Where things go."""
        return [self[name] for name in ("store", "quarantine", "bench")]

    @property
    def lines(self) -> list[tuple[LineTold, list[forms.BoundField]]]:
        """Each line with what is asked of it."""
        names = [(one, (f"then_{one.line}", f"treated_{one.line}")) for one in self.told.lines]
        return [(one, [self[name] for name in both if name in self.fields]) for one, both in names]

    def deed(self) -> dict[str, Any]:
        """Return what to hand to the deed."""
        said = self.cleaned_data
        lines = [one.line for one in self.told.lines]
        return {
            "then": {line: said[f"then_{line}"] for line in lines},
            "treated": {line for line in lines if said.get(f"treated_{line}")},
            "store": said["store"].strip(),
            "quarantine": said["quarantine"].strip(),
            "bench": said["bench"].strip() or BENCH,
            "id": said["id"],
        }
