"""A season's files: all or nothing, the same file twice changes nothing, every problem with its place and remedy."""

from datetime import UTC, datetime

import pytest

from ortet.ledger import rules
from ortet.ledger.models import (
    ClimateReading,
    Inspection,
    Kind,
    Load,
    Lot,
    MotherPlant,
    Movement,
    Place,
    Weighing,
)
from ortet.tables.columns import TABLES, template
from ortet.work.load import load
from ortet.work.moving import move
from ortet.work.plants import add_place

pytestmark = pytest.mark.django_db
AT = datetime(2027, 2, 1, tzinfo=UTC)

MOTHERS = b"accession,variety,species,site\nM-1,Dusk,blackcurrant,Hill\nM-2,Lantern,gooseberry,Hill\n"
LOTS = b"lot,accession,taken,count,length_mm,base_mm,tip_mm\nA1,M-1,2026-12-01,40,200,8,6\nA2,M-2,2026-12-02,25,180,7,5\n"
BAGS = (
    b"bag,lot,count,bagged,store,polymer,thickness_um,layers,width_mm,height_mm,closure\n"
    b"K1,A1,30,2026-12-03 10:00,North,LDPE,50,1,300,400,zip\n"
    b"K1,A2,20,2026-12-03 10:00,North,LDPE,50,1,300,400,zip\n"
    b"K2,A1,10,2026-12-03 10:30,North,LDPE,50,1,300,400,zip\n"
)
WEIGHINGS = b"bag,at,gross_g\nK1,2026-12-03 10:05,620\nK1,2027-01-04 09:00,611.5\n"
INSPECTIONS = b"bag,lot,at,sound,mouldy,free_water\nK1,A1,2027-01-04 09:00,29,1,droplets\n"
LOGGER = b"time,temperature (\xc2\xb0C),humidity (%)\n" + b"".join(
    f"2026-12-{3 + hour // 24:02}T{hour % 24:02}:00Z,{2 + hour % 3 / 10:.1f},85\n".encode()
    for hour in range(72)
)
SEASON = [
    ("inspections.csv", INSPECTIONS),
    ("north.csv", LOGGER),
    ("bags.csv", BAGS),
    ("weighings.csv", WEIGHINGS),
    ("lots.csv", LOTS),
    ("mothers.csv", MOTHERS),
]
MODELS = (MotherPlant, Lot, Place, Movement, Weighing, Inspection, ClimateReading, Load)


def counts() -> list[int]:
    return [model.objects.count() for model in MODELS]


def test_a_season_loads_in_any_order_and_the_account_holds(ada):
    loaded = load(SEASON, by=ada, at=AT)
    assert loaded.problems == []
    assert loaded.line == (
        "Loaded: 2 mother plants, 2 lots, 65 cuttings, 60 cuttings bagged, 2 bags, 2 weighings, 1 inspection, "
        "72 temperature readings."
    )
    assert rules.check() == []
    assert (rules.sums().taken, rules.sums().on_hand) == (65, 65)
    assert Place.objects.get(name="K1").balances.count() == 2


def test_the_same_files_twice_change_nothing(ada):
    load(SEASON, by=ada, at=AT)
    before = counts()
    again = load(SEASON, by=ada, at=AT)
    assert again.problems == []
    assert again.line == "Nothing new: all of it is in the book already."
    assert counts() == before


COUNTED = (
    b"bag,lot,at,callus,callused,callused_of,rooted,rooted_of\n"
    b"K1,A1,2027-01-05 09:00,2,12,20,,\nTub bench,A2,2027-01-06 09:00,,,,3,5\n"
)


def test_callus_and_roots_that_were_counted_load_from_a_bag_and_from_a_bench(ada):
    """As the inspect deed books them; the second row's five stand on a bench."""
    load(SEASON, by=ada, at=AT)
    add_place("Tub bench", Kind.BENCH)
    move("A2", 5, from_place="Bench", to_place="Tub bench", by=ada, at=datetime(2026, 12, 4, tzinfo=UTC))
    assert load([("counts.csv", COUNTED)], by=ada, at=AT).line == "Loaded: 2 inspections."
    one, two = Inspection.objects.exclude(callus=None, rooted_of=None).order_by("at")
    assert (one.callus, one.callused, one.callused_of, one.rooted_of) == (2, 12, 20, None)
    assert (two.place.name, two.rooted, two.rooted_of, two.callused) == ("Tub bench", 3, 5, None)
    assert load([("counts.csv", COUNTED)], by=ada, at=AT).line.startswith("Nothing new")
    other = load([("counts.csv", COUNTED.replace(b"12,20", b"13,20"))], by=ada, at=AT)
    assert "seen otherwise" in str(other.problems[0])
    more = load([("counts.csv", COUNTED.replace(b"3,5", b"3,6").replace(b"06 09", b"07 09"))], by=ada, at=AT)
    assert more.problems[0].line == 3 and "5 " in more.problems[0].message


