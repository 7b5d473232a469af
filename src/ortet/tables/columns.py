"""The tables a grower may load, each column declared once: what it holds, an example, how it is read.

The template, the page in docs and the reader are all made from what stands here.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from ortet.science.bag import CLOSURES, PACKINGS, POLYMERS
from ortet.wood.speech import to_say

from .entry import Parse, amount, choice, count, moment, name, score, species_key, text
from .rows import BagRow, InspectionRow, LotRow, MotherRow, Row, WeighingRow
from .selling import BUYER_COLUMNS, ORDER_COLUMNS, BuyerRow, OrderRow

__all__ = ["BUYERS", "ORDERS", "TABLES", "Column", "Table", "describe", "template"]

MM_PER_INCH, UM_PER_MIL, G_PER_OUNCE = 25.4, 25.4, 28.349523125  # exact by definition


@dataclass(frozen=True, slots=True)
class Column:
    """One column: `default` stands where a cell is empty; `us`: another heading and its factor."""

    name: str
    help: str
    example: tuple[str, str]
    required: bool
    parse: Parse
    default: object = ""
    us: tuple[str, float] | None = None
    assumed: bool = False  # the default is a guess that the grower should hear of
    hour: int = 12  # for a moment: the hour taken where only the day is given


@dataclass(frozen=True, slots=True)
class Table:
    """One table: its columns, the dataclass of a row, and the columns that together may stand once."""

    name: str
    help: str
    columns: tuple[Column, ...]
    row: type[Row]
    key: tuple[str, ...]
    by_name: Mapping[str, Column] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(
            self,
            "by_name",
            MappingProxyType({column.name: column for column in self.columns}),
        )

    @property
    def required(self) -> tuple[str, ...]:
        """Names of the columns that every file must have."""
        return tuple(column.name for column in self.columns if column.required)


def _needs(name: str, help: str, example: tuple[str, str], parse: Parse, **more: object) -> Column:
    return Column(name, help, example, True, parse, None, **more)  # type: ignore[arg-type]


def _may(
    name: str,
    help: str,
    example: tuple[str, str],
    parse: Parse,
    default: object = "",
    **more: object,
) -> Column:
    return Column(name, help, example, False, parse, default, **more)  # type: ignore[arg-type]


def _length(
    name: str,
    help: str,
    example: tuple[str, str],
    default: float,
    most: float,
    **more: object,
) -> Column:
    us = (name.replace("_mm", "_in"), MM_PER_INCH)
    return _may(
        name,
        help,
        example,
        amount(0, most, "mm", above=True),
        default,
        us=us,
        assumed=True,
        **more,
    )


NOTE = _may("note", to_say("Anything worth keeping."), ("", ""), text)

MOTHERS = Table(
    "mothers",
    to_say("Mother plants: the plants that wood is taken from."),
    (
        _needs(
            "accession",
            to_say("Your number for the plant, each once."),
            ("M-001", "M-002"),
            name(40),
        ),
        _needs(
            "variety",
            to_say("Name of the variety, without quotation marks."),
            ("Larkfield Amber", "Duskwater"),
            name(120),
        ),
        _needs(
            "species",
            to_say("Kind of plant, in English or Latin: see below."),
            ("redcurrant", "elder"),
            species_key,
        ),
        _may("source", to_say("Where the plant came from."), ("own seedling", "gift"), name(200)),
        _may(
            "site",
            to_say("Name of the place where it grows, the one its weather record carries."),
            ("orchard", "hedge"),
            name(),
        ),
        _may("health", to_say("What is known of its health."), ("no signs seen", ""), name(200)),
        NOTE,
    ),
    MotherRow,
    ("accession",),
)

LOTS = Table(
    "lots",
    to_say("Lots: cuttings of one variety, taken from one mother plant, of one day and grade."),
    (
        _needs(
            "lot",
            to_say("Your own mark for the lot, or the code that Ortet gave it."),
            ("A1", "A2"),
            name(40),
        ),
        _needs(
            "accession",
            to_say("The mother plant it was taken from."),
            ("M-001", "M-002"),
            name(40),
        ),
        _needs(
            "taken",
            to_say("Day, or day and time, the wood was cut. A day alone counts from its first minute."),
            ("2026-11-24", "2026-11-24 14:20"),
            moment,
            hour=0,
        ),
        _needs("count", to_say("How many cuttings."), ("60", "25"), count(1)),
        _may(
            "use",
            to_say("rooting or grafting."),
            ("rooting", "grafting"),
            choice("rooting", "grafting"),
            "rooting",
        ),
        _may("grade", to_say("Your word for the grade."), ("thick", ""), name(20)),
        _length("length_mm", to_say("Usual length of a piece."), ("200", "180"), 200.0, 3000.0),
        _length("base_mm", to_say("Usual thickness at the base."), ("9", "7.5"), 8.0, 100.0),
        _length(
            "tip_mm",
            to_say("Usual thickness at the tip, no more than at the base."),
            ("7", "6"),
            6.0,
            100.0,
        ),
        _may("nodes", to_say("Usual number of nodes."), ("6", "5"), count(0, 200, 6), 0),
        NOTE,
    ),
    LotRow,
    ("lot",),
)

BAGS = Table(
    "bags",
    to_say(
        "Bags: which cuttings lie in which bag in which cold place. A bag of several lots has a row for each."
    ),
    (
        _needs("bag", to_say("What is written on the bag."), ("K-1", "K-1"), name()),
        _needs("lot", to_say("The lot."), ("A1", "A2"), name(40)),
        _needs(
            "count",
            to_say("How many cuttings of this lot in this bag."),
            ("60", "25"),
            count(1),
        ),
        _needs(
            "bagged",
            to_say("Day and time the bag was closed. A day alone counts as noon."),
            ("2026-11-24 16:00", "2026-11-24 16:00"),
            moment,
        ),
        _needs(
            "store",
            to_say("Name of the cold place, the one its logger record carries."),
            ("cellar fridge", "cellar fridge"),
            name(),
        ),
        _may(
            "polymer",
            f"Film: {', '.join(POLYMERS)}.",
            ("LDPE", "LDPE"),
            choice(*POLYMERS, pe="LDPE"),
            "LDPE",
            assumed=True,
        ),
        _may(
            "thickness_um",
            to_say("Thickness of one layer of film."),
            ("50", "50"),
            amount(0, 1000, "µm", above=True),
            50.0,
            us=("thickness_mil", UM_PER_MIL),
            assumed=True,
        ),
        _may(
            "layers",
            to_say("How many bags one in another."),
            ("2", "2"),
            count(1, 10, 2),
            1,
            assumed=True,
        ),
        _length("width_mm", to_say("Width of the bag laid flat."), ("300", "300"), 300.0, 3000.0),
        _length("height_mm", to_say("Height of the bag laid flat."), ("400", "400"), 400.0, 3000.0),
        _may(
            "closure",
            f"How it is closed: {', '.join(CLOSURES)}.",
            ("zip", "zip"),
            choice(
                *CLOSURES,
                folded="fold",
                knotted="knot",
                sealed="heat-seal",
                none="open",
            ),
            "fold",
            assumed=True,
        ),
        _may(
            "packing",
            f"What lies round the wood: {', '.join(PACKINGS)}.",
            ("none", "none"),
            choice(*PACKINGS, moss="moist moss", paper="damp paper", sawdust="moist sawdust"),
            "none",
        ),
        _may(
            "packing_water_g",
            to_say("Water held by the packing when the bag was closed."),
            ("", ""),
            amount(0, 50_000, "g"),
            0.0,
            us=("packing_water_oz", G_PER_OUNCE),
        ),
        _may(
            "tare_g",
            to_say("Weight of bag and packing without wood."),
            ("18.5", "18.5"),
            amount(0, 50_000, "g"),
            None,
            us=("tare_oz", G_PER_OUNCE),
        ),
        NOTE,
    ),
    BagRow,
    ("bag", "lot"),
)

WEIGHINGS = Table(
    "weighings",
    to_say("Weighings: a closed bag on the scale, with all that is in it."),
    (
        _needs("bag", to_say("What is written on the bag."), ("K-1", "K-1"), name()),
        _needs(
            "at",
            to_say("Day and time. A day alone counts as noon."),
            ("2026-11-24 16:10", "2026-12-08 09:30"),
            moment,
        ),
        _needs(
            "gross_g",
            to_say("What the scale showed."),
            ("912.5", "905.0"),
            amount(0, 200_000, "g", above=True),
            us=("gross_oz", G_PER_OUNCE),
        ),
        NOTE,
    ),
    WeighingRow,
    ("bag", "at"),
)

INSPECTIONS = Table(
    "inspections",
    to_say(
        "Inspections: what was seen of one lot in one bag, or on one bench. Leave empty what was not looked at."
    ),
    (
        _needs("bag", to_say("What is written on the bag; or the bench's name."), ("K-1", "K-1"), name()),
        _needs("lot", to_say("The lot looked at."), ("A1", "A2"), name(40)),
        _needs(
            "at",
            to_say("Day and time. A day alone counts as noon."),
            ("2026-12-08 09:40", "2026-12-08 09:45"),
            moment,
        ),
        _may("sound", to_say("How many were sound."), ("58", "25"), count(0), None),
        _may("mouldy", to_say("How many were mouldy."), ("2", "0"), count(0), None),
        _may("dry", to_say("How many were dry."), ("0", "0"), count(0), None),
        _may(
            "scratch_green",
            to_say("Scratch test: how many were green."),
            ("5", ""),
            count(0),
            None,
        ),
        _may("scratch_of", to_say("Scratch test: out of how many."), ("5", ""), count(1), None),
        _may(
            "callus",
            to_say("0 none, 1 first specks, 2 half the ring, 3 most of it, 4 full ring."),
            ("1", "0"),
            score(4),
            None,
        ),
        _may("callused", to_say("Cuttings with callus, however little."), ("12", ""), count(0), None),
        _may("callused_of", to_say("Callus: out of how many looked at."), ("20", ""), count(1), None),
        _may("rooted", to_say("Cuttings with a root to be seen."), ("", "3"), count(0), None),
        _may("rooted_of", to_say("Roots: out of how many looked at."), ("", "20"), count(1), None),
        _may(
            "free_water",
            to_say("Liquid water seen: none, droplets or pooled."),
            ("droplets", "none"),
            choice("none", "droplets", "pooled"),
        ),
        NOTE,
    ),
    InspectionRow,
    ("bag", "lot", "at"),
)

BUYERS = Table(
    "buyers",
    to_say("Buyers: who orders, and where they are reached. Note no more than you need."),
    tuple(
        Column(name, help, example, needed, parse, default)
        for name, help, example, parse, needed, default in BUYER_COLUMNS
    ),
    BuyerRow,
    ("buyer",),
)

ORDERS = Table(
    "orders",
    to_say("Orders: a row for each variety of each order."),
    tuple(
        Column(name, help, example, needed, parse, default)
        for name, help, example, parse, needed, default in ORDER_COLUMNS
    ),
    OrderRow,
    ("order", "position"),
)

TABLES: dict[str, Table] = {
    table.name: table for table in (MOTHERS, LOTS, BAGS, WEIGHINGS, INSPECTIONS, BUYERS, ORDERS)
}


def template(name: str, among: Mapping[str, Table] = TABLES) -> str:
    """Return a CSV (RFC 4180) with a table's header and two invented rows to write over."""
    if name not in among:
        raise KeyError(f"no table {name!r}. There are: {', '.join(among)}.")
    columns = among[name].columns
    out = io.StringIO(newline="")
    writer = csv.writer(out)  # RFC 4180: commas, quotes doubled, CRLF
    writer.writerow([column.name for column in columns])
    for row in (0, 1):
        writer.writerow([column.example[row] for column in columns])
    return out.getvalue()


def describe(name: str, among: Mapping[str, Table] = TABLES) -> str:
    """Return a table's columns as a table in Markdown, for the page in docs."""
    lines = ["| column | what it holds | example | when empty |", "| --- | --- | --- | --- |"]
    for column in among[name].columns:
        heading = f"`{column.name}`" + (f" or `{column.us[0]}`" if column.us else "")
        if column.required:
            empty = "must be given"
        elif column.default in ("", None):
            empty = "left open"
        else:
            default = f"{column.default:g}" if isinstance(column.default, float) else str(column.default)
            empty = f"{default} is assumed, and said" if column.assumed else default
        lines.append(f"| {heading} | {column.help} | {column.example[0]} | {empty} |")
    return "\n".join(lines) + "\n"
