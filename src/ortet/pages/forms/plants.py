"""Forms of the collection: a mother plant, a place."""

from typing import Any

from django import forms

from ortet.ledger.models import Kind
from ortet.pages import known
from ortet.science.species import known_species, species

from .deed import Deed
from .fields import DayField, Notes, one_of

__all__ = ["AddMother", "AddPlace"]


class AddMother(Deed):
    """Add a mother plant."""

    title = "Add a mother plant"
    why = "Every cutting comes from one: its variety is what the label promises."
    act = "Add"
    first = ("accession", "variety", "species", "site")
    folded = {
        "Source, health": ("source", "health", "note"),
        "Group, selling name, breeder's right": ("group", "selling_name", "right", "right_until"),
    }
    offers = {"variety": known.varieties, "site": lambda: known.places(Kind.SITE)}

    accession = forms.CharField(
        label="Accession number",
        max_length=40,
        help_text="Your own, one for each plant, never used again: 2026-001, say.",
    )
    variety = forms.CharField(
        label="Variety",
        max_length=240,
        help_text="Bare, or the whole name as it came, its variety in quotation marks: that is kept word for word.",
    )
    species = forms.ChoiceField(label="Kind of plant")
    site = forms.CharField(
        label="Growing site",
        required=False,
        max_length=80,
        help_text="Its weather counts for the chill. A new name makes a new one.",
    )
    source = forms.CharField(label="Source", required=False, max_length=200)
    health = forms.CharField(label="Health", required=False, max_length=200)
    right = forms.CharField(
        label="Breeder's right",
        required=False,
        max_length=200,
        help_text="If the variety is protected, ask the holder of the right before you propagate it.",
    )
    right_until = DayField(label="Its last day", required=False, help_text="As the register says.")
    group = forms.CharField(label="Group", required=False, max_length=60, help_text="Without the word Group.")
    selling_name = forms.CharField(
        label="Selling name",
        required=False,
        max_length=120,
        help_text="A trade designation, no name of the variety.",
    )
    at = None

    def fit(self) -> None:
        """Offer the kinds of plant that Ortet knows."""
        kinds = sorted((species(key).name, key) for key in known_species())
        self.fields["species"].choices = [("", "choose"), *((key, name) for name, key in kinds)]

    def deed(self) -> dict[str, Any]:
        """Return what is known of the plant."""
        return {name: value for name, value in super().deed().items() if name != "id"}


class AddPlace(Deed):
    """Add a place."""

    title = "Add a place"
    why = "A cold place keeps bags, a bench holds bare wood and batches, potted plants stand on a standing ground, a growing site has weather."
    act = "Add"
    first = ("kind", "name", "note")

    kind = one_of(
        "What is it", [(kind.value, kind.label) for kind in (Kind.STORE, Kind.BENCH, Kind.GROUND, Kind.SITE)]
    )
    name = forms.CharField(label="Name", max_length=80)
    note = Notes()
    at = None

    def usual(self) -> dict[str, Any]:
        """Return a cold place."""
        return {"kind": Kind.STORE}

    def deed(self) -> dict[str, Any]:
        """Return the place."""
        return {name: value for name, value in super().deed().items() if name != "id"}
