"""Designing a trial: how many plots, where each treatment goes, drawn by a seed that is written down."""

import random
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.contrib.auth.models import User
from django.db.models import Max
from uuid_utils.compat import uuid7

from ortet.evidence.trials import Design, Size, Tray, lay_out, size_of, written
from ortet.evidence.trials.layout import Across, Edge
from ortet.ledger.booking import Refused, Unknown, created, turn
from ortet.ledger.models import Trial, Variety
from ortet.wood.naming import fold
from ortet.wood.speech import say
from ortet.work.plants import QUOTES

__all__ = ["LARGEST_SEED", "Wanted", "design_trial", "laid_out", "variety_names"]

LARGEST_SEED = 2**31 - 1


@dataclass(frozen=True, slots=True)
class Wanted:
    """A trial as it is asked for. Shares and sureness lie within 0 to 1."""

    treatments: tuple[str, ...]  # the check first
    varieties: tuple[str, ...]
    check_share: float = 0.5  # thought to root under the check
    sought: float = 0.2  # the difference worth finding
    sure: float = 0.8
    rows: int = 6
    columns: int = 12
    alike: Across = "rows"
    edge: Edge = "use"
    plot_cuttings: int = 6
    looks: int = 1
    blocks: int | None = None  # None: as many as the difference sought needs
    seed: int | None = None  # None: drawn


def variety_names(names: Sequence[str]) -> tuple[str, ...]:
    """Return the names of varieties as the book writes them.

    Raises
    ------
    Unknown
        If one is not in the book.
    """
    told = []
    for name in names:
        plain = name.strip().strip(QUOTES).strip()
        found = Variety.objects.filter(name_key=fold(plain)).first()
        if found is None:
            near = ", ".join(Variety.objects.values_list("name", flat=True)[:8]) or say("none yet")
            raise Unknown(
                say(
                    "No variety is called {plain!r}; the book has {near}. Nothing was booked.",
                    plain=plain,
                    near=near,
                )
            )
        told.append(found.name)
    return tuple(told)


def laid_out(wanted: Wanted) -> tuple[Design, Size]:
    """Return a trial laid out, and what it can show; nothing is booked.

    Raises
    ------
    Refused
        If a number cannot be, a block does not fit the tray, or no trial of a bearable size shows the difference sought.
    """
    varieties = variety_names(wanted.varieties)
    check, other = wanted.check_share, wanted.check_share + wanted.sought
    if other >= 1.0 and 2.0 * check - other > 0.0:
        other = check - wanted.sought  # upwards there is no room: as hard to see downwards
    seed = random.SystemRandom().randrange(1, 100_000) if wanted.seed is None else wanted.seed
    try:
        if not 0 <= seed <= LARGEST_SEED:
            raise ValueError(
                say("Seed {seed}: give a whole number from 0 to {most}.", seed=seed, most=LARGEST_SEED)
            )
        size = size_of(
            check,
            other,
            treatments=len(wanted.treatments),
            varieties=len(varieties),
            plot_cuttings=wanted.plot_cuttings,
            looks=wanted.looks,
            sure=wanted.sure,
            blocks=wanted.blocks,
        )
        design = lay_out(
            wanted.treatments,
            varieties,
            tray=Tray(wanted.rows, wanted.columns, wanted.alike, wanted.edge),
            plot_cuttings=wanted.plot_cuttings,
            blocks=size.blocks,
            seed=seed,
            looks=wanted.looks,
        )
    except ValueError as error:
        raise Refused(say("{error} Nothing was booked.", error=error)) from None
    return design, size


def design_trial(
    name: str, question: str, wanted: Wanted, *, by: User, at: datetime, id: UUID | None = None
) -> Trial:
    """Draw a trial's layout and note it; return the trial. From then on it never changes.

    Raises
    ------
    Refused
        If it has no name or question, or cannot be laid out so.
    """
    with turn():
        if id and (before := Trial.objects.filter(pk=id).first()):
            return before
        if not name.strip() or not question.strip():
            raise Refused(
                say(
                    "A trial has a name and a question: write down what is to be decided before the first is struck. "
                    "Nothing was booked."
                )
            )
        design, _ = laid_out(wanted)
        number = (Trial.objects.aggregate(last=Max("number"))["last"] or 0) + 1
        return created(
            Trial,
            id=id or uuid7(),
            number=number,
            name=name.strip(),
            question=question.strip(),
            seed=design.seed,
            design=written(design),
            made_at=at,
            by=by,
        )
