"""Deed of the benches: what each can do."""

from collections.abc import Sequence
from datetime import date, datetime
from uuid import UUID

from django.contrib.auth.models import User
from uuid_utils.compat import uuid7

from ortet.ledger.booking import MOST, Refused, created, turn
from ortet.ledger.models import BenchSetup, Kind
from ortet.wood.speech import say

from . import find

__all__ = ["set_up_bench"]

COLDEST_C, WARMEST_C = 0.0, 40.0  # what a mat may be set to [common practice]


def set_up_bench(
    bench: str,
    cells: int,
    *,
    by: User,
    at: datetime,
    air_c: float,
    heats: Sequence[float] = (),
    watts_per_k: float = 0.0,
    first_day: date | None = None,
    last_day: date | None = None,
    id: UUID | None = None,
) -> BenchSetup:
    """Note what a bench can do from now on.

    Parameters
    ----------
    cells : int
        Cuttings that fit on it at once.
    air_c : float
        The usual air over it in spring. [°C]
    heats : sequence of float
        Base temperatures that its mats can hold; none: the base is as warm as the air. [°C]
    watts_per_k : float
        Heat that the bench loses for each degree that its base is warmer than the air. [W/K]

    Raises
    ------
    Refused
        If it has no cells, a temperature is none that cuttings bear, or it is free until before it is free.
    """
    with turn():
        if id and (before := BenchSetup.objects.filter(pk=id).first()):
            return before
        place = find.place(bench, Kind.BENCH)
        if cells < 1:
            raise Refused(
                say("{place}: {cells} cells. Give at least 1. Nothing was booked.", place=place, cells=cells)
            )
        if cells > MOST:
            raise Refused(
                say(
                    "{place}: {cells:,} cells. Give at most {most:,}. Nothing was booked.",
                    place=place,
                    cells=cells,
                    most=MOST,
                )
            )
        for degrees in (air_c, *heats):
            if not COLDEST_C <= degrees <= WARMEST_C:
                raise Refused(
                    say(
                        "{place}: {degrees:g} °C. Give degrees Celsius from {coldest_c:g} to {warmest_c:g}. Nothing was "
                        "booked.",
                        place=place,
                        degrees=degrees,
                        coldest_c=COLDEST_C,
                        warmest_c=WARMEST_C,
                    )
                )
        if not 0 <= watts_per_k <= 1000:
            raise Refused(
                say(
                    "{place}: {watts_per_k:g} W/K. Give 0 to 1000. Nothing was booked.",
                    place=place,
                    watts_per_k=watts_per_k,
                )
            )
        if first_day and last_day and last_day < first_day:
            raise Refused(
                say(
                    "{place}: free from {first_day} until {last_day}, which ends before it begins. Nothing was booked.",
                    place=place,
                    first_day=first_day,
                    last_day=last_day,
                )
            )
        return created(
            BenchSetup,
            id=id or uuid7(),
            place=place,
            cells=cells,
            heats=sorted(set(heats)),
            air_c=air_c,
            watts_per_k=watts_per_k,
            first_day=first_day,
            last_day=last_day,
            at=at,
            by=by,
        )
