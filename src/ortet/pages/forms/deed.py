"""What every deed's form has in common: an id, a moment, a note, and groups that fold away what is seldom asked."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from uuid_utils.compat import uuid7

from ortet.ledger.models import Kind, Lot, MotherPlant, Nursery, Place
from ortet.ledger.places import LOOSE
from ortet.pages import known
from ortet.pages.lacking import Lack, lacking
from ortet.wood.speech import say, short_month

from .fields import Measured, MomentField, Notes

__all__ = ["Deed", "Group"]

CLOCKS_DIFFER = timedelta(minutes=10)  # a phone's clock may run ahead by this much
FEW = 6  # choices that are shown side by side rather than typed

PLACES = {"bag", "batch", "bench", "place", "store", "from_place", "to_place"}

# What links may call a field in an address, beside its own name.
ALSO = {"from": "from_place", "to": "to_place", "mother": "accession"}


Row = str | tuple[str, ...]  # a field, or several side by side


@dataclass(frozen=True, slots=True)
class Group:
    """Fields that belong together, row by row; `name` is empty for what is always open."""

    name: str
    rows: Sequence[Sequence[forms.BoundField]]
    is_open: bool


class Deed(forms.Form):
    """A form that books one deed. Sent twice with one id, the deed is booked once."""

    title = ""  # the act
    why = ""  # the reason to do it, in a sentence
    act = _("Record")  # what the button says
    first: tuple[Row, ...] = ()  # always open
    folded: Mapping[str, tuple[Row, ...]] = {}  # seldom asked, by the name of their group
    offers: Mapping[str, Any] = {}  # for a field that is typed or scanned, what to offer
    needs: tuple[str, ...] = ()  # what the book must hold before it can be filled

    id = forms.UUIDField(
        widget=forms.HiddenInput, error_messages={"required": _("Load this form anew, then send it.")}
    )
    opened = forms.CharField(widget=forms.HiddenInput, required=False, max_length=40)
    at = MomentField(label=_("When"))
    note = Notes()

    def __init__(
        self,
        nursery: Nursery,
        data: Mapping[str, Any] | None = None,
        given: Mapping[str, Any] | None = None,
        *,
        is_shown: bool = True,
    ) -> None:
        self.nursery = nursery
        now = nursery.now()
        said = {ALSO.get(name, name): value for name, value in (given or {}).items() if value}
        said = {name: value for name, value in said.items() if name not in ("id", "opened")}
        initial = {"id": uuid7(), "opened": now.isoformat(), "at": now, **self.usual(), **said}
        super().__init__(data, initial=initial, use_required_attribute=True)
        for field in self.fields.values():
            if isinstance(field, Measured):
                field.in_units(nursery.units)
        for name, offer in self.offers.items() if is_shown else ():  # nobody picks in what is only checked
            self.fields[name].offer = offer()
            self.fields[name].widget.attrs["list"] = f"known-{name}"
        self._say_names()
        self.fit()

    def _say_names(self) -> None:
        """Show the name of a place, and the mark of a lot, that a link named by its code."""
        for name in PLACES & self.fields.keys() & self.initial.keys():
            there = known.place_or_none(self.said(name))
            if there and known.place_or_none(there.name) == there:
                self.initial[name] = there.name
        if "lot" in self.fields and not self.is_bound and (lot := self.of_lot):
            self.initial["lot"] = known.named(lot)

    def usual(self) -> dict[str, Any]:
        """Return what most often is right, to start from."""
        return {}

    def fit(self) -> None:
        """Fit the fields to the lot or place that is named already."""

    @property
    def lack(self) -> Lack | None:
        """What is to be put in the book first."""
        return lacking(*self.needs)

    def said(self, name: str) -> str:
        """Return what was typed or given for a field so far."""
        value = self.data.get(name) if self.is_bound else self.initial.get(name)
        return str(value or "").replace("\0", "").strip()

    @property
    def of_lot(self) -> Lot | None:
        """The lot named so far."""
        return (
            known.lot_or_none(self.fields["lot"].to_python(self.said("lot")))
            if "lot" in self.fields
            else None
        )

    @property
    def of_place(self) -> Place | None:
        """The place or bag named so far."""
        name = "bag" if "bag" in self.fields else "place"
        return (
            known.place_or_none(self.fields[name].to_python(self.said(name))) if name in self.fields else None
        )

    @property
    def of_mother(self) -> MotherPlant | None:
        """The mother plant named so far."""
        return known.mother_or_none(self.said("accession")) if "accession" in self.offers else None

    @property
    def right(self) -> str:
        """The right that protects the variety of the lot or mother plant named so far; nothing where none does any more."""
        of = self.of_mother or self.of_lot
        return of.variety.right_on(self.nursery.today()) if of else ""

    @property
    def lies_in(self) -> list[tuple[str, str]]:
        """Where the lot named so far lies, and how much of it."""
        return known.places_of(self.of_lot) if self.of_lot else []

    @property
    def holds(self) -> list[tuple[str, str]]:
        """What the place named so far holds."""
        return known.lots_in(self.of_place) if self.of_place else []

    def choose(
        self, name: str, choices: Sequence[tuple[str, str]], *, picked: str = "", none: str = ""
    ) -> None:
        """Show few choices as targets in place of a field to type in; the only one is picked already."""
        if not 1 <= len(choices) <= FEW:
            return
        field = self.fields[name]
        values = [value for value, _ in choices]
        if not self.is_bound:
            self.initial[name] = picked if picked in values else ""
        elif self.said(name) and self.said(name) not in values:
            return  # what was typed stays to be seen, and mended
        field.offer = []
        if len(values) == 1 and not none:  # nothing to choose: the deed finds the only one by itself
            field.widget = forms.HiddenInput()
            if field.required and not self.is_bound:
                self.initial[name] = values[0]
            return
        field.widget = forms.RadioSelect(choices=[("", none), *choices] if none else list(choices))
        field.required = not none
        field.error_messages["required"] = say("There is more than one: say which.")
        field.help_text = ""

    def choose_from(self, first: Kind | None = None, among: Sequence[Kind] = LOOSE) -> None:
        """Offer the places of these kinds where the lot lies; pick the one named, else the one of the kind it most often comes from."""
        if lot := self.of_lot:
            here = known.place_or_none(self.said("from_place"))
            likely = [here] if here else [place for place in known.where(lot) if place.kind == first]
            self.choose(
                "from_place", known.places_of(lot, among), picked=likely[0].code if len(likely) == 1 else ""
            )
        elif not self.said("lot") and (here := known.place_or_none(self.said("from_place"))):
            self.choose("lot", known.lots_in(here))

    def clean_opened(self) -> datetime | None:
        """Return the moment the form was opened, to the split second."""
        try:
            return datetime.fromisoformat(self.cleaned_data["opened"])
        except ValueError:
            return None

    def clean(self) -> dict[str, Any]:
        """Take the exact moment where the shown minute was left alone, and refuse what is still to come."""
        said = super().clean() or self.cleaned_data
        at, opened = said.get("at"), said.get("opened")
        if at and opened and opened.tzinfo and at <= opened < at + timedelta(minutes=1):
            # A minute is the width of the field: wood taken at 10:00:30 may be bagged at "10:00".
            said["at"] = opened
        elif at and at > self.nursery.now() + CLOCKS_DIFFER:
            here = timezone.localtime(at)
            self.add_error(
                "at",
                say(
                    "{day} {month} {clock:%Y, %H:%M} is still to come. Give the time it was done.",
                    day=here.day,
                    month=short_month(here),
                    clock=here,
                ),
            )
        return said

    def deed(self) -> dict[str, Any]:
        """Return what to hand to the deed."""
        return {name: value for name, value in self.cleaned_data.items() if name != "opened"}

    def _row(self, row: Row) -> list[forms.BoundField]:
        return [self[name] for name in ((row,) if isinstance(row, str) else row)]

    def _folded(self, name: str, asked: Sequence[Row]) -> Group:
        """Return a group that is open only where something in it was typed or is amiss."""
        rows = [self._row(row) for row in asked]
        fields = [field for row in rows for field in row]
        for field in fields:  # a browser cannot point at what is folded away: the server says what is missing
            field.field.widget.use_required_attribute = lambda initial: False
        typed = self.is_bound and any(field.field.has_changed(field.initial, field.data) for field in fields)
        return Group(name, rows, typed or any(field.errors for field in fields))

    def groups(self) -> Iterator[Group]:
        """Yield the fields in the order in which they are asked."""
        yield Group("", [self._row(row) for row in self.first], True)
        for name, rows in self.folded.items():
            yield self._folded(say(name), rows)
        if "at" in self.fields:
            yield self._folded(
                self.when, [name for name in ("at", "note") if name in self.fields and name not in self.first]
            )

    @property
    def when(self) -> str:
        """What the folded group for time and note says."""
        try:
            at = self.fields["at"].to_python(self.said("at")) if self.is_bound else self.initial["at"]
        except forms.ValidationError:
            at = None
        if not isinstance(at, datetime):
            return say("When")
        here = timezone.localtime(at)
        day = (
            f"{short_month(here)} {here.day}, {here.year}"
            if self.nursery.units == "US"
            else f"{here.day} {short_month(here)} {here.year}"
        )
        words = f"{day}, {here:%H:%M}"
        return (
            say("{words}: change it", words=words)
            if "note" in self.first or "note" not in self.fields
            else say("{words}: change it, add a note", words=words)
        )
