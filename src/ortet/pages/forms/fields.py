"""Fields that read what a grower types: a moment, a measure, a price, a code that may come from a scanner."""

import math
from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from ortet.wood import code as codes
from ortet.wood import units as measures
from ortet.wood.speech import say

__all__ = [
    "CodeField",
    "CountField",
    "DayField",
    "FilmField",
    "HeatsField",
    "LengthField",
    "MassField",
    "Measured",
    "MomentField",
    "NamesField",
    "Notes",
    "NumberField",
    "PriceField",
    "TemperatureField",
    "TransitField",
    "one_of",
    "read_names",
    "read_transit",
    "show_transit",
]

FORMATS = ("%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M", "%Y-%m-%d")
UM_PER_MIL = 25.4  # exact, by definition


class MomentField(forms.Field):
    """Day and time in the grower's zone, to the minute."""

    widget = forms.DateTimeInput(attrs={"type": "datetime-local"}, format=FORMATS[0])

    def prepare_value(self, value: Any) -> Any:
        """Return the moment as the browser's own field wants it; what was typed stays as it is."""
        return timezone.localtime(value).strftime(FORMATS[0]) if isinstance(value, datetime) else value

    def to_python(self, value: Any) -> datetime | None:
        """Return the moment, or say how to write one."""
        if value in self.empty_values:
            return None
        for written in FORMATS:
            try:
                return datetime.strptime(str(value).strip(), written).replace(
                    tzinfo=timezone.get_current_timezone()
                )
            except ValueError:
                continue
        raise forms.ValidationError(
            say("{value!r} is no day and time: write it like 2027-02-12 08:30.", value=value)
        )


class DayField(forms.Field):
    """A day, without a clock."""

    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")

    def to_python(self, value: Any) -> date | None:
        """Return the day, or say how to write one."""
        if value in self.empty_values or isinstance(value, date):
            return value or None
        try:
            return date.fromisoformat(str(value).strip())
        except ValueError:
            raise forms.ValidationError(
                say("{value!r} is no day: write it like 2027-02-12.", value=value)
            ) from None


class CodeField(forms.CharField):
    """A lot or place by code, mark or name. A scanned label gives an address: what stands last in it counts."""

    def __init__(self, *, capitals: str = "characters", **more: Any) -> None:
        super().__init__(max_length=200, **more)
        self.widget.attrs |= {"autocapitalize": capitals, "autocomplete": "off", "spellcheck": "false"}

    def to_python(self, value: Any) -> str:
        """Return the code, mark or name."""
        return codes.of_label(super().to_python(value))


class CountField(forms.IntegerField):
    """A whole number, from a keypad.

    A browser's own number field hands in nothing where it cannot read what was typed, and nothing means all: so the
    field takes text, and what cannot be read is refused.
    """

    def __init__(self, *, least: int = 0, **more: Any) -> None:
        keypad = forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"})
        super().__init__(min_value=least, max_value=1_000_000, widget=keypad, **more)


class NumberField(forms.FloatField):
    """A number, from a keypad whose key may be a comma."""

    def __init__(self, **more: Any) -> None:
        super().__init__(
            widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}), **more
        )

    def to_python(self, value: Any) -> float | None:
        """Return the number."""
        return super().to_python(value.replace(",", ".") if isinstance(value, str) else value)


class PriceField(forms.DecimalField):
    """An amount of money, from a keypad whose key may be a comma. Which money it is, the grower knows."""

    def __init__(self, *, decimal_places: int = 2, **more: Any) -> None:
        keypad = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
        super().__init__(min_value=0, max_digits=10, decimal_places=decimal_places, widget=keypad, **more)

    def prepare_value(self, value: Any) -> Any:
        """Return a price that was kept without the noughts behind it that nobody wrote."""
        return f"{value.normalize():f}" if isinstance(value, Decimal) else value

    def to_python(self, value: Any) -> Decimal | None:
        """Return the amount."""
        return super().to_python(value.replace(",", ".") if isinstance(value, str) else value)


class Measured(forms.CharField):
    """A number in the nursery's units; another unit may be written behind it."""

    quantity = ""
    units = "metric"
    least = 0.0

    def __init__(self, **more: Any) -> None:
        super().__init__(max_length=30, **more)
        self.widget.attrs |= {"inputmode": "decimal", "autocomplete": "off"}

    def in_units(self, units: str) -> None:
        """Take the nursery's units, and name the unit in the label."""
        self.units = units
        self.label = f"{self.label} ({self.unit})"

    @property
    def unit(self) -> str:
        """The unit that a bare number means."""
        return measures.unit_names(self.units)[self.quantity]

    def prepare_value(self, value: Any) -> Any:
        """Return a measure as a bare number in the nursery's units; what was typed stays as it is."""
        return f"{value / self.factor:.4g}" if isinstance(value, (int, float)) else value

    @property
    def factor(self) -> float:
        """How many mm, g or µm the unit is."""
        raise NotImplementedError

    def read(self, text: str) -> float:
        """Return the measure in mm, g or µm."""
        raise NotImplementedError

    def clean(self, value: Any) -> float | None:
        """Return the measure in mm, g or µm, or None where none was given."""
        text = super().clean(value)
        if not text:
            return None
        try:
            number = self.read(text)
        except ValueError as error:
            raise forms.ValidationError(f"{error}.") from None
        if not math.isfinite(number) or number < self.least:
            raise forms.ValidationError(say("{text!r}: a measure is not below nothing.", text=text))
        return number


