"""The form that asks which scion goes on which stock: two lists of thicknesses, as they were called out."""

import re
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from ortet.ledger.models import Nursery
from ortet.wood.speech import say
from ortet.wood.units import read_length
from ortet.work.match import WITHIN_MM, Piece

from .fields import LengthField

__all__ = ["Match"]

MOST_TYPED = 4_000  # characters: a link holds no more everywhere
ONE = re.compile(r"[\d.,]+\s*(?:mm|cm|in|\")?", re.IGNORECASE)


class ThicknessesField(forms.CharField):
    """Thicknesses one after another, numbered as they come."""

    def __init__(self, letter: str, **more: Any) -> None:
        self.letter, self.units = letter, "metric"
        wide = forms.Textarea(attrs={"rows": 4, "spellcheck": "false", "inputmode": "text"})
        super().__init__(max_length=MOST_TYPED, widget=wide, **more)

    def clean(self, value: Any) -> list[Piece]:
        """Return a piece for each number; refuse what is none."""
        said = super().clean(value)
        if rest := ONE.sub(" ", said).replace(";", " ").split():
            raise forms.ValidationError(
                say("{rest!r} is no thickness. Write numbers with a space between them.", rest=rest[0])
            )
        pieces = []
        for number, text in enumerate(ONE.findall(said), 1):
            try:
                pieces.append(Piece(f"{self.letter}{number}", read_length(text, self.units)))
            except ValueError as error:
                raise forms.ValidationError(
                    say("Number {number}: {error}.", number=number, error=error)
                ) from None
        return pieces


class Match(forms.Form):
    """Scions and stocks by thickness, and how far they may differ."""

    scions = ThicknessesField(
        "S",
        label=_("Scions, how thick at the base"),
        help_text=_("One after another, such as 7.9 8.4 6; the first is S1."),
    )
    stocks = ThicknessesField(
        "R", label=_("Rootstocks, how thick where they are cut"), help_text=_("The first is R1.")
    )
    thicker = LengthField(label=_("Scion thicker by at most"), required=False, help_text=_("Empty: 1 mm."))
    thinner = LengthField(label=_("Scion thinner by at most"), required=False, help_text=_("Empty: 1 mm."))

    def __init__(self, nursery: Nursery, data: Any) -> None:
        super().__init__(data if "scions" in data else None, use_required_attribute=False)
        for name in ("thicker", "thinner"):
            self.fields[name].in_units(nursery.units)
        for name in ("scions", "stocks"):
            self.fields[name].units = nursery.units

    def asked(self) -> dict[str, Any]:
        """Return what is asked."""
        said = self.cleaned_data
        by = {name: WITHIN_MM if said[name] is None else said[name] for name in ("thicker", "thinner")}
        return {
            "scions": said["scions"],
            "stocks": said["stocks"],
            "thicker_mm": by["thicker"],
            "thinner_mm": by["thinner"],
        }
