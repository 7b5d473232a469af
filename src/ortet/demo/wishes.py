"""What is wanted in the demo season: buyers' orders, own targets, what mother plants and benches can do. All of it invented."""

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from itertools import groupby
from uuid import UUID, uuid5

from django.contrib.auth.models import User

from ortet.work.benches import set_up_bench
from ortet.work.nursery import plan_with
from ortet.work.orders import Line, cancel, limit, order, want
from ortet.work.plants import add_place

from .climate import local

__all__ = ["note_wishes"]

WISHES = UUID("6d8e0f52-9f53-4f0a-9a55-0f3c1c7a9b10")  # the ids of these deeds are made from their names

# Prices are in no money that exists. Last frost: the usual day for lowland central Europe [common practice].
RESTS_ON = {"country": "CZ", "last_frost": "05-15", "kwh_price": Decimal("0.29")}

# buyer, noted, country | variety, count, use, posted from, until | least, grades, price, priority, instead
ORDERED = """
Quern Lane allotments, 2026-11-08 18:20, CZ | Inkwell Lass, 12, rooting, 02-15, 03-20 | 1, -, 1.20, 3, -
Quern Lane allotments, 2026-11-08 18:20, CZ | Ember Latch, 10, rooting, 02-15, 03-20 | 1, -, 1.20, 3, Robin Thatch
Quern Lane allotments, 2026-11-08 18:20, CZ | Hobnail Green, 10, rooting, 02-15, 03-20 | 1, thick medium, 1.40, 3, -
Nine Rakes growers, 2026-11-21 09:05, CZ | Soot Lantern, 24, rooting, 02-22, 03-31 | 10, medium, 1.10, 2, Inkwell Lass; Brook Magpie
Nine Rakes growers, 2026-11-21 09:05, CZ | Brook Magpie, 30, rooting, 02-22, 03-31 | 10, -, 1.10, 2, -
Nine Rakes growers, 2026-11-21 09:05, CZ | Robin Thatch, 20, rooting, 02-22, 03-31 | 1, -, 1.10, 3, Ember Latch
Nine Rakes growers, 2026-11-21 09:05, CZ | Glass Thimble, 18, rooting, 02-22, 03-31 | 6, -, 1.50, 3, Milk Pennant
Cold Spoon orchard, 2026-11-29 20:40, AT | Brass Owl, 20, grafting, 03-01, 04-05 | 10, thin medium, 1.80, 2, -
Cold Spoon orchard, 2026-11-29 20:40, AT | Wool Lamp, 12, grafting, 03-01, 04-05 | 1, -, 1.80, 3, Brass Owl
Cold Spoon orchard, 2026-11-29 20:40, AT | Gilded Barrow, 15, rooting, 03-01, 04-05 | 1, -, 1.60, 3, Brass Owl
Gantry bee club, 2026-12-05 17:15, CZ | Ditch Umbel, 16, rooting, 02-22, 03-15 | 1, -, 1.30, 3, Owl Parasol; Plum Saucer
Gantry bee club, 2026-12-05 17:15, CZ | Owl Parasol, 12, rooting, 02-22, 03-15 | 1, -, 1.50, 3, -
Osk row vineyard, 2026-12-12 08:30, SK | Slate Finch, 40, rooting, 03-01, 04-10 | 20, thick medium, 1.50, 1, -
Osk row vineyard, 2026-12-12 08:30, SK | Slate Finch, 30, grafting, 03-01, 04-10 | 10, medium, 1.90, 1, -
Osk row vineyard, 2026-12-12 08:30, SK | Rook's Rosary, 16, rooting, 03-01, 04-10 | 8, -, 1.70, 3, Dusk Pergola
Hurdle House herb yard, 2026-12-18 11:50, CZ | Copper Bellows, 14, rooting, 03-08, 04-20 | 14, -, 2.60, 2, -
Hurdle House herb yard, 2026-12-18 11:50, CZ | Hearth Pennon, 8, rooting, 03-08, 04-20 | 1, -, 2.60, 3, Copper Bellows
Hurdle House herb yard, 2026-12-18 11:50, CZ | Silk Tinker, 6, rooting, 03-08, 04-20 | 1, -, 2.20, 3, Ink Saint
Saltmeadow tree swap, 2027-01-06 19:10, DE | Ink Saint, 12, rooting, 02-22, 03-25 | 1, -, 2.20, 3, -
Saltmeadow tree swap, 2027-01-06 19:10, DE | Cellar Wren, 15, rooting, 02-22, 03-25 | 1, -, 1.50, 4, Slate Finch
Saltmeadow tree swap, 2027-01-06 19:10, DE | Milk Pennant, 12, rooting, 02-22, 03-25 | 1, -, 1.50, 3, Glass Thimble
Moth Lamp tea garden, 2027-01-11 14:25, CZ | Amber Bodkin, 10, rooting, 02-15, 03-10 | 1, -, 1.40, 3, -
Moth Lamp tea garden, 2027-01-11 14:25, CZ | Pepper Hedge, 8, rooting, 02-15, 03-10 | 1, -, 1.40, 3, Amber Bodkin
Moth Lamp tea garden, 2027-01-11 14:25, CZ | Tarn Velvet, 10, rooting, 02-15, 03-10 | 1, -, 1.20, 4, -
Weir End school, 2027-01-15 10:00, CZ | Ember Latch, 30, rooting, 03-15, 04-15 | 1, -, 0.90, 5, Robin Thatch
Weir End school, 2027-01-15 10:00, CZ | Inkwell Lass, 30, rooting, 03-15, 04-15 | 1, -, 0.90, 5, Soot Lantern; Brook Magpie
Weir End school, 2027-01-15 10:00, CZ | Old Mittens, 20, rooting, 03-15, 04-15 | 1, -, 0.90, 5, -
Fennick potagers, 2027-01-19 21:35, AT | Glass Thimble, 15, rooting, 03-01, 03-31 | 1, -, 1.60, 3, -
Fennick potagers, 2027-01-19 21:35, AT | Milk Pennant, 10, rooting, 03-01, 03-31 | 1, medium, 1.60, 3, -
Fennick potagers, 2027-01-19 21:35, AT | Hobnail Green, 12, rooting, 03-01, 03-31 | 1, medium, 1.40, 3, Pepper Hedge
Peg Ladder orchard, 2027-01-25 07:55, CZ | Wool Lamp, 25, rooting, 02-22, 04-05 | 1, -, 1.50, 3, Brass Owl
Peg Ladder orchard, 2027-01-25 07:55, CZ | Brass Owl, 30, rooting, 02-22, 04-05 | 15, thick medium, 1.50, 2, -
Dunnock Bank, 2027-01-30 16:45, DE | Copper Bellows, 10, rooting, 03-15, 04-25 | 1, -, 2.60, 3, Hearth Pennon
Dunnock Bank, 2027-01-30 16:45, DE | Dusk Pergola, 24, rooting, 03-15, 04-25 | 1, -, 1.50, 3, -
Dunnock Bank, 2027-01-30 16:45, DE | Cellar Wren, 12, grafting, 03-15, 04-25 | 1, -, 1.90, 3, -
Three Gates hedgers, 2027-02-03 12:30, CZ | Ditch Umbel, 25, rooting, 03-01, 04-15 | 1, -, 1.10, 4, Plum Saucer
Three Gates hedgers, 2027-02-03 12:30, CZ | Plum Saucer, 10, rooting, 03-01, 04-15 | 1, -, 1.30, 3, -
Three Gates hedgers, 2027-02-03 12:30, CZ | Brook Magpie, 20, rooting, 03-01, 04-15 | 1, thin medium, 1.00, 4, -
Hollow Kettle, 2027-02-09 20:15, CZ | Robin Thatch, 25, rooting, 02-22, 03-20 | 1, medium, 1.20, 3, Ember Latch
Hollow Kettle, 2027-02-09 20:15, CZ | Soot Lantern, 15, rooting, 02-22, 03-20 | 1, -, 1.20, 3, -
Hollow Kettle, 2027-02-09 20:15, CZ | Rook's Rosary, 10, rooting, 02-22, 03-20 | 1, -, 1.70, 3, -
"""

