"""The recount: does the account hold?"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict

from django.db import connection, transaction

from ortet.ledger import guard, rules
from ortet.wood.speech import counted, say, say_many

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
                say("the whole book"),
                say(
                    "{count:,} were taken or received, but what is there and what ended differs",
                    count=sums.taken + sums.received,
                ),
            )
        )
    came = [say("{count:,} taken", count=sums.taken)]
    came += [say("{count:,} received", count=sums.received)] if sums.received else []
    there = [say("{count:,} on hand", count=sums.on_hand)]
    there += [say("{count:,} one with another by grafting", count=sums.joined)] if sums.joined else []
    there += [say("{count:,} sold", count=sums.sold)] if sums.sold else []
    there += [say("{count:,} given up", count=sums.given_up), say("{count:,} not found", count=sums.lost)]
    if faults:
        line = say_many(
            "The account does not hold: {count} fault, listed above.",
            "The account does not hold: {count} faults, listed above.",
            len(faults),
        )
    else:
        line = say(
            "The account holds: {came} = {there}. {movements:,} movements in {lots} recounted, every seal in place.",
            came=" + ".join(came),
            there=" + ".join(there),
            movements=sums.movements,
            lots=counted(sums.lots, "lot"),
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
        return say("The guard is complete. Nothing was changed.")
    guard.install(connection)
    return say("Put up again: {gone}. Now run `ortet check`.", gone=", ".join(gone))
