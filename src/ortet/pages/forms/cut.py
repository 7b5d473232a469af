"""The forms that ask what to cut: four numbers of a usual shoot, or a table of measured ones."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from ortet.ledger.models import Nursery
from ortet.wood.grade import PUBLISHED, Grade
from ortet.wood.piece import Knife
from ortet.wood.shoot import Shoot
from ortet.wood.speech import say
from ortet.work.cut import asked_grades, asked_knife, read_shoots, usual_shoot

from .fields import CountField, LengthField, Measured, one_of

__all__ = ["MeasuredShoots", "UsualShoot"]

STANDARDS = [("common", _("common practice")), *((one.key, one.name) for one in PUBLISHED)]
MOST_TYPED = 2_000_000


class _Cut(forms.Form):
    """What both ask: grades, and how the knife is led."""

    grades = one_of(
        _("Grades"), STANDARDS, help_text=_("Common practice: three nodes, a pencil's thickness.")
    )
    kerf = LengthField(
        label=_("Lost in a cut"), required=False, help_text=_("0 for a knife; 1 to 2 mm for a saw.")
    )
    below = LengthField(
        label=_("Base cut below the lowest node"), required=False, help_text=_("Empty: 5 mm.")
    )
    above = LengthField(label=_("Top cut above the top node"), required=False, help_text=_("Empty: 15 mm."))

    def __init__(self, nursery: Nursery, *args: Any, **more: Any) -> None:
        self.nursery = nursery
        super().__init__(*args, use_required_attribute=False, **more)
        self.initial.setdefault("grades", "common")
        for field in self.fields.values():
            if isinstance(field, Measured):
                field.in_units(nursery.units)

    @property
    def folded(self) -> list[forms.BoundField]:
        """What is seldom asked."""
        return [self[name] for name in ("kerf", "below", "above")]

    @property
    def is_unfolded(self) -> bool:
        """Whether something seldom asked was typed."""
        return self.is_bound and any(field.data or field.errors for field in self.folded)

    def knife(self) -> Knife:
        """Return how the knife is led."""
        said = self.cleaned_data
        return asked_knife(said["kerf"], said["below"], said["above"])


class UsualShoot(_Cut):
    """One usual shoot, by four numbers."""

    length = LengthField(label=_("Length"))
    base = LengthField(label=_("Thickness at the base"))
    tip = LengthField(label=_("Thickness at the tip"), required=False, help_text=_("Empty: 3 mm."))
    nodes = CountField(label=_("Nodes"), least=1)
    variety = forms.CharField(label=_("Variety"), required=False, max_length=120)

    def __init__(self, nursery: Nursery, data: Any) -> None:
        super().__init__(nursery, data if "cut" in data else None, initial=data.dict())

    @property
    def first(self) -> list[forms.BoundField]:
        """What is always asked."""
        return [self[name] for name in ("length", "base", "tip", "nodes", "variety", "grades")]

    def asked(self) -> tuple[list[Shoot], tuple[Grade, ...], dict[str, Any]]:
        """Return the shoots, the grades, and what is wanted of them."""
        said = self.cleaned_data
        shoot = usual_shoot(said["length"], said["base"], said["nodes"], said["tip"], variety=said["variety"])
        return [shoot], *asked_grades(said["grades"])


class MeasuredShoots(_Cut):
    """A table of measured shoots, pasted or as a file; grades of one's own in another."""

    table = forms.CharField(
        label=_("Shoots, as a table"),
        required=False,
        max_length=MOST_TYPED,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 6, "spellcheck": "false"}),
        help_text=_("Paste the rows with their headings, from a CSV or a spreadsheet; or choose the file."),
    )
    file = forms.FileField(label=_("Or the file"), required=False)
    own = forms.CharField(
        label=_("Your own grades, as a table"),
        required=False,
        max_length=MOST_TYPED,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 3, "spellcheck": "false"}),
        help_text=_("Empty: the grades chosen here."),
    )

    @property
    def first(self) -> list[forms.BoundField]:
        """What is always asked."""
        return [self[name] for name in ("table", "file", "grades", "own")]

    def clean(self) -> dict[str, Any]:
        """Take a file's text for the table, so that it stays on the page."""
        said = super().clean() or self.cleaned_data
        if said.get("file"):
            data = said["file"].read()
            said["table"] = data.decode("utf-8-sig", errors="replace")
            self.data = self.data.copy()
            self.data["table"] = said["table"]
        if not said.get("table", "").strip() and "table" not in self.errors:
            self.add_error("table", say("Paste a table, or choose a file."))
        return said

    def asked(self) -> tuple[list[Shoot], tuple[Grade, ...], dict[str, Any]]:
        """Return the shoots, the grades, and what is wanted of them."""
        said = self.cleaned_data
        own = said["own"].strip()
        known, wanted = asked_grades(say("own grades"), own.encode()) if own else asked_grades(said["grades"])
        name = said["file"].name if said["file"] else "shoots"
        return read_shoots(said["table"].encode(), name), known, wanted
