"""What was found of one line of a slip, and how much water it lost on the way."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

from ortet.science.species import species
from ortet.wood.speech import say, to_say

__all__ = [
    "BUDS",
    "CLEAR",
    "LABELS",
    "SMELLS",
    "WATERS",
    "Bands",
    "Found",
    "bands",
    "percent",
    "pests_of",
    "water_lost",
]

BUDS = ("tight", "swelling", "open")
SMELLS = ("fresh", "musty", "sour")
WATERS = ("none", "droplets", "pooled")
CLEAR = ("clear", "unclear")
LABELS = ("legible", to_say("unreadable"), to_say("missing"))
COUNTS = {  # what may not be below nothing, in words
    "counted": to_say("counted"),
    "mouldy": to_say("mouldy"),
    "dead": to_say("dead"),
    "bored": to_say("bored"),
    "scratch_green": to_say("scratch green"),
    "scratch_of": to_say("scratch of"),
}

# Of the start mass, beyond which most is lost whatever is done: roses at 33 % water, from 48 %, lost 22 % of their mass and 44
# plants in 100 (HortScience 25:863, 1990). [published, of roses]
RUINED = 0.22


@dataclass(frozen=True, slots=True)
class Found:
    """What was found of one line of a slip; None, or empty, where it was not looked at."""

    species: str
    use: str = "rooting"
    stated: int | None = None  # on the slip
    counted: int | None = None
    sent_g: float | None = None  # the wood, as the sender weighed it [g]
    came_g: float | None = None  # the wood, as it came [g]
    wrinkled: bool = False
    mouldy: int | None = None  # mould on the bark
    dead: int | None = None  # dry, brown or soft
    bored: int | None = None  # with holes or frass
    scale: bool = False
    mites: bool = False  # or their eggs
    reportable: bool = False  # a pest or disease that may have to be reported
    scratch_green: int | None = None
    scratch_of: int | None = None
    callus: int | None = None  # 0 to 4
    buds: str = ""
    smell: str = ""
    water: str = ""
    polarity: str = ""
    label: str = ""
    days: float | None = None  # since it was cut, or at least posted

    def __post_init__(self) -> None:
        for name, words in COUNTS.items():
            value = getattr(self, name)
            if value is not None and value < 0:
                raise ValueError(
                    say("{value} {what}: a count is nothing or more", value=value, what=say(words))
                )
        for grams in (self.sent_g, self.came_g):
            if grams is not None and not (isfinite(grams) and grams > 0):
                raise ValueError(say("{grams:g} g: wood weighs more than nothing", grams=grams))
        if (self.scratch_of is None) != (self.scratch_green is None):
            raise ValueError(say("a scratch test needs both: how many were green, of how many"))
        if self.scratch_of is not None and (self.scratch_green or 0) > self.scratch_of:
            raise ValueError(
                say(
                    "scratch test {scratch_green} green of {scratch_of}: more than were tested",
                    scratch_green=self.scratch_green,
                    scratch_of=self.scratch_of,
                )
            )
        if self.callus is not None and not 0 <= self.callus <= 4:
            raise ValueError(say("callus {callus}: score 0 (none) to 4 (full ring)", callus=self.callus))
        if self.counted is not None and (self.dead or 0) + (self.bored or 0) > self.counted:
            raise ValueError(
                say(
                    "{dead} dead and {bored} bored of {counted} counted: count again",
                    dead=self.dead or 0,
                    bored=self.bored or 0,
                    counted=self.counted,
                )
            )
        if self.counted is not None and (self.mouldy or 0) + (self.dead or 0) > self.counted:
            raise ValueError(
                say(
                    "{mouldy} mouldy and {dead} dead of {counted} counted: count again",
                    mouldy=self.mouldy or 0,
                    dead=self.dead or 0,
                    counted=self.counted,
                )
            )
        if self.counted is not None and (self.scratch_of or 0) > self.usable:
            raise ValueError(
                say(
                    "{scratch_of} scratched of {usable} that look alive: count again",
                    scratch_of=self.scratch_of,
                    usable=self.usable,
                )
            )

    @property
    def usable(self) -> int:
        """Cuttings that came and look alive."""
        whole = self.counted if self.counted is not None else self.stated or 0
        return whole - (self.dead or 0) - (self.bored or 0)

    @property
    def is_looked_at(self) -> bool:
        """Whether it was counted and looked at."""
        return self.counted is not None and self.mouldy is not None and self.dead is not None


def water_lost(found: Found) -> float | None:
    """Return the share of its mass that a cutting lost on the way; None where one of the two weights is missing. [0-1]

    Where fewer came than were weighed, each cutting is held against each: what is missing is not water.
    """
    if found.sent_g is None or found.came_g is None:
        return None
    ratio = found.came_g / found.sent_g
    if found.stated and found.counted:
        ratio *= found.stated / found.counted
    return 1.0 - ratio


def pests_of(found: Found) -> str:
    """Name the pests that were seen on the bark."""
    seen = ((say("scale"), found.scale), (say("mites or their eggs"), found.mites))
    return say(" and ").join(word for word, is_seen in seen if is_seen)


def percent(share: float) -> str:
    """Write a share in hundreds."""
    return f"{100 * share:.0f} %" if abs(share) >= 0.095 else f"{100 * share:.1f} %"


@dataclass(frozen=True, slots=True)
class Bands:
    """Shares of its mass at which a cutting changes for the worse. [0-1]"""

    soak_from: float
    limit: float  # harm starts
    high: float  # harm is heavy
    ruined: float  # most is lost
    mark: str


def bands(kind: str) -> Bands:
    """Return the bands of a species, by its drying limit and the range of that."""
    limit = species(kind).known("dry_limit")
    mark = limit.mark if limit.mark == "published" else "common practice"
    return Bands(limit.low, limit.of, limit.high, max(RUINED, limit.high), mark)
