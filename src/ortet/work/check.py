"""The recount: does the account hold?"""

from dataclasses import asdict

from django.db import connection

from ortet.ledger import guard, rules

__all__ = ["check", "mend_guard"]


def check() -> tuple[list[rules.Fault], str, dict[str, int]]:
    """Recount the book from its movements alone; return the faults, one line that sums it up, and the sums."""
    faults, sums = rules.check(), rules.sums()
    if not sums.holds:
        faults.append(
            rules.Fault(
                "the whole book", f"{sums.taken} were taken, but what is there and what ended differs"
            )
        )
    places = f"{sums.on_hand} on hand + {sums.given_up} given up + {sums.lost} not found"
    if faults:
        line = f"The account does not hold: {len(faults)} {'fault' if len(faults) == 1 else 'faults'}, listed above."
    else:
        line = (
            f"The account holds: {sums.taken} taken = {places}. "
            f"{sums.movements} movements of {sums.lots} lots recounted, every seal in place."
        )
    return faults, line, asdict(sums)


def mend_guard() -> str:
    """Put missing triggers up again; return what was done."""
    gone = sorted(guard.missing())
    if not gone:
        return "The guard is complete. Nothing was changed."
    guard.install(connection)
    return f"Put up again: {', '.join(gone)}. Now run `ortet check`."
