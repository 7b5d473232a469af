"""Numbers as they are given, looked over once: what cannot be is refused with its place, and what to do."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["in_order", "number", "share"]

Array = NDArray[np.float64]
INF = float("inf")


def number(
    value: ArrayLike,
    name: str,
    least: float = -INF,
    most: float = INF,
    *,
    unit: str = "",
    above: bool = False,
    endless: bool = False,
    hint: str = "",
) -> Array:
    """Return numbers as floats, NaN among them, or say which is none, endless or out of range.

    Parameters
    ----------
    value : array_like, any shape
        What was given.
    name : str
        What it is, for the message.
    least, most : float
        Between which it must lie, ends included. [unit]
    unit : str
        Written after the number.
    above : bool
        Leave `least` itself out.
    endless : bool
        Let infinity pass.
    hint : str
        What to do, a sentence.

    Returns
    -------
    ndarray of float, same shape

    Raises
    ------
    ValueError
        Naming the first number that will not do, and its place in the array.
    """
    try:
        given = np.asarray(value, dtype=np.float64)
    except (TypeError, ValueError):
        raise ValueError(
            f"{name}: numbers are needed, in one block, not {value!r}. {hint}".rstrip()
        ) from None
    if given.size:
        low, high = given.min(), given.max()  # either is NaN where any is: then look at each
        if not (
            low >= least and high <= most and (endless or high < INF) and low > (least if above else -INF)
        ):
            _look(given, name, least, most, unit, above, endless, hint)
    return given


def share(value: ArrayLike, name: str, *, above: bool = False, hint: str = "") -> Array:
    """Return shares from 0 to 1; a percentage is told from a slip. Parameters and errors as in `number`. [0-1]"""
    try:
        return number(value, name, 0.0, 1.0, above=above, hint=hint)
    except ValueError as problem:
        given = number(value, name, hint=hint)
        percent = (given > 1) & (given <= 100)
        if not np.any(percent):
            raise problem from None
        place = np.unravel_index(int(np.argmax(percent)), given.shape)
        was = float(given[place])
        raise ValueError(
            f"{name} {was:g} looks like a percentage{_where(place)}. Give a share from 0 to 1: {was / 100:g}."
        ) from None


def in_order(name: str, unit: str = "°C", **ends: ArrayLike) -> list[Array]:
    """Return numbers that must rise from one to the next, everywhere; the message names them in order."""
    given = [number(value, end) for end, value in ends.items()]
    for (low_name, low), (high_name, high) in zip(
        zip(ends, given, strict=True), list(zip(ends, given, strict=True))[1:], strict=False
    ):
        if not np.all(low < high):
            told = ", ".join(
                f"{end} {np.array2string(one, threshold=6)}" for end, one in zip(ends, given, strict=True)
            )
            raise ValueError(f"{name} must rise, {low_name} below {high_name}: {told} {unit}.")
    return given


def _look(
    given: Array, name: str, least: float, most: float, unit: str, above: bool, endless: bool, hint: str
) -> None:
    """Raise for the first number that will not do, if there is one."""
    strange = (given < least) | (given > most)
    if not endless:
        strange |= np.isinf(given)
    if above:
        strange |= given == least
    if not np.any(strange):
        return
    place = np.unravel_index(int(np.argmax(strange)), given.shape)
    unit = f" {unit}" if unit else ""
    here = f"{name} {float(given[place]):g}{unit}"
    if np.isinf(given[place]) and not endless:
        must = "must be finite"
    elif least > -INF and most < INF:
        must = f"is outside {'above ' if above else ''}{least:g} to {most:g}{unit}"
    elif above:
        must = f"must be above {least:g}{unit}"
    else:
        must = f"is below {least:g}{unit}" if least > -INF else f"is above {most:g}{unit}"
    raise ValueError(f"{here} {must}{_where(place)}. {hint}".rstrip())


def _where(place: tuple[np.intp, ...]) -> str:
    """Say the place, counted from 0 as Python does; nothing for a single number."""
    if not place:
        return ""
    return (
        f", at place {int(place[0])}"
        if len(place) == 1
        else f", at place ({', '.join(str(int(p)) for p in place)})"
    )
