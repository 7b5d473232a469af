"""The steps that cuttings of a species usually go through, until a grower's own counts say better."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from ortet.science.species import species
from ortet.wood.speech import say, to_say

from .chain import Beta
from .wishes import Step

__all__ = ["USES", "usual_steps"]

USES = (
    to_say("cuttings"),
    to_say("rooting"),
    to_say("grafting"),
)  # given away as they are; struck and potted; grafted and grown on

# Common practice, no measurement: our choice of what care usually brings, and as from how few cuttings it is known.
STORE = Step(
    to_say("store"),
    Beta(19.0, 1.0),
    to_say("Sound after the store: 95 %, as from 20 cuttings (common practice, our choice)"),
)
POT = Step(
    to_say("pot"),
    Beta(9.0, 1.0),
    to_say("Lives once potted: 90 %, as from 10 plants (common practice, our choice)"),
)
GRAFT = Step(
    to_say("graft"),
    Beta(7.0, 3.0),
    to_say("Grafts that take: 70 %, as from 10 grafts (common practice, our choice)"),
)


def usual_steps(species_key: str, use: str, learnt: Mapping[str, Step] | None = None) -> tuple[Step, ...]:
    """Return the steps of a species for a use, each with what it rests on and its mark.

    Parameters
    ----------
    species_key : str
        A key of `ortet.science.species`.
    use : str
        One of `USES`.
    learnt : mapping of str to Step
        Steps that a grower's own counts know better, by name, such as "strike" and "graft".

    Raises
    ------
    KeyError
        If there is no such species.
    ValueError
        If there is no such use.
    """
    usual = {
        "cuttings": (_said(STORE),),
        "rooting": (_said(STORE), _strike(species_key), _said(POT)),
        "grafting": (_said(STORE), _said(GRAFT)),
    }
    if use not in usual:
        raise ValueError(f"No usual steps for {use!r}. Use {', '.join(USES)}, or give the steps.")
    known = learnt or {}
    return tuple(known.get(step.name, step) for step in usual[use])


def _said(step: Step) -> Step:
    return replace(step, why=say(step.why))


def _strike(species_key: str) -> Step:
    kind = species(species_key)
    share, known = kind.value("strike"), kind.value("strike_cuttings")
    why = say(
        "{why}; as from {cuttings:g} cuttings: {why_so_many}",
        why=kind.why("strike"),
        cuttings=known,
        why_so_many=kind.why("strike_cuttings"),
    )
    return Step(to_say("strike"), Beta(share * known, (1.0 - share) * known), why)
