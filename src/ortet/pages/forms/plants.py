"""Forms of the collection: a mother plant, a place."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from ortet.ledger.models import Kind
from ortet.pages import known
from ortet.science.species import known_species, species
from ortet.wood.speech import say, to_say

from .deed import Deed
from .fields import DayField, Notes, one_of

__all__ = ["AddMother", "AddPlace"]


class AddMother(Deed):
    """Add a mother plant."""

    title = _("Add a mother plant")
    why = _("Every cutting comes from one: its variety is what the label promises.")
    act = _("Add")
    first = ("accession", "variety", "species", "site")
    folded = {
        to_say("Source, health"): ("source", "health", "note"),
        to_say("Group, selling name, breeder's right"): ("group", "selling_name", "right", "right_until"),
    }
    offers = {"variety": known.varieties, "site": lambda: known.places(Kind.SITE)}

    accession = forms.CharField(
        label=_("Accession number"),
        max_length=40,
        help_text=_("Your own, one for each plant, never used again: 2026-001, say."),
    )
    variety = forms.CharField(
        label=_("Variety"),
        max_length=240,
        help_text=_(
            "Bare, or the whole name as it came, its variety in quotation marks: that is kept word for word."
        ),
    )
    species = forms.ChoiceField(label=_("Kind of plant"))
    site = forms.CharField(
        label=_("Growing site"),
        required=False,
        max_length=80,
        help_text=_("Its weather counts for the chill. A new name makes a new one."),
    )
    source = forms.CharField(label=_("Source"), required=False, max_length=200)
    health = forms.CharField(label=_("Health"), required=False, max_length=200)
    right = forms.CharField(
        label=_("Breeder's right"),
        required=False,
        max_length=200,
        help_text=_("If the variety is protected, ask the holder of the right before you propagate it."),
    )
    right_until = DayField(label=_("Its last day"), required=False, help_text=_("As the register says."))
    group = forms.CharField(
        label=_("Group"), required=False, max_length=60, help_text=_("Without the word Group.")
    )
    selling_name = forms.CharField(
        label=_("Selling name"),
        required=False,
        max_length=120,
        help_text=_("A trade designation, no name of the variety."),
    )
    at = None

    def fit(self) -> None:
        """Offer the kinds of plant that Ortet knows."""
        kinds = sorted((say(species(key).name), key) for key in known_species())
        self.fields["species"].choices = [("", say("choose")), *((key, name) for name, key in kinds)]

    def deed(self) -> dict[str, Any]:
        """Return what is known of the plant."""
        return {name: value for name, value in super().deed().items() if name != "id"}


class AddPlace(Deed):
    """Add a place."""

    title = _("Add a place")
    why = _(
        "A cold place keeps bags, a bench holds bare wood and batches, potted plants stand on a standing ground, a growing site has weather."
    )
    act = _("Add")
    first = ("kind", "name", "note")

    kind = one_of(
        _("What is it"),
        [(kind.value, kind.label) for kind in (Kind.STORE, Kind.BENCH, Kind.GROUND, Kind.SITE)],
    )
    name = forms.CharField(label=_("Name"), max_length=80)
    note = Notes()
    at = None

    def usual(self) -> dict[str, Any]:
        """Return a cold place."""
        return {"kind": Kind.STORE}

    def deed(self) -> dict[str, Any]:
        """Return the place."""
        return {name: value for name, value in super().deed().items() if name != "id"}
