"""A season of an invented nursery, loaded from files as a grower's own would be, standing still at one moment."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

    from django.contrib.auth.models import User

__all__ = ["load_demo"]

Progress = Callable[[str, int, int], None]
WRITING = "writing the season's files"
NOTING = "noting what is wanted"
TYPING = "typing in last season"
DEALING = "noting buyers and orders"


def load_demo(*, progress: Progress = lambda name, done, total: None) -> None:
    """Load the demo season into an empty book; do nothing where it is loaded already.

    Raises
    ------
    Refused
        If the book holds something else: the demo never writes in a grower's own book.
    """
    from django.db import transaction

    from ortet.ledger.booking import drawn_from
    from ortet.ledger.models import MotherPlant, Movement, Nursery
    from ortet.settings import FOLDER
    from ortet.work import Refused
    from ortet.work.nursery import describe, grower, open_book

    from . import last_season, season, story, trade, wishes
    from .climate import NOW
    from .plants import NURSERY, ZONE

    open_book()
    if Nursery.get().fixed_now:
        return
    if Movement.objects.exists() or MotherPlant.objects.exists():
        raise Refused(
            "There are plants in this book, and the demo season needs an empty one. Nothing was booked."
        )
    progress(WRITING, 0, 1)
    files = season.write(FOLDER / "season")
    progress(WRITING, 1, 1)
    first = [path for path in files if path.name in ("mothers.csv", "lots.csv")]
    with transaction.atomic(), drawn_from(random.Random(season.SEED)):
        nursery = describe(name=NURSERY, zone=ZONE)
        nursery.fixed_now = NOW
        nursery.save()
        by = grower()
        _load(first, by, progress)
        story.before_bagging(by)
        _load([path for path in files if path not in first], by, progress)
        story.since_bagging(by)
        wishes.note_wishes(by, lambda done, total: progress(NOTING, done, total))
        last_season.type_in(by, lambda done, total: progress(TYPING, done, total))
        trade.deal(by, lambda done, total: progress(DEALING, done, total))


def _load(paths: Sequence[Path], by: User, progress: Progress) -> None:
    from ortet.work.load import load

    from .climate import NOW

    loaded = load([(path.name, path.read_bytes()) for path in paths], by=by, at=NOW, progress=progress)
    if loaded.problems:
        raise RuntimeError("The demo season does not load:\n" + "\n".join(map(str, loaded.problems)))
