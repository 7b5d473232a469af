"""The form that asks for a race: which wood, how warm below and above, struck when."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from ortet.ledger.models import Nursery
from ortet.pages import known
from ortet.science.species import known_species, species
from ortet.work.race import Racing

from .fields import CodeField, DayField, NumberField, TemperatureField

__all__ = ["Race"]


class Race(forms.Form):
    """Which wood, on which bench, when."""

    lot = CodeField(label=_("Lot"), required=False, help_text=_("Its code or mark."))
    kind = forms.ChoiceField(
        label=_("Kind of wood"),
        required=False,
        help_text=_("Where no lot is named."),
        choices=[("", _("as the lot")), *((key, _(species(key).name)) for key in known_species())],
    )
    base_c = TemperatureField(label=_("At the base"), required=False, help_text=_("Empty: its best."))
    air_c = TemperatureField(label=_("In the air"), required=False, help_text=_("Empty: a cool room."))
    on = DayField(label=_("Struck on"), required=False, help_text=_("Empty: today."))
    chill = NumberField(
        label=_("Chill by then"),
        required=False,
        min_value=0,
        max_value=300,
        help_text=_("Portions. Empty: its own."),
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
