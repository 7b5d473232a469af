"""The form for what is known of a mother plant's descent, field by field of the passport descriptors."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from ortet.pages import known
from ortet.tables.mcpd import FIELDS
from ortet.wood.speech import say, to_say
from ortet.work import Unknown
from ortet.work.passports import OF_THE_BOOK, passport

from .deed import Deed

__all__ = ["DescribePassport"]

ASKED = [field for field in FIELDS if field.name not in OF_THE_BOOK]
FIRST = ("SAMPSTAT", "COLLSRC", "ACQDATE", "ORIGCTY", "DONORNUMB", "OTHERNUMB", "REMARKS")
LONGEST = 1000


class DescribePassport(Deed):
    """Note passport data of a mother plant."""

    title = _("Passport data")
    why = _("What a collection says of a plant when plants are exchanged, in the fields of the MCPD v2.1.")
    act = _("Note it")
    first = ("accession", *FIRST)
    folded = {to_say("The other fields"): tuple(field.name for field in ASKED if field.name not in FIRST)}
    offers = {"accession": known.mothers}

    accession = forms.CharField(label=_("Mother plant"), max_length=40)
    at = None
    note = None

    def fit(self) -> None:
        """Ask each field that does not follow from the book, filled with what was noted."""
        try:
            noted = passport(self.said("accession")) if not self.is_bound else {}
        except Unknown:
            noted = {}
        for field in ASKED:
            self.fields[field.name] = forms.CharField(
                label=field.name, required=False, max_length=LONGEST, help_text=say(field.about)
            )
            self.initial.setdefault(field.name, noted.get(field.name, ""))

    def deed(self) -> dict[str, Any]:
        """Return the plant and what is said of it."""
        said = {field.name: self.cleaned_data[field.name] for field in ASKED}
        return {"accession": self.cleaned_data["accession"], "said": said}
