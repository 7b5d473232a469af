"""The winter before the demo season, typed in from the grower's notebook: what was struck, what came of it, who has it.

All of it invented: the shares that rooted are what somebody might have met, not what anybody measured.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import groupby
from random import Random

from django.contrib.auth.models import User

from ortet import work
from ortet.ledger.booking import drawn_from
from ortet.work.trials import Wanted, design_trial, strike_trial

from .climate import BARN, local
from .plants import MOTHERS, SITE
from .wood import SIZES

__all__ = ["type_in"]

SEED = 2526  # of the codes these lots carry
GROUND = "Tunnel"
MEDIUM = "sand and bark, half and half"
# of the trial's plots, in their order, by treatment: rooted of five
ROOTED_OF_FIVE = {"none": (3, 2, 3, 3, 2, 4), "K-IBA 2,500 mg/L, 5 s": (4, 4, 5, 3, 4, 5)}
KINDS = {mother.accession: mother.species for mother in MOTHERS}
STOCKS = "S-01"  # a row of rootstocks by the shed

# mark, mother plant, taken, count, grade
TAKEN = """
25-001 C-01 2025-11-25 10:17 40 medium
25-002 C-03 2025-11-25 11:34 30 medium
25-003 C-05 2025-11-26 12:51 44 medium
25-004 C-07 2025-11-26 09:08 20 thin
25-005 R-01 2025-11-18 10:25 36 thick
25-006 R-03 2025-11-18 11:42 30 medium
25-007 R-05 2025-11-18 12:59 18 medium
25-008 R-06 2025-11-19 09:16 16 thin
25-009 G-01 2025-11-11 10:33 40 medium
25-010 G-03 2025-11-11 11:50 28 thin
25-011 G-05 2025-11-12 12:07 24 medium
25-012 G-06 2025-11-12 09:24 12 thin
25-013 E-01 2025-12-17 10:41 30 thick
25-014 E-03 2025-12-17 11:58 16 medium
25-015 V-01 2025-12-10 12:15 60 thick
25-016 V-03 2025-12-10 09:32 44 medium
25-017 V-05 2025-12-11 10:49 30 medium
25-018 V-07 2025-12-11 11:06 22 thin
25-019 Q-01 2025-12-16 12:23 48 medium
25-020 Q-03 2025-12-16 09:40 36 medium
25-021 Q-05 2025-12-16 10:57 14 thin
25-022 M-01 2025-12-02 11:14 20 medium
25-023 M-03 2025-12-02 12:31 24 medium
25-024 P-01 2025-12-03 09:48 22 medium
25-025 P-02 2025-12-03 10:05 12 thin
"""

# batch, lot, how many, bench, tray, base [°C], treatment, wounded, struck; then day: rooted, callus only, leaves only, dead
STRUCK = """
S1 | 25-001 | 40 | Cold frame | T01 | - | - | - | 02-28 | 04-25:26,10,1,0 05-23:36,2,1,0 06-20:39,0,0,1
S2 | 25-002 | 30 | Cold frame | T02 | - | - | - | 02-28 | 04-25:18,8,1,0 05-23:28,0,0,1 06-20:28,0,0,2
S3 | 25-003 | 24 | Cold frame | T03 | - | - | - | 02-28 | 04-25:18,4,1,0 05-23:23,0,0,0 06-20:24,0,0,0
S4 | 25-003 | 20 | Heated table | T04 | 18 | - | - | 03-02 | 04-06:14,4,1,0 05-04:18,0,0,1 06-01:18,0,0,2
S5 | 25-004 | 20 | Cold frame | T05 | - | - | - | 03-01 | 04-26:9,8,1,0 05-24:14,2,1,2 06-21:15,0,0,4
S6 | 25-005 | 36 | Cold frame | T06 | - | - | - | 02-28 | 04-25:4,22,3,1 05-23:19,4,3,7 06-20:22,0,0,13
S7 | 25-006 | 16 | Cold frame | T07 | - | - | - | 02-28 | 04-25:6,7,1,0 05-23:8,2,2,2 06-20:12,0,0,4
S8 | 25-006 | 14 | Heated table | T08 | 18 | K-IBA 1,000 mg/L, 5 s | - | 03-02 | 04-06:4,7,1,0 05-04:13,0,0,0 06-01:13,0,0,1
S9 | 25-007 | 18 | Heated table | T09 | 18 | - | - | 03-02 | 04-06:7,8,1,0 05-04:13,1,1,2 06-01:15,0,0,3
S10 | 25-008 | 16 | Heated table | T10 | 18 | - | - | 03-02 | 04-06:4,8,1,1 05-04:10,1,1,3 06-01:10,0,0,5
S11 | 25-009 | 20 | Cold frame | T11 | - | - | - | 02-21 | 04-18:0,13,2,1 05-16:6,4,3,4 06-13:13,0,0,6
S12 | 25-009 | 20 | Heated table | T12 | 18 | K-IBA 1,000 mg/L, 5 s | - | 03-02 | 04-06:0,14,2,0 05-04:15,2,1,1 06-01:18,0,0,2
S13 | 25-010 | 14 | Cold frame | T13 | - | - | - | 02-21 | 04-18:1,8,1,1 05-16:1,3,2,6 06-13:3,0,0,10
S14 | 25-010 | 14 | Heated table | T14 | 18 | K-IBA 1,000 mg/L, 5 s | - | 03-02 | 04-06:1,9,1,0 05-04:9,1,1,2 06-01:10,0,0,4
S15 | 25-011 | 24 | Heated table | T15 | 18 | K-IBA 1,000 mg/L, 5 s | - | 03-02 | 04-06:4,14,2,0 05-04:13,4,3,2 06-01:19,0,0,4
S16 | 25-012 | 12 | Cold frame | T16 | - | - | - | 02-21 | 04-18:0,8,1,1 05-16:3,2,2,4 06-13:4,0,0,7
S17 | 25-013 | 30 | Cold frame | T17 | - | - | - | 03-01 | 04-26:18,8,1,1 05-24:23,1,1,4 06-21:23,0,0,6
S18 | 25-014 | 16 | Heated table | T18 | 18 | - | - | 03-03 | 04-07:6,7,1,0 05-05:14,0,0,1 06-02:14,0,0,2
S19 | 25-015 | 30 | Vine mat | T19 | 27 | K-IBA 2,500 mg/L, 5 s | - | 03-09 | 04-13:26,3,0,0 05-11:26,1,1,2 06-08:26,0,0,4
S20 | 25-015 | 30 | Vine mat | T20 | 24 | - | - | 03-09 | 04-13:26,3,0,0 05-11:26,1,1,2 06-08:26,0,0,4
S21 | 25-016 | 22 | Vine mat | T21 | 27 | K-IBA 2,500 mg/L, 5 s | - | 03-09 | 04-13:16,4,0,1 05-11:16,1,1,3 06-08:16,0,0,5
S22 | 25-016 | 22 | Cold frame | T22 | - | - | - | 03-10 | 05-05:9,8,1,1 06-02:12,2,2,4 06-30:13,0,0,8
S23 | 25-017 | 30 | Vine mat | T23 | 24 | K-IBA 2,500 mg/L, 5 s | - | 03-09 | 04-13:26,3,0,0 05-11:26,1,1,2 06-08:26,0,0,4
S24 | 25-018 | 22 | Vine mat | T24 | 24 | K-IBA 2,500 mg/L, 5 s | - | 03-10 | 04-14:9,8,1,1 05-12:9,3,2,6 06-09:9,0,0,12
S25 | 25-019 | 24 | Heated table | T25 | 21 | K-IBA 2,500 mg/L, 5 s | wounded | 03-04 | 04-08:3,14,2,1 05-06:15,2,2,4 06-03:15,0,0,8
S26 | 25-019 | 24 | Heated table | T26 | 21 | - | - | 03-04 | 04-08:2,15,2,1 05-06:8,4,3,6 06-03:12,0,0,11
S27 | 25-020 | 20 | Heated table | T27 | 21 | K-IBA 2,500 mg/L, 5 s | wounded | 03-04 | 04-08:1,13,2,1 05-06:12,2,1,4 06-03:13,0,0,6
S28 | 25-020 | 16 | Cold frame | T28 | - | - | - | 03-05 | 04-30:1,10,1,1 05-28:4,3,2,4 06-25:7,0,0,8
S29 | 25-021 | 14 | Heated table | T29 | 21 | K-IBA 2,500 mg/L, 5 s | - | 03-04 | 04-08:2,8,1,0 05-06:8,2,1,2 06-03:9,0,0,4
S30 | 25-022 | 20 | Heated table | T30 | 24 | K-IBA 5,000 mg/L, 5 s | wounded | 03-05 | 04-09:5,10,1,1 05-07:6,3,2,7 06-04:6,0,0,13
S31 | 25-023 | 12 | Heated table | T31 | 24 | K-IBA 5,000 mg/L, 5 s | wounded | 03-05 | 04-09:2,6,1,1 05-07:5,1,1,4 06-04:5,0,0,6
S32 | 25-023 | 12 | Heated table | T32 | 24 | - | - | 03-05 | 04-09:2,6,1,1 05-07:3,2,2,4 06-04:4,0,0,7
S33 | 25-024 | 22 | Heated table | T33 | 24 | K-IBA 1,000 mg/L, 5 s | - | 03-06 | 04-10:14,5,1,1 05-08:16,1,1,3 06-05:16,0,0,5
S34 | 25-025 | 12 | Heated table | T34 | 24 | K-IBA 1,000 mg/L, 5 s | - | 03-06 | 04-10:6,4,1,0 05-08:7,1,1,2 06-05:7,0,0,4
"""

# lot, sold on, how many, to whom, price of one
SOLD = """
25-001, 2026-09-19 10:10, 12, Quern Lane allotments, 4.50
25-001, 2026-10-03 09:30, 10, Weir End school, 3.80
25-002, 2026-09-19 10:20, 14, Nine Rakes growers, 4.20
25-003, 2026-09-26 14:00, 20, Nine Rakes growers, 4.20
25-003, 2026-10-03 09:35, 12, Three Gates hedgers, 4.00
25-005, 2026-09-19 10:30, 15, Hollow Kettle, 4.50
25-006, 2026-10-10 11:15, 18, Fennick potagers, 4.80
25-009, 2026-09-26 14:20, 16, Moth Lamp tea garden, 5.00
25-011, 2026-10-10 11:30, 12, Dunnock Bank, 5.00
25-013, 2026-10-17 13:00, 20, Gantry bee club, 5.20
25-015, 2026-10-17 13:40, 36, Osk row vineyard, 6.50
25-016, 2026-10-24 09:00, 18, Saltmeadow tree swap, 6.50
25-017, 2026-10-24 09:10, 16, Dunnock Bank, 6.50
25-019, 2026-11-07 10:00, 20, Peg Ladder orchard, 7.00
25-020, 2026-11-07 10:15, 12, Cold Spoon orchard, 7.00
25-022, 2026-11-14 15:20, 4, Hurdle House herb yard, 9.50
25-024, 2026-11-14 15:30, 10, Hurdle House herb yard, 9.00
25-028, 2026-11-07 10:30, 6, Cold Spoon orchard, 16.00
"""

# Nobody lives at these addresses: the places are invented, and the mail ends in .example (RFC 2606).
LIVE = """
Quern Lane allotments | Plot 7, Quern Lane, Ebbenau | quern@allotments.example
Weir End school | 2 Weir End, Ebbenau | garden@weirend.example
Nine Rakes growers | Nine Rakes Farm, Osterholt | hello@ninerakes.example
Three Gates hedgers | Three Gates, Lower Sedge | post@threegates.example
Hollow Kettle | 11 Kettle Row, Lower Sedge | -
Fennick potagers | Fennick 40, Sankt Ruprecht in der Au | beet@fennick.example
Moth Lamp tea garden | 3 Lamp Street, Tibb | tea@mothlamp.example
Dunnock Bank | Dunnock Bank 1, Aldermoor | bank@dunnock.example
Gantry bee club | The Gantry, Osterholt | bees@gantry.example
Osk row vineyard | Osk Row, Unterleiten | wine@oskrow.example
Saltmeadow tree swap | Saltmeadow Hall, Norderkoog | swap@saltmeadow.example
Peg Ladder orchard | Peg Ladder, Ebbenau | apples@pegladder.example
Cold Spoon orchard | Spoonhill 9, Altspoon | fruit@coldspoon.example
Hurdle House herb yard | Hurdle House, Tibb | -
"""


def _rows(table: str, mark: str) -> Iterator[list[str]]:
    """Return the cells of a table; a dash is an empty one."""
    for line in table.strip().splitlines():
        yield ["" if cell.strip() == "-" else cell.strip() for cell in line.split(mark)]


@dataclass(frozen=True, slots=True)
class _Counted:
    at: datetime
    rooted: int
    callused: int
    leafed: int
    dead: int


def _counted(text: str) -> list[_Counted]:
    found = []
    for part in text.split():
        day, _, numbers = part.partition(":")
        found.append(_Counted(local(f"2026-{day} 09:00"), *map(int, numbers.split(","))))
    return found


def type_in(by: User, told: Callable[[int, int], None] = lambda done, total: None) -> None:
    """Book the winter before: what was taken, struck, grafted, counted, potted on and sold."""
    steps = (_taken, _struck, _tried, _grafted, _sold, _addresses)
    with drawn_from(Random(SEED)):
        for number, step in enumerate(steps):
            told(number, len(steps))
            step(by)
    told(len(steps), len(steps))


def _taken(by: User) -> None:
    """Take the wood, and put what was cut on one day in one bag."""
    rows = [line.split() for line in TAKEN.strip().splitlines()]
    for number, (day, lots) in enumerate(groupby(rows, key=lambda row: row[2]), 1):
        marks = []
        for mark, accession, _, clock, count, grade in lots:
            length, base, tip, nodes = SIZES[grade][KINDS[accession]]
            work.take(
                accession,
                int(count),
                mark=mark,
                grade=grade,
                length_mm=length,
                base_mm=base,
                tip_mm=tip,
                nodes=nodes,
                by=by,
                at=local(f"{day} {clock}"),
            )
            marks.append(mark)
        work.bag(
            [(mark, None, None) for mark in marks],
            store=BARN,
            name=f"25-{number}",
            by=by,
            at=local(f"{day} 15:30"),
        )


def _struck(by: User) -> None:
    """Strike each batch, count it three times, pot on what rooted and give up the rest."""
    work.add_place(GROUND, "ground")
    for name, lot, count, bench, tray, base, treatment, wounded, day, counts in _rows(STRUCK, "|"):
        work.strike(
            lot,
            int(count),
            bench=bench,
            name=name,
            tray=tray,
            medium=MEDIUM,
            treatment=treatment,
            wounded=bool(wounded),
            base_c=float(base) if base else None,
            by=by,
            at=local(f"2026-{day} 10:00"),
        )
        _grown(name, lot, int(count), _counted(counts), by)


def _grown(name: str, lot: str, count: int, counts: list[_Counted], by: User) -> None:
    for one in counts:
        work.count(
            name,
            rooted=one.rooted,
            callused=one.callused,
            leafed=one.leafed,
            dead=one.dead,
            by=by,
            at=one.at,
        )
    last = counts[-1]
    if last.rooted:
        work.pot_on(name, last.rooted, to=GROUND, by=by, at=last.at + timedelta(hours=2))
    if last.rooted < count:
        work.give_up(lot, None, from_place=name, note="no roots", by=by, at=last.at + timedelta(hours=3))


def _tried(by: User) -> None:
    """Lay out a trial of a dip on a vine, strike it, count it once, pot on what rooted and give up the rest."""
    length, base, tip, nodes = SIZES["medium"]["grape"]
    piece = {"length_mm": length, "base_mm": base, "tip_mm": tip, "nodes": nodes}
    work.take("V-06", 60, mark="25-029", grade="medium", by=by, at=local("2025-12-11 13:30"), **piece)
    work.bag([("25-029", 60, None)], store=BARN, name="25-T", by=by, at=local("2025-12-11 15:40"))
    ways = Wanted(
        treatments=tuple(ROOTED_OF_FIVE),
        varieties=("Dusk Pergola",),
        rows=4,
        columns=15,
        plot_cuttings=5,
        blocks=6,
        seed=SEED,
    )
    question = "Does the dip pay on Dusk Pergola, which roots well enough without?"
    trial = design_trial("Dip on a vine", question, ways, by=by, at=local("2026-02-27 19:00"))
    plots = strike_trial(
        trial.number,
        ["25-029"],
        bench="Vine mat",
        base_c=24,
        medium=MEDIUM,
        by=by,
        at=local("2026-03-11 09:00"),
    )
    left = {treatment: list(counts) for treatment, counts in ROOTED_OF_FIVE.items()}
    counted = local("2026-06-10 09:00")
    for batch in plots:
        name, rooted = batch.place.name, left[batch.treatment].pop(0)
        work.count(name, rooted=rooted, dead=5 - rooted, by=by, at=counted)
        work.pot_on(name, rooted, to=GROUND, by=by, at=counted + timedelta(hours=2))
        if rooted < 5:
            work.give_up(
                "25-029", None, from_place=name, note="no roots", by=by, at=counted + timedelta(hours=3)
            )


def _grafted(by: User) -> None:
    """Graft quince on its own rootstocks: one batch, on the callus shelf."""
    work.add_mother(
        STOCKS, "Pond Row", "quince", site=SITE, source="layered row by the shed", note="rootstock"
    )
    piece = {"length_mm": 300, "base_mm": 9, "tip_mm": 7.2, "nodes": 5}
    work.take(STOCKS, 20, mark="25-026", grade="rooted layer", by=by, at=local("2026-02-24 09:00"), **piece)
    thin = {"length_mm": 120, "base_mm": 7.5, "tip_mm": 6.5, "nodes": 3}
    work.take(
        "Q-01", 16, use="grafting", mark="25-027", grade="thin", by=by, at=local("2026-01-20 10:00"), **thin
    )
    work.bag([("25-027", 16, None)], store=BARN, name="25-G", by=by, at=local("2026-01-20 15:00"))
    day = local("2026-02-24 13:00")
    work.graft(
        "25-027", "25-026", 14, bench="Callus shelf", name="G1", mark="25-028", base_c=21, by=by, at=day
    )
    work.count("G1", rooted=6, callused=7, dead=1, by=by, at=local("2026-03-31 09:00"))
    work.count("G1", rooted=11, dead=3, by=by, at=local("2026-05-05 09:00"))
    work.pot_on("G1", 11, to=GROUND, by=by, at=local("2026-05-05 11:00"))
    work.give_up(
        "25-028", None, from_place="G1", note="union did not heal", by=by, at=local("2026-05-05 12:00")
    )
    work.give_up("25-027", None, note="not needed", by=by, at=local("2026-05-05 12:10"))
    work.give_up("25-026", None, note="planted out by the pond", by=by, at=local("2026-05-05 12:20"))


def _sold(by: User) -> None:
    for lot, when, count, buyer, price in _rows(SOLD, ","):
        work.sell(lot, int(count), buyer=buyer, price=Decimal(price), by=by, at=local(when))


def _addresses(_: User) -> None:
    for name, address, email in _rows(LIVE, "|"):
        work.buyer(name, address=address, email=email)
