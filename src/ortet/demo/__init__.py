"""A season of an invented nursery, loaded from files as a grower's own would be, standing still at one moment."""

import random
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import SimpleNamespace
from uuid import UUID

__all__ = ["load_demo"]

Progress = Callable[[str, int, int], None]


def load_demo(*, progress: Progress = lambda name, done, total: None) -> None:
    """Load the demo season into an empty book; do nothing where it is loaded already.

    Raises
    ------
    Refused
        If the book holds something else: the demo never writes in a grower's own book.
    """
    from django.db import transaction

    from ortet.ledger.models import Movement, Nursery
    from ortet.settings import FOLDER
    from ortet.work import Refused
    from ortet.work.nursery import grower, open_book

    from . import season, story
    from .climate import NOW
    from .plants import NURSERY, ZONE

    open_book()
    if Nursery.get().fixed_now:
        return
    if Movement.objects.exists():
        raise Refused("This book has wood in it, and the demo season wants one of its own. Nothing was booked.")
    progress("writing the season's files", 0, 1)
    files = season.write(FOLDER / "season")
    progress("writing the season's files", 1, 1)
    with transaction.atomic(), _drawn_from(season.SEED):
        nursery = Nursery.get()
        nursery.name, nursery.zone, nursery.fixed_now = NURSERY, ZONE, NOW
        nursery.save()
        by = grower()
        _load([path for path in files if path.name in season.TABLES[:2]], by, progress)
        story.before_bagging(by)
        _load([path for path in files if path.name not in season.TABLES[:2]], by, progress)
        story.since_bagging(by)


def _load(paths, by, progress: Progress) -> None:  # type: ignore[no-untyped-def]
    from ortet.work.load import load

    from .climate import NOW

    loaded = load([(path.name, path.read_bytes()) for path in paths], by=by, at=NOW, progress=progress)
    if loaded.problems:
        raise RuntimeError("The demo season does not load:\n" + "\n".join(map(str, loaded.problems)))


@contextmanager
def _drawn_from(seed: int) -> Iterator[None]:
    """Let the ledger draw codes and ids from a seeded source, so that the season makes the same book every time."""
    from ortet.ledger import booking

    source = random.Random(seed)

    def id_() -> UUID:
        return UUID(int=source.getrandbits(128), version=4)

    true = booking.secrets, booking.uuid7
    booking.secrets, booking.uuid7 = SimpleNamespace(randbits=source.getrandbits), id_  # type: ignore[assignment]
    try:
        yield
    finally:
        booking.secrets, booking.uuid7 = true
