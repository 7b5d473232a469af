"""The form that tells what was found wrong: up to five lots, each so many of so many, what they were and where."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from ortet.pages import known
from ortet.wood.speech import say
from ortet.work.mixup import Found

from .fields import CodeField, CountField

__all__ = ["Finds"]

ROWS = "abcde"


class OneLot(forms.Form):
    """What was found of one lot."""

    lot = CodeField(label=_("Lot"), required=False, help_text=_("Its code or mark."))
    wrong = CountField(
        label=_("Something else"), required=False, help_text=_("Plants; 0 where all were right.")
    )
    of = CountField(label=_("Of so many looked at"), least=1, required=False)
    variety = forms.CharField(
        label=_("What they were"), required=False, max_length=120, help_text=_("Empty: nobody knows.")
    )
    place = forms.CharField(
        label=_("Where they stood"),
        required=False,
        max_length=120,
        help_text=_("A batch, a bag, a ground or a buyer. Empty: anywhere."),
    )

    def __init__(self, data: Any, row: str) -> None:
        given = any(data.get(f"{row}-{name}") for name in ("wrong", "of", "variety", "place"))
        # a link names the lot alone: that is filled in, and nothing is asked yet
        super().__init__(
            data if given else None,
            prefix=row,
            initial={"lot": data.get(f"{row}-lot", "")},
            use_required_attribute=False,
        )
        if row == ROWS[0]:
            self.fields["lot"].offer, self.fields["variety"].offer = known.lots(), known.varieties()
        self.fields["lot"].widget.attrs["list"] = "known-lot"
        self.fields["variety"].widget.attrs["list"] = "known-variety"

    @property
    def rows(self) -> list[list[forms.BoundField]]:
        """The fields, some side by side."""
        return [[self[name] for name in row] for row in (("lot",), ("wrong", "of"), ("variety", "place"))]

    def clean(self) -> dict[str, Any]:
        """Refuse a line that lacks its lot or its counts."""
        said = super().clean() or {}
        for name in ("lot", "wrong", "of"):
            if said.get(name) in (None, "") and name not in self.errors:
                self.add_error(name, say("Say this too, or empty the line."))
        return said


class Finds:
    """All that was found."""

    def __init__(self, data: Any) -> None:
        self.lots = [OneLot(data, row) for row in ROWS]
        self.said = [one for one in self.lots if one.is_bound]
        self.problem = ""

    @property
    def first(self) -> OneLot:
        """The lot asked about first."""
        return self.lots[0]

    @property
    def others(self) -> list[OneLot]:
        """Further lots."""
        return self.lots[1:]

    @property
    def is_unfolded(self) -> bool:
        """Whether further lots were told of."""
        return any(one.is_bound for one in self.others)

    def is_valid(self) -> bool:
        """Whether every line that was written is whole."""
        valid = [one.is_valid() for one in self.said]  # each, so that each says what it lacks
        return all(valid)

    def found(self) -> list[Found]:
        """Return what was found."""
        every = [one.cleaned_data for one in self.said]
        return [
            Found(said["lot"], said["wrong"], said["of"], said["variety"], said["place"]) for said in every
        ]
