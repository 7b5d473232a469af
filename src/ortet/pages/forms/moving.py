"""Forms that move wood: move, stand, give up, correct."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from ortet.ledger.models import Kind, Movement
from ortet.ledger.places import LOOSE, WOOD
from ortet.pages import known

from .deed import Deed
from .fields import CodeField, CountField, Notes, one_of

__all__ = ["Correct", "GiveUp", "Move", "Stand"]


class _OfALot(Deed):
    """So many cuttings of a lot, from where they lie."""

    lot = CodeField(label=_("Lot"), help_text=_("Code or mark, typed or scanned."))
    from_place = CodeField(
        label=_("From"), required=False, help_text=_("May stay empty where the lot lies in one place.")
    )
    count = CountField(
        label=_("Cuttings"), least=1, required=False, help_text=_("Empty: all that lie there.")
    )

    among: Sequence[Kind] = LOOSE

    def fit(self) -> None:
        """Offer the places of the lot."""
        self.choose_from(among=self.among)

    def deed(self) -> dict[str, Any]:
        """Return the lot, how many and where from."""
        said = super().deed()
        return {**said, "from_place": said["from_place"] or None}


class Move(_OfALot):
    """Move cuttings."""

    needs = ("lot",)
    title = _("Move")
    why = _(
        "To another bench, bag or cold place; potted plants to another standing ground. A whole bag or batch is stood elsewhere instead."
    )
    act = _("Move")
    first = ("lot", "from_place", "count", "to_place")
    among = (*WOOD, Kind.GROUND)
    offers = {
        "lot": known.lots,
        "from_place": lambda: known.places(*WOOD, Kind.GROUND),
        "to_place": lambda: known.places(*WOOD, Kind.GROUND),
    }

    to_place = CodeField(
        label=_("To"), help_text=_("A bench, a bag or a cold place; of plants, a standing ground.")
    )


class Stand(Deed):
    """Stand a bag elsewhere."""

    needs = ("lot",)
    title = _("Stand elsewhere")
    why = _(
        "A bag goes to another cold place, a batch to another bench, with all in it; "
        "from then on it meets that place's temperatures."
    )
    act = _("Stand it there")
    first = ("bag", "store")
    offers = {
        "bag": lambda: [*known.bags(), *known.batches()],
        "store": lambda: known.places(Kind.STORE, Kind.BENCH),
    }

    bag = CodeField(label=_("Bag or batch"), help_text=_("What is written on it, or its code scanned."))
    store = CodeField(
        label=_("Stands from now on"), help_text=_("A bag in a cold place, a batch on a bench.")
    )
    note = None

    def fit(self) -> None:
        """Offer the cold places, or for a batch the benches, if they are few."""
        kind = Kind.BENCH if self.of_place and self.of_place.kind == Kind.BATCH else Kind.STORE
        stores = [(name, name) for name, _ in known.places(kind)]
        if len(stores) > 1:
            self.choose("store", stores, picked=known.name_of(self.said("store"), kind))


class GiveUp(_OfALot):
    """Give cuttings up."""

    needs = ("lot",)
    title = _("Give up")
    why = _("What is mouldy, dry or gone leaves the account here, so that the rest still adds up.")
    act = _("Book out")
    first = ("lot", "from_place", "count", "not_found")
    offers = {"lot": known.lots, "from_place": known.places}

    not_found = one_of(
        _("Why"),
        [("", _("given up: no longer fit to use")), ("1", _("not found at a count"))],
        required=False,
    )

    def deed(self) -> dict[str, Any]:
        """Return what goes out, and whether it was there at all."""
        said = super().deed()
        return {**said, "not_found": bool(said["not_found"])}


class Correct(Deed):
    """Correct a movement."""

    needs = ("lot",)
    title = _("Correct a movement")
    why = _("A new movement takes it back; the mistake stays readable. Then book what is right.")
    act = _("Take it back")
    first = ("movement", "note")

    movement = CountField(label=_("Movement"), least=1, help_text=_("Its number, from the lot's history."))
    note = Notes(_("What was wrong"), required=True)

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