def test_a_file_that_grew_adds_only_what_is_new(ada):
    load(SEASON, by=ada, at=AT)
    more = [
        ("weighings.csv", WEIGHINGS + b"K1,2027-01-20 09:00,609\n"),
        ("lots.csv", LOTS + b"A3,M-1,2026-12-05,7,200,8,6\n"),
        ("north.csv", LOGGER + b"2026-12-06T00:00:00Z,2.2,85\n"),
    ]
    loaded = load(more, by=ada, at=AT)
    assert loaded.line == "Loaded: 1 lot, 7 cuttings, 1 weighing, 1 temperature reading."
    assert rules.check() == []


def test_one_bad_row_and_nothing_is_loaded(ada):
    bad = LOTS.replace(b"2026-12-02,25", b"2026-12-02,twenty")
    loaded = load([("mothers.csv", MOTHERS), ("lots.csv", bad)], by=ada, at=AT)
    assert counts() == [0] * len(MODELS)
    assert loaded.line == "Nothing was loaded: 1 problem, listed above."
    assert str(loaded.problems[0]).startswith('lots.csv, row 3, "count": ')


def test_what_the_account_refuses_is_a_problem_with_its_row(ada):
    too_many = BAGS.replace(b"K2,A1,10", b"K2,A1,11")
    loaded = load([("mothers.csv", MOTHERS), ("lots.csv", LOTS), ("bags.csv", too_many)], by=ada, at=AT)
    assert counts() == [0] * len(MODELS)
    (problem,) = loaded.problems
    assert (problem.file, problem.line) == ("bags.csv", 4)
    assert "11 of lot" in problem.message
    assert "10 left in Bench" in problem.message


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("mothers.csv", MOTHERS.replace(b"Dusk", b"Dawn"), "in the book as"),
        ("lots.csv", LOTS.replace(b"2026-12-01,40", b"2026-12-01,41"), "40 cuttings taken"),
        ("bags.csv", BAGS.replace(b"K1,A1,30", b"K1,A1,29"), "with 30 of lot A1, not 29"),
        ("weighings.csv", WEIGHINGS.replace(b"620", b"621"), "620 g at that time"),
        ("inspections.csv", INSPECTIONS.replace(b"29,1", b"28,2"), "seen otherwise"),
        ("north.csv", LOGGER.replace(b"T05:00Z,2.2", b"T05:00Z,9.9"), "readings differ"),
    ],
)
def test_what_contradicts_the_book_is_refused(ada, name, data, words):
    load(SEASON, by=ada, at=AT)
    before = counts()
    loaded = load([(name, data)], by=ada, at=AT)
    assert words in str(loaded.problems[0])
    assert counts() == before


def test_a_record_must_belong_to_a_place(ada):
    load(SEASON, by=ada, at=AT)
    loaded = load([("readings.csv", LOGGER)], by=ada, at=AT)
    assert "which place" in str(loaded.problems[0])
    assert "North" in str(loaded.problems[0])
    assert load([("readings.csv", LOGGER)], by=ada, at=AT, place="Hill").problems == []


@pytest.mark.parametrize(
    "data", [b"", b"\x00\x01\x02\x03rubbish", b"who,what\n1,2\n", b"accession,variety,species\n"]
)
def test_rubbish_is_told_from_a_table(ada, data):
    loaded = load([("x.csv", data)], by=ada, at=AT)
    assert loaded.problems
    assert counts() == [0] * len(MODELS)


def test_the_templates_load_as_they_are(ada):
    files = [(f"{name}.csv", template(name).encode()) for name in TABLES]
    loaded = load(files, by=ada, at=AT)
    assert [str(problem) for problem in loaded.problems] == []
    assert rules.check() == []


def test_a_lot_may_be_named_by_a_code_of_ours(ada):
    from ortet.wood import code as codes

    code = codes.make(12345)
    data = LOTS.replace(b"A1,", codes.show(code).encode() + b",")
    assert load([("mothers.csv", MOTHERS), ("lots.csv", data)], by=ada, at=AT).problems == []
    assert Lot.objects.get(code=code).mark is None
