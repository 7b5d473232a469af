"""Grades: what a piece must measure to be one, and which one a cutting is."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from .cutting import Cutting
from .speech import counted, say, to_say

__all__ = ["COMMON", "PUBLISHED", "SLACK_MM", "Grade", "Graded", "Published", "grade"]

Tip = Literal["no", "may", "must"]
SLACK_MM = 1e-6  # so that a sum of lengths which should be 200 mm is
MOST_NODES = 500
INF = math.inf


@dataclass(frozen=True, slots=True)
class Grade:
    """A class of piece: everything in it lies between its least and its most, both included.

    Parameters
    ----------
    name
        Your word for it, as on a lot.
    use
        "rooting", "grafting", or nothing said.
    least_nodes, most_nodes
        Buds or pairs of buds.
    least_mm, most_mm
        Length. [mm]
    least_base_mm, most_base_mm, least_tip_mm, most_tip_mm
        Diameters over the bark at the thick and the thin end. [mm]
    tip
        Whether the shoot's own tip "must" be on it, "may", or "no".
    value
        What one is worth to you, in any unit, the same for all grades.
    source
        Where the limits are from.
    """

    name: str
    use: str = ""
    least_nodes: int = 1
    most_nodes: int = MOST_NODES
    least_mm: float = 0.0
    most_mm: float = INF
    least_base_mm: float = 0.0
    most_base_mm: float = INF
    least_tip_mm: float = 0.0
    most_tip_mm: float = INF
    tip: Tip = "may"
    value: float = 1.0
    source: str = ""

    def __post_init__(self) -> None:
        if not self.name.strip() or len(self.name) > 20:
            raise ValueError(say("grade {name!r}: give it a name of 1 to 20 letters", name=self.name))
        if self.use not in ("", "rooting", "grafting"):
            raise ValueError(
                say("{name}: use {use!r}: say rooting or grafting, or nothing", name=self.name, use=self.use)
            )
        if self.tip not in ("no", "may", "must"):
            raise ValueError(say("{name}: tip {tip!r}: say no, may or must", name=self.name, tip=self.tip))
        if not (0 < self.value < INF):
            raise ValueError(
                say("{name}: value {value:g}: give a number above 0", name=self.name, value=self.value)
            )
        if not 1 <= self.least_nodes <= self.most_nodes <= MOST_NODES:
            raise ValueError(
                say(
                    "{name}: {least} to {most} nodes: give 1 or more, the least first",
                    name=self.name,
                    least=self.least_nodes,
                    most=self.most_nodes,
                )
            )
        for what, least, most in (
            (to_say("long"), self.least_mm, self.most_mm),
            (to_say("at the base"), self.least_base_mm, self.most_base_mm),
            (to_say("at the tip"), self.least_tip_mm, self.most_tip_mm),
        ):
            if not 0 <= least <= most:
                raise ValueError(
                    say(
                        "{name}: {least:g} to {most:g} mm {what}: give 0 or more, the least first",
                        name=self.name,
                        least=least,
                        most=most,
                        what=say(what),
                    )
                )

    def misfit(self, cutting: Cutting, *, has_tip: bool = False) -> str:
        """Return why a cutting is not of this grade; nothing where it is."""
        if not self.least_nodes <= cutting.nodes <= self.most_nodes:
            return say(
                "{nodes}, takes {span}",
                nodes=counted(cutting.nodes, "node"),
                span=_span(self.least_nodes, self.most_nodes, MOST_NODES),
            )
        for what, mm, least, most in (
            (to_say("long"), cutting.length_mm, self.least_mm, self.most_mm),
            (to_say("thick at the base"), cutting.base_mm, self.least_base_mm, self.most_base_mm),
            (to_say("thick at the thin end"), cutting.tip_mm, self.least_tip_mm, self.most_tip_mm),
        ):
            if not least - SLACK_MM <= mm <= most + SLACK_MM:
                return say(
                    "{mm:.1f} mm {what}, takes {span} mm", mm=mm, what=say(what), span=_span(least, most, INF)
                )
        if (self.tip == "no" and has_tip) or (self.tip == "must" and not has_tip):
            return (
                say("takes no piece with the shoot's tip") if has_tip else say("takes only the shoot's tip")
            )
        return ""


@dataclass(frozen=True, slots=True)
class Graded:
    """Which grade a cutting is, and why."""

    grade: Grade | None
    reason: str


@dataclass(frozen=True, slots=True)
class Published:
    """Grades that a standard sets, and where it says so."""

    key: str
    name: str
    citation: str
    species: str  # of which wood alone it speaks
    grades: tuple[Grade, ...]


def grade(cutting: Cutting, grades: Sequence[Grade], *, has_tip: bool = False) -> Graded:
    """Return the most valuable grade that a cutting is of, and why; of equals the first."""
    found, why_not = None, []
    for one in sorted(grades, key=lambda one: -one.value):
        misfit = one.misfit(cutting, has_tip=has_tip)
        if not misfit:
            found = one
            break
        why_not.append(say("not {grade}: {misfit}", grade=one.name, misfit=misfit))
    if found is None:
        none = say("No grade fits. {why}", why=_sentence(why_not)) if why_not else say("There is no grade.")
        return Graded(None, none)
    said = say(
        "{nodes}, {length:.0f} mm long, {base:.1f} mm at the base, {tip:.1f} mm at the thin end: {grade}",
        nodes=counted(cutting.nodes, "node"),
        length=cutting.length_mm,
        base=cutting.base_mm,
        tip=cutting.tip_mm,
        grade=found.name,
    )
    return Graded(found, _sentence([said, *why_not]))


def _sentence(parts: list[str]) -> str:
    return "; ".join(parts) + "."


def _span(least: float, most: float, endless: float) -> str:
    if most >= endless:
        return say("{least:g} or more", least=least)
    if least == most:
        return f"{least:g}"
    return (
        say("{least:g} to {most:g}", least=least, most=most) if least else say("{most:g} at most", most=most)
    )


PRACTICE = to_say("common practice")
# Three nodes, a pencil's thickness; thicker for rooting, thinner for grafting. A pencil is 6 to 8 mm. [common practice]
COMMON = (
    Grade("rooting", "rooting", 3, 6, 150, 300, 8.0, 20.0, 6.0, tip="no", value=1.0, source=PRACTICE),
    Grade("grafting", "grafting", 3, 5, 90, 250, 5.5, 8.0, 4.5, tip="no", value=1.0, source=PRACTICE),
)  # fmt: skip

_VINE = (
    "Council Directive 68/193/EEC, Annex II, as amended by Directive 2005/43/EC, as set out in the Austrian "
    "Rebenverkehrsverordnung, annex 5 (2020)"
)
_GRAPE = (
    "Washington Administrative Code 16-462-055 (2), as filed in 2006; a proposal of 2020 (WSR 20-17-144) would drop it: "
    "ask whether it is in force"
)
PUBLISHED = (
    Published(
        "eu-vine",
        to_say("Vine cuttings, European Union"),
        _VINE,
        "grape",
        (
            Grade("graftable", "grafting", least_tip_mm=6.5, most_tip_mm=12, most_base_mm=15, tip="no", source=_VINE),
            Grade("nursery", "rooting", least_tip_mm=3.5, tip="no", source=_VINE),
        ),
    ),
    Published(
        "wa-grape",
        to_say("Grape cuttings, State of Washington"),
        _GRAPE,
        "grape",
        (Grade("cutting", "rooting", least_nodes=3, least_mm=228.6, source=_GRAPE),),
    ),
)  # fmt: skip
