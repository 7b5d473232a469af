"""The recount: does the account hold?"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict

from django.db import connection, transaction

from ortet.ledger import guard, rules

from .remarks import misplaced

__all__ = ["check", "mend_guard", "one_moment"]


def check() -> tuple[list[rules.Fault], str, dict[str, int]]:
    """Recount the book from its movements alone; return the faults, one line that sums it up, and the sums."""
    with one_moment():
        faults, sums = rules.check(), rules.sums()
        faults += [rules.Fault(where, what) for where, what in misplaced()]
    if not sums.holds:
        faults.append(
            rules.Fault(
                "the whole book",
                f"{sums.taken + sums.received} were taken or received, but what is there and what ended differs",
            )
        )
    ended = [(sums.joined, "one with another by grafting"), (sums.sold, "sold")]
    ends = "".join(f" + {count} {word}" for count, word in ended if count)
    places = f"{sums.on_hand} on hand{ends} + {sums.given_up} given up + {sums.lost} not found"
    came = f"{sums.taken} taken" + (f" + {sums.received} received" if sums.received else "")
    if faults:
        line = f"The account does not hold: {len(faults)} {'fault' if len(faults) == 1 else 'faults'}, listed above."
    else:
        line = (
            f"The account holds: {came} = {places}. "
            f"{sums.movements} movements in {sums.lots} {'lot' if sums.lots == 1 else 'lots'} recounted, every seal in place."
        )
    return faults, line, asdict(sums)


@contextmanager
def one_moment() -> Iterator[None]:
    """Read the whole book as it stands at one moment, while others go on writing, and without taking a turn."""
    if connection.in_atomic_block:
        yield
    elif connection.vendor == "postgresql":
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
            yield
    else:
        with connection.cursor() as cursor:
            cursor.execute("BEGIN DEFERRED")  # Django's own would be IMMEDIATE
            try:
                yield
            finally:
                cursor.execute("ROLLBACK")


def mend_guard() -> str:
    """Put missing triggers up again; return what was done."""
    gone = sorted(guard.missing())
    if not gone:
        return "The guard is complete. Nothing was changed."
    guard.install(connection)
    return f"Put up again: {', '.join(gone)}. Now run `ortet check`."