class LengthField(Measured):
    """A length. [mm]"""

    quantity = "length"

    @property
    def factor(self) -> float:
        """How many mm the unit is."""
        return measures.MM[self.unit]

    def read(self, text: str) -> float:
        """Return the length. [mm]"""
        return measures.read_length(text, self.units)


class MassField(Measured):
    """A weight. [g]"""

    quantity = "mass"

    def in_units(self, units: str) -> None:
        """Take the nursery's units; pounds and ounces are written with letters, so they need the whole keyboard."""
        super().in_units(units)
        if units == "US":
            self.widget.attrs["inputmode"] = "text"

    @property
    def factor(self) -> float:
        """How many grams the unit is."""
        return measures.GRAMS[self.unit]

    def read(self, text: str) -> float:
        """Return the weight. [g]"""
        return measures.read_mass(text, self.units)


class FilmField(Measured):
    """How thick a film is. [µm]"""

    @property
    def unit(self) -> str:
        """Micrometres, or mil where US units are used."""
        return "mil" if self.units == "US" else "µm"

    @property
    def factor(self) -> float:
        """How many µm the unit is."""
        return UM_PER_MIL if self.units == "US" else 1.0

    def read(self, text: str) -> float:
        """Return the thickness. [µm]"""
        word = text.casefold().replace(",", ".").strip()
        units = {"mil": UM_PER_MIL, "µm": 1.0, "\N{GREEK SMALL LETTER MU}m": 1.0, "um": 1.0}
        unit = next((unit for unit in units if word.endswith(unit)), self.unit)
        try:
            return float(word.removesuffix(unit)) * units[unit]
        except ValueError:
            raise ValueError(
                say("{text!r} is no thickness; write a number, such as 50 µm or 2 mil", text=text)
            ) from None


class TemperatureField(Measured):
    """A temperature. [°C]"""

    quantity = "temperature"
    least = -math.inf

    def prepare_value(self, value: Any) -> Any:
        """Return a temperature as a bare number in the nursery's units; what was typed stays as it is."""
        if not isinstance(value, (int, float)):
            return value
        return f"{value * 1.8 + 32 if self.unit == '°F' else value:.4g}"

    def read(self, text: str) -> float:
        """Return the temperature. [°C]"""
        return measures.read_temperature(text, self.units)


class HeatsField(TemperatureField):
    """Temperatures, with spaces between. [°C]"""

    def prepare_value(self, value: Any) -> Any:
        """Return temperatures as bare numbers in the nursery's units."""
        if not isinstance(value, (list, tuple)):
            return value
        return " ".join(super(HeatsField, self).prepare_value(degrees) for degrees in value)

    def clean(self, value: Any) -> list[float]:
        """Return the temperatures; none where none was given."""
        words = forms.CharField.clean(self, value).replace(";", " ").split()
        words = [word.strip(",") for word in words if word not in ("°C", "°F", "C", "F")]
        return [degrees for word in words if (degrees := super(HeatsField, self).clean(word)) is not None]


def read_names(text: str) -> tuple[str, ...]:
    """Return names that were written with commas between."""
    return tuple(part.strip() for part in text.split(",") if part.strip())


class NamesField(forms.CharField):
    """Names, with commas between."""

    def clean(self, value: Any) -> tuple[str, ...]:
        """Return the names; none where none was given."""
        return read_names(super().clean(value))


def read_transit(text: str) -> dict[int, float]:
    """Return shares of parcels by working days on the way, written like 1:50 2:35 3:15.

    Raises
    ------
    ValueError
        If a word is no such pair, or a day is written twice.
    """
    shares: dict[int, float] = {}
    for word in text.replace("%", " ").split():
        days, _, share = word.strip(",;").partition(":")
        try:
            number, parts = int(days), float(share)
        except ValueError:
            raise ValueError(
                say("{word!r}: write days and share with a colon between, such as 1:50 2:35 3:15", word=word)
            ) from None
        if not math.isfinite(parts):
            raise ValueError(say("{word!r}: {share} is no share; write it like 1:50", word=word, share=share))
        if number in shares:
            raise ValueError(
                say(
                    "{text!r} says {number} twice; write each number of days once",
                    text=text.strip(),
                    number=number,
                )
            )
        shares[number] = parts
    return shares


def show_transit(shares: Mapping[str, float]) -> str:
    """Write shares of parcels by working days on the way, in per cent."""
    return " ".join(f"{days}:{100 * share:.4g}" for days, share in shares.items())


class TransitField(forms.CharField):
    """Shares of parcels by working days on the way."""

    def clean(self, value: Any) -> dict[int, float]:
        """Return the shares by days; none where none was given."""
        try:
            return read_transit(super().clean(value))
        except ValueError as error:
            raise forms.ValidationError(f"{error}.") from None


class Notes(forms.CharField):
    """A few words in the grower's own hand."""

    def __init__(self, label: str = _("Note"), *, required: bool = False, **more: Any) -> None:
        super().__init__(
            label=label, required=required, max_length=2000, widget=forms.Textarea(attrs={"rows": 2}), **more
        )


def one_of(label: str, choices: Any, *, required: bool = True, **more: Any) -> forms.ChoiceField:
    """Return a field of a few choices, each a target that a thumb hits."""
    return forms.ChoiceField(
        label=label, choices=choices, required=required, widget=forms.RadioSelect, **more
    )
