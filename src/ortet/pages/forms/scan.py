"""The forms about labels: a second scan of two of them, and a bundle without a name."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from ortet.ledger.models import Nursery
from ortet.pages import known
from ortet.science.species import known_species, species

from .fields import CodeField, CountField, LengthField

__all__ = ["LABELS", "Nameless", "Scan"]

LABELS = ("first", "second")


class Scan(forms.Form):
    """Where, and the labels one after the other."""

    place = forms.CharField(
        label=_("Where"),
        required=False,
        max_length=120,
        help_text=_("Bench, cold place or bag. Empty: anywhere."),
    )
    first = CodeField(label=_("First label"), required=False, help_text=_("Scan it, or type code or mark."))
    second = CodeField(label=_("Second label"), required=False, help_text=_("The bundle beside it."))

    def __init__(self, data: Any) -> None:
        asked = any(data.get(name) for name in LABELS)
        super().__init__(
            data if asked else None, initial={"place": data.get("place", "")}, use_required_attribute=False
        )
        self.fields["place"].offer = known.places()
        self.fields["place"].widget.attrs["list"] = "known-place"
        self.fields["first"].widget.attrs["autofocus"] = True

    @property
    def labels(self) -> list[str]:
        """What was scanned."""
        return [self.cleaned_data[name] for name in LABELS]


class Nameless(forms.Form):
    """Where it was found, how much is in it, and what can be seen."""

    place = forms.CharField(
        label=_("Where it was found"), max_length=120, help_text=_("Bench, cold place, ground or bag.")
    )
    count = CountField(label=_("Cuttings or plants in it"), least=1)
    kind = forms.ChoiceField(
        label=_("Kind of wood"),
        required=False,
        choices=[("", _("cannot tell")), *((key, _(species(key).name)) for key in known_species())],
    )
    base_mm = LengthField(label=_("Thickness at the base"), required=False)
    seen = forms.CharField(
        label=_("Lots whose own labels were found"),
        required=False,
        max_length=2000,
        help_text=_("Codes or marks, with commas between: it is not one of those."),
    )

    def __init__(self, nursery: Nursery, data: Any) -> None:
        super().__init__(
            data if data.get("count") else None,
            initial={"place": data.get("place", "")},
            use_required_attribute=False,
        )
        self.fields["base_mm"].in_units(nursery.units)
        self.fields["place"].offer = known.places()
        self.fields["place"].widget.attrs["list"] = "known-place"

    @property
    def rows(self) -> list[list[forms.BoundField]]:
        """The fields, some side by side."""
        return [[self[name] for name in row] for row in (("place", "count"), ("kind", "base_mm"), ("seen",))]

    @property
    def labelled(self) -> list[str]:
        """The lots it is not."""
        return [word.strip() for word in self.cleaned_data["seen"].split(",") if word.strip()]
