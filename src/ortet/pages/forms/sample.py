"""The form that asks for a sample: of which lot, what must show and how surely, and what was found."""

from typing import Any

from django import forms

from ortet.pages import known
from ortet.work.sample import Sampling

from .fields import CodeField, CountField, NumberField

__all__ = ["Sample"]


class Sample(forms.Form):
    """What must show, how surely; and afterwards what was found."""

    lot = CodeField(label="Lot", help_text="Its code or mark.")
    share = NumberField(
        label="Should show if bad are (%)",
        required=False,
        min_value=0.01,
        max_value=100,
        help_text="Usual: 5.",
    )
    confidence = NumberField(
        label="How surely (%)", required=False, min_value=1, max_value=99.99, help_text="Usual: 95."
    )
    sees = NumberField(
        label="Bad ones you would notice (%)",
        required=False,
        min_value=1,
        max_value=100,
        help_text="Of those you look at. Empty: all.",
    )
    seed = CountField(
        label="Draw number", required=False, help_text="The same number pulls the same cuttings."
    )
    looked = CountField(label="Looked at", least=1, required=False, help_text="Empty: as many as asked for.")
    found = CountField(label="Bad among them", required=False, help_text="0 where all were sound.")

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
