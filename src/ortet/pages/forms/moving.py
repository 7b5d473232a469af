"""Forms that move wood: move, stand, give up, correct."""

from typing import Any

from django import forms

from ortet.ledger.models import Kind, Movement
from ortet.pages import known

from .deed import Deed
from .fields import CodeField, CountField, Notes, one_of

__all__ = ["Correct", "GiveUp", "Move", "Stand"]


class _OfALot(Deed):
    """So many cuttings of a lot, from where they lie."""

    lot = CodeField(label="Lot", help_text="Code or mark, typed or scanned.")
    from_place = CodeField(
        label="From", required=False, help_text="May stay empty where the lot lies in one place."
    )
    count = CountField(label="Cuttings", least=1, required=False, help_text="Empty: all that lie there.")

    def fit(self) -> None:
        """Offer the places of the lot."""
        self.choose_from()

    def deed(self) -> dict[str, Any]:
        """Return the lot, how many and where from."""
        said = super().deed()
        return {**said, "from_place": said["from_place"] or None}


class Move(_OfALot):
    """Move cuttings."""

    title = "Move"
    why = (
        "To another bench, bag or cold place. A whole bag that changes its cold place is stood there instead."
    )
    act = "Move"
    first = ("lot", "from_place", "count", "to_place")
    offers = {"lot": known.lots, "from_place": known.places, "to_place": known.places}

    to_place = CodeField(label="To", help_text="A bench, a bag or a cold place.")


class Stand(Deed):
    """Stand a bag elsewhere."""

    title = "Stand a bag elsewhere"
    why = (
        "The bag with all in it goes to another cold place; from then on it meets that place's temperatures."
    )
    act = "Stand it there"
    first = ("bag", "store")
    offers = {"bag": known.bags, "store": lambda: known.places(Kind.STORE)}

    bag = CodeField(label="Bag", help_text="What is written on it, or its code scanned.")
    store = CodeField(label="Cold place")
    note = None

    def fit(self) -> None:
        """Offer the cold places if they are few."""
        stores = [(name, name) for name, _ in known.places(Kind.STORE)]
        if len(stores) > 1:
            self.choose("store", stores, picked=known.name_of(self.said("store"), Kind.STORE))


class GiveUp(_OfALot):
    """Give cuttings up."""

    title = "Give up"
    why = "What is mouldy, dry or gone leaves the account here, so that the rest still adds up."
    act = "Book out"
    first = ("lot", "from_place", "count", "not_found")
    offers = {"lot": known.lots, "from_place": known.places}

    not_found = one_of(
        "Why", [("", "given up: no longer fit to use"), ("1", "not found at a count")], required=False
    )

    def deed(self) -> dict[str, Any]:
        """Return what goes out, and whether it was there at all."""
        said = super().deed()
        return {**said, "not_found": bool(said["not_found"])}


class Correct(Deed):
    """Correct a movement."""

    title = "Correct a movement"
    why = "A new movement takes it back; the mistake stays readable. Then book what is right."
    act = "Take it back"
    first = ("movement", "note")

    movement = CountField(label="Movement", least=1, help_text="Its number, from the lot's history.")
    note = Notes("What was wrong", required=True)

    def fit(self) -> None:
        """Ask no more for a movement that was named by the link that led here."""
        if self.takes_back:
            self.fields["movement"].widget = forms.HiddenInput()

    @property
    def takes_back(self) -> Movement | None:
        """The movement named so far."""
        said = self.said("movement")
        return known.movement(int(said)) if said.isdecimal() and len(said) < 12 else None

    def deed(self) -> dict[str, Any]:
        """Return the number and the reason."""
        said = super().deed()
        return {"number": said.pop("movement"), **said}
