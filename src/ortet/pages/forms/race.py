"""The form that asks for a race: which wood, how warm below and above, struck when."""

from typing import Any

from django import forms

from ortet.ledger.models import Nursery
from ortet.pages import known
from ortet.science.species import known_species, species
from ortet.work.race import Racing

from .fields import CodeField, DayField, NumberField, TemperatureField

__all__ = ["Race"]


class Race(forms.Form):
    """Which wood, on which bench, when."""

    lot = CodeField(label="Lot", required=False, help_text="Its code or mark.")
    kind = forms.ChoiceField(
        label="Kind of wood",
        required=False,
        help_text="Where no lot is named.",
        choices=[("", "as the lot"), *((key, species(key).name) for key in known_species())],
    )
    base_c = TemperatureField(label="At the base", required=False, help_text="Empty: its best.")
    air_c = TemperatureField(label="In the air", required=False, help_text="Empty: a cool room.")
    on = DayField(label="Struck on", required=False, help_text="Empty: today.")
    chill = NumberField(
        label="Chill by then",
        required=False,
        min_value=0,
        max_value=300,
        help_text="Portions. Empty: its own.",
    )

    def __init__(self, nursery: Nursery, data: Any) -> None:
        self.nursery = nursery
        asked = bool(data.get("lot") or data.get("kind"))
        super().__init__(data if asked else None, use_required_attribute=False)
        for name in ("base_c", "air_c"):
            self.fields[name].in_units(nursery.units)
        self.fields["lot"].offer = known.lots()
        self.fields["lot"].widget.attrs["list"] = "known-lot"

    @property
    def rows(self) -> list[list[forms.BoundField]]:
        """The fields in the order in which they are asked, some side by side."""
        return [
            [self[name] for name in row] for row in (("lot", "kind"), ("base_c", "air_c"), ("on", "chill"))
        ]

    def asked(self) -> Racing:
        """Return what is asked."""
        said = self.cleaned_data
        kind = "" if said["lot"] else said["kind"]
        return Racing(said["lot"], kind, said["base_c"], said["air_c"], said["on"], said["chill"])