# variety, how many, what for, by, what one is worth, priority, note
OWN = """
Inkwell Lass, 20, plants, 2027-05-20, 4.50, 3, to sell in pots
Soot Lantern, 12, plants, 2027-05-20, 4.50, 3, -
Slate Finch, 15, plants, 2027-06-01, 7.00, 2, second row of the south bank
Ditch Umbel, 10, plants, 2027-05-20, 5.00, 4, -
Glass Thimble, 6, plants, 2027-05-20, 5.50, 1, there is one mother plant only
Silk Tinker, 8, plants, 2027-06-01, 9.00, 2, -
Brass Owl, 12, grafts, 2027-04-20, 11.00, 2, on the stocks by the shed
Cellar Wren, 8, grafts, 2027-04-10, 12.00, 3, -
Ember Latch, 20, reserve, 2027-03-01, 1.20, 4, for those who ring in March
Hobnail Green, 10, reserve, 2027-03-01, 1.40, 4, -
Copper Bellows, 4, backup, 2027-04-15, 6.00, 1, if a hard winter comes
Ink Saint, 5, backup, 2027-04-15, 6.00, 1, the old tree leans
"""

# mother plant and the most it may give in one winter
LIMITS = """
C-01 70, C-03 60, C-05 80, C-07 60, R-01 60, R-02 60, R-03 55, R-05 30, R-06 24, G-01 30, G-05 44, G-06 20,
E-03 24, V-01 70, V-03 60, V-07 24, Q-01 60, Q-05 24, M-01 20, M-03 16, P-01 20, P-02 16
"""

