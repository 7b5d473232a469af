"""Lengths, weights and temperatures as a grower writes and reads them, metric or US. Inside it is mm, g and °C."""

import re

from .speech import say, to_say

__all__ = [
    "read_length",
    "read_mass",
    "read_temperature",
    "show_length",
    "show_mass",
    "show_temperature",
    "unit_names",
]

MM = {
    "mm": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "in": 25.4,
    '"': 25.4,
    "inch": 25.4,
    "ft": 304.8,
}  # exact, by definition
GRAMS = {"g": 1.0, "kg": 1000.0, "oz": 28.349523125, "lb": 453.59237}  # exact, by definition
_NUMBER = re.compile(r"\s*([+-]?\d+(?:[.,]\d+)?)\s*([^\d\s]*)\s*")


def unit_names(units: str) -> dict[str, str]:
    """Return the unit that a bare number means for each quantity."""
    return (
        {"length": "in", "mass": "oz", "temperature": "°F"}
        if units == "US"
        else {"length": "mm", "mass": "g", "temperature": "°C"}
    )


def _read(text: str, factors: dict[str, float], bare: str, what: str) -> float:
    """Add up number-and-unit pairs, such as 2 lb 3 oz."""
    total, place = 0.0, 0
    while match := _NUMBER.match(text, place):
        if not match[2] and match[0] != text:  # 1 200 is neither 201 nor surely 1200
            raise ValueError(
                say(
                    "{text!r} is not a {what}: each of several numbers needs its unit; write it as 12 {bare}",
                    text=text,
                    what=say(what),
                    bare=bare,
                )
            )
        number, unit = float(match[1].replace(",", ".")), match[2].casefold() or bare
        if unit not in factors:
            raise ValueError(
                say(
                    "{text!r}: {unit!r} is not a unit of {what}; write {units}",
                    text=text,
                    unit=match[2],
                    what=say(what),
                    units=", ".join(factors),
                )
            )
        total, place = total + number * factors[unit], match.end()
    if place == 0 or place != len(text):
        raise ValueError(
            say(
                "{text!r} is not a {what}; write a number and a unit, such as 12 {bare}",
                text=text,
                what=say(what),
                bare=bare,
            )
        )
    return total


def read_length(text: str, units: str = "metric") -> float:
    """Return a length. [mm]"""
    return _read(text, MM, unit_names(units)["length"], to_say("length"))


def read_mass(text: str, units: str = "metric") -> float:
    """Return a weight. [g]"""
    return _read(text, GRAMS, unit_names(units)["mass"], to_say("weight"))


def read_temperature(text: str, units: str = "metric") -> float:
    """Return a temperature. [°C]"""
    match = _NUMBER.fullmatch(text)
    unit = (
        (match[2].strip("°º").casefold() or unit_names(units)["temperature"][1:].casefold()) if match else ""
    )
    if not match or unit not in ("c", "f"):
        raise ValueError(say("{text!r} is not a temperature; write a number and °C or °F", text=text))
    number = float(match[1].replace(",", "."))
    return number if unit == "c" else (number - 32) / 1.8


def show_length(mm: float | None, units: str = "metric") -> str:
    """Write a length."""
    if mm is None:
        return ""
    return f"{mm / 25.4:.3g} in" if units == "US" else f"{mm:.4g} mm"


def show_mass(grams: float | None, units: str = "metric") -> str:
    """Write a weight."""
    if grams is None:
        return ""
    if units == "US":
        ounces = round(
            grams / GRAMS["oz"], 2
        )  # a hundredth, so that a bag's loss shows between two weighings
        return f"{ounces // 16:.0f} lb {ounces % 16:.2f} oz" if ounces >= 16 else f"{ounces:.2f} oz"
    return f"{grams / 1000:.3f} kg" if grams >= 10_000 else f"{grams:.1f} g"


def show_temperature(celsius: float | None, units: str = "metric") -> str:
    """Write a temperature."""
    if celsius is None:
        return ""
    return f"{celsius * 1.8 + 32:.1f} °F" if units == "US" else f"{celsius:.1f} °C"
