"""Forms of papers: plant passports, supplier's documents, where wood goes."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from ortet.ledger.models import Nursery
from ortet.paper.passport import LANGUAGES, OWN_LANGUAGE
from ortet.wood.countries import GREAT_BRITAIN
from ortet.wood.speech import say
from ortet.work.papers.destination import Asked
from ortet.work.papers.passports import Wanted

from .fields import CountField

__all__ = ["Destination", "Passports", "SupplierDocuments", "parted"]


def parted(text: str) -> list[str]:
    """Return what stands between commas."""
    return [" ".join(one.split()) for one in text.split(",") if one.strip()]


class _OfWood(forms.Form):
    """Lots or a parcel."""

    lots = forms.CharField(
        label=_("Lots"),
        max_length=2000,
        required=False,
        help_text=_("Codes or your own marks, parted by commas."),
        widget=forms.TextInput(attrs={"autocapitalize": "characters", "spellcheck": "false"}),
    )
    parcel = CountField(label=_("Or all lots of parcel"), required=False)
    skip = CountField(label=_("Places of the first sheet used up already"), required=False)

    def of(self) -> dict[str, Any]:
        """Return which wood is meant, and how many places are used up."""
        said = self.cleaned_data
        return {"lots": parted(said["lots"]), "parcel": said["parcel"], "skip": said["skip"] or 0}


class Passports(_OfWood):
    """How plant passports are to be made."""

    each = CountField(
        label=_("How many of each"), required=False, help_text=_("One for every bundle. Empty: one.")
    )
    pests = forms.CharField(
        label=_("Pests of a protected zone"),
        max_length=200,
        required=False,
        help_text=_(
            "Only where it goes into one: EPPO codes or scientific names, parted by commas, such as ERWIAM."
        ),
    )
    origin = forms.CharField(
        label=_("Country of origin"),
        max_length=2,
        required=False,
        help_text=_("Two letters, for wood that does not come from your own mother plants."),
    )
    language = forms.ChoiceField(label=_("Language"), required=False)
    black = forms.BooleanField(label=_("Print the flag black on white"), required=False)

    field_order = ("lots", "parcel", "each", "pests", "origin", "language", "black", "skip")

    def __init__(self, nursery: Nursery, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        usual = OWN_LANGUAGE.get(nursery.country, "en")
        words = [(key, f"{said} ({key})") for key, said in sorted(LANGUAGES.items())]
        self.fields["language"].choices = [
            ("", say("{language}, as is usual", language=LANGUAGES[usual])),
            *words,
        ]
        if nursery.country in GREAT_BRITAIN:
            del self.fields["language"], self.fields["black"]

    def asked(self) -> dict[str, Any]:
        """Return what to print."""
        said = self.cleaned_data
        wanted = Wanted(
            said.get("language", ""),
            tuple(parted(said["pests"])),
            said["origin"].strip(),
            not said.get("black", False),
        )
        return {**self.of(), "each": said["each"] or 1, "wanted": wanted}


class SupplierDocuments(_OfWood):
    """How supplier's documents are to be made."""

    body = forms.CharField(
        label=_("Official body"), max_length=80, help_text=_("Its name or code, as it told you.")
    )
    note = forms.CharField(
        label=_("With the variety"),
        max_length=80,
        required=False,
        help_text=_("Such as a rootstock, or that the denomination is pending."),
    )
    yellow_paper = forms.BooleanField(label=_("The paper is yellow: print no ground"), required=False)

    field_order = ("lots", "parcel", "body", "note", "yellow_paper", "skip")

    def asked(self) -> dict[str, Any]:
        """Return what to print."""
        said = self.cleaned_data
        return {**self.of(), "body": said["body"], "note": said["note"], "ground": not said["yellow_paper"]}


class Destination(forms.Form):
    """Where wood goes."""

    to = forms.CharField(label=_("Country"), max_length=2, help_text=_("Two letters, such as FR."))
    region = forms.CharField(
        label=_("Region or state"),
        max_length=6,
        required=False,
        help_text=_("Within the United States, such as OR."),
    )
    zone = forms.BooleanField(label=_("Into a protected zone, or a pest-free area"), required=False)
    trade = forms.BooleanField(label=_("To a nursery or a shop"), required=False)

    def asked(self) -> Asked:
        """Return where it goes."""
        said = self.cleaned_data
        return Asked(None, said["to"], said["region"], said["zone"], said["trade"])