# bench, cells, air [°C], what its mat holds [°C], heat it takes [W/K], free from, until
BENCHES = """
Heated table, 240, 12, 18 21 24, 14, 2027-02-15, 2027-06-15
Vine mat,     120, 12, 24 27,     8, 2027-02-22, 2027-06-15
Callus shelf,  90, 10, 21,        5, 2027-02-15, 2027-04-30
Cold frame,   400,  8, -,         0, 2027-02-20, 2027-09-30
"""

BEFORE = local("2026-10-20 19:30")  # the grower sat down before the first wood was cut
THOUGHT_BETTER = ("13/2", local("2027-02-10 08:10"))  # the hedgers rang: no plum saucers after all


def note_wishes(by: User, told: Callable[[int, int], None] = lambda done, total: None) -> None:
    """Note all that is wanted, each wish on its day."""
    plan_with(**RESTS_ON)
    for step, part in enumerate((_benches, _limits, _targets, _orders)):
        told(step, 4)
        part(by)
    what, at = THOUGHT_BETTER
    cancel(what, at=at)
    told(4, 4)


def _id(name: str) -> UUID:
    return uuid5(WISHES, name)


def _rows(table: str) -> list[list[str]]:
    """Return the cells of a table; a dash is an empty one."""
    lines = table.strip().splitlines()
    return [
        ["" if cell.strip() == "-" else cell.strip() for cell in line.replace("|", ",").split(",")]
        for line in lines
    ]


def _benches(by: User) -> None:
    for name, cells, air, heats, watts, first, last in _rows(BENCHES):
        add_place(name, "bench")
        set_up_bench(
            name,
            int(cells),
            by=by,
            at=BEFORE,
            air_c=float(air),
            heats=[float(degrees) for degrees in heats.split()],
            watts_per_k=float(watts),
            first_day=date.fromisoformat(first),
            last_day=date.fromisoformat(last),
            id=_id(name),
        )


def _limits(by: User) -> None:
    for accession, most in (pair.split() for pair in LIMITS.replace("\n", " ").split(",")):
        limit(accession, int(most), by=by, at=BEFORE, id=_id(accession))


def _targets(by: User) -> None:
    for variety, count, purpose, until, worth, priority, note in _rows(OWN):
        want(
            variety,
            int(count),
            by=by,
            at=BEFORE,
            purpose=purpose,
            priority=int(priority),
            worth=Decimal(worth),
            wanted_by=date.fromisoformat(until),
            note=note,
            id=_id(f"{purpose} {variety}"),
        )


def _line(row: list[str]) -> Line:
    variety, count, use, first, last, least, grades, price, priority, instead = row
    return Line(
        variety,
        int(count),
        date.fromisoformat(f"2027-{first}"),
        date.fromisoformat(f"2027-{last}"),
        use,
        int(least),
        tuple(grades.split()),
        Decimal(price),
        int(priority),
        tuple(name.strip() for name in instead.split(";") if name),
    )


def _orders(by: User) -> None:
    for (buyer, noted, country), rows in groupby(_rows(ORDERED), key=lambda row: tuple(row[:3])):
        lines = [_line(row[3:]) for row in rows]
        order(buyer, lines, by=by, at=local(noted), country=country, id=_id(buyer))
