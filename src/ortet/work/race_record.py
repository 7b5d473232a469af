"""Roots or leaves first as it went: the race on what loggers recorded at the base and at the buds. Books nothing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np
from numpy.typing import NDArray

from ortet.ledger.booking import Refused
from ortet.ledger.models import Nursery
from ortet.wood.speech import say

from . import find
from .race import refuse_no_chill

__all__ = ["RecordCard", "race_on_loggers"]

LEAST_HOURS = 24
File = tuple[str, bytes]


@dataclass(frozen=True, slots=True)
class RecordCard:
    """The race on a record, from its first hour as the hour of striking."""

    kind: str
    struck: datetime  # the first hour that both records have, in the nursery's zone
    days: float  # that both records last
    rooted: float  # at the end, of those that can root
    leafed: float
    too_early: float  # share whose leaves came before the reserve could carry them
    root_days: float  # until half rooted; infinite where the record ends before
    leaf_days: float
    steady_days: float  # until half would have rooted at the record's mean base, held steady
    base_c: float  # means
    air_c: float
    chill: float
    gaps: tuple[int, int]  # hours without a reading, base and air


def race_on_loggers(wood: str, base: File, air: File, *, chill: float | None = None) -> RecordCard:
    """Play the race on two loggers' files, the base's and the air's, as if struck in the first hour that both have.

    Raises
    ------
    Refused
        If the wood is unknown, a file cannot be read, or the two have less than a day in common.
    """
    from ortet.science.race import Pace, race_on_record
    from ortet.science.species import known_species, species
    from ortet.science.thermal_time import days_needed

    kind = wood.casefold() if wood.casefold() in known_species() else find.lot(wood).variety.species
    kept, nursery = species(kind), Nursery.get()
    if chill is not None:
        refuse_no_chill(chill)
    met = kept.value("chill_portions") if chill is None else chill
    first, base_c, air_c = _hours_in_common(base, air, nursery)
    pace = Pace.of(kept)
    try:
        run = race_on_record(base_c, air_c, chill=met, heat=0.0, pace=pace)
    except ValueError as error:
        raise Refused(say("{error} Nothing was reckoned.", error=error)) from None
    mean = float(np.nanmean(base_c))
    cardinal = {"t_min": pace.roots_t_min, "t_opt": pace.roots_t_opt, "t_max": pace.roots_t_max}
    steady = days_needed(mean, **cardinal, days_at_optimum=pace.roots_days, spread=pace.roots_spread)
    return RecordCard(
        kind,
        datetime.fromtimestamp(first * 3600, UTC).astimezone(nursery.tz),
        len(base_c) / 24,
        float(run.rooted[-1]),
        float(run.leafed[-1]),
        float(run.too_early),
        float(run.root_days()),
        float(run.leaf_days()),
        float(steady),
        mean,
        float(np.nanmean(air_c)),
        met,
        (int(np.isnan(base_c).sum()), int(np.isnan(air_c).sum())),
    )


def _hours_in_common(
    base: File, air: File, nursery: Nursery
) -> tuple[int, NDArray[np.float64], NDArray[np.float64]]:
    """Return the first hour that both records have, and the hourly means of both from there on. [°C]"""
    from ortet.science.climate import hourly_means
    from ortet.tables.logger import read_logger

    read = [read_logger(data, name, zone=nursery.zone) for name, data in (base, air)]
    for one in read:
        if one.problems:
            raise Refused(say("{problem} Nothing was reckoned.", problem=one.problems[0]))
    first = max(int(one.at_s[0]) // 3600 for one in read)
    hours = min(int(one.at_s[-1]) // 3600 for one in read) + 1 - first
    if hours < LEAST_HOURS:
        raise Refused(
            say(
                "{base} and {air} have {hours} hours in common: give records of the same days, a day at least. Nothing was "
                "reckoned.",
                base=base[0],
                air=air[0],
                hours=max(hours, 0),
            )
        )
    means = [hourly_means(one.at_s, one.air_c, first, hours) for one in read]
    return first, means[0], means[1]
