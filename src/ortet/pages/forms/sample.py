"""The form that asks for a sample: of which lot, what must show and how surely, and what was found."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from ortet.pages import known
from ortet.work.sample import Sampling

from .fields import CodeField, CountField, NumberField

__all__ = ["Sample"]


class Sample(forms.Form):
    """What must show, how surely; and afterwards what was found."""

    lot = CodeField(label=_("Lot"), help_text=_("Its code or mark."))
    share = NumberField(
        label=_("Should show if bad are (%)"),
        required=False,
        min_value=0.01,
        max_value=100,
        help_text=_("Usual: 5."),
    )
    confidence = NumberField(
        label=_("How surely (%)"), required=False, min_value=1, max_value=99.99, help_text=_("Usual: 95.")
    )
    sees = NumberField(
        label=_("Bad ones you would notice (%)"),
        required=False,
        min_value=1,
        max_value=100,
        help_text=_("Of those you look at. Empty: all."),
    )
    seed = CountField(
        label=_("Draw number"), required=False, help_text=_("The same number pulls the same cuttings.")
    )
    looked = CountField(
        label=_("Looked at"), least=1, required=False, help_text=_("Empty: as many as asked for.")
    )
    found = CountField(label=_("Bad among them"), required=False, help_text=_("0 where all were sound."))

    def __init__(self, data: Any) -> None:
        super().__init__(data if data.get("lot") else None, use_required_attribute=False)
        self.fields["lot"].offer = known.lots()
        self.fields["lot"].widget.attrs["list"] = "known-lot"

    @property
    def before(self) -> list[list[forms.BoundField]]:
        """What is asked before looking."""
        return [[self[name] for name in row] for row in (("lot",), ("share", "confidence"), ("sees", "seed"))]

    @property
    def after(self) -> list[forms.BoundField]:
        """What is told after looking."""
        return [self["looked"], self["found"]]

    @property
    def is_after(self) -> bool:
        """Whether something was told or mistyped there."""
        return bool(self["found"].value() or self["looked"].value())

    def asked(self) -> Sampling:
        """Return what is asked."""
        said = self.cleaned_data

        def share(name: str, usual: float) -> float:
            return usual if said[name] is None else said[name] / 100

        return Sampling(
            said["lot"],
            share("share", 0.05),
            share("confidence", 0.95),
            share("sees", 1.0),
            said["seed"],
            said["looked"],
            said["found"],
        )
