"""Passport data of the collection: out by the standard, in again, and the same."""

import csv
import io
from datetime import UTC, datetime

import pytest

from ortet.ledger.models import MotherPlant, PassportData
from ortet.tables.mcpd import read_passports
from ortet.work import Refused, Unknown, add_mother
from ortet.work.load import load
from ortet.work.passports import collection, describe_passport, passport, passport_table
from tests.tables.test_mcpd import NAMES, ROW

pytestmark = pytest.mark.django_db

AT = datetime(2027, 2, 1, tzinfo=UTC)
HEADER = ",".join(NAMES)
COLLECTION = f"""{HEADER},CURATOR
{ROW},W. Fern
,,M-7,,,,,,Prunus,persica,(L.) Batsch,,,peach,Dawnpit;Old Dawn,1975----,,,,,,,,,,,,,,999,,99,,,,,,,30;20,,SAMPSTAT:a sport;COLLSRC:washed up by the river,
,,M-8,,,,,,Morus,alba,L.,var. multicaulis,,,Silk Road,,,"By the river, left",,,,,,,,,,,,,,,,,,,,,,,,
"""


def take(text: str, ada, name: str = "collection.csv"):
    return load([(name, text.encode())], by=ada, at=AT)


def test_a_collection_comes_in_and_goes_out_as_it_came(ada):
    loaded = take(COLLECTION, ada)
    assert loaded.problems == []
    assert loaded.line == "Loaded: 3 mother plants, 3 passports noted."
    assert {plant.accession: plant.variety.species for plant in MotherPlant.objects.all()} == {
        "M-0042": "apple", "M-7": "peach", "M-8": "mulberry",
    }  # fmt: skip
    came, went = read_passports(COLLECTION.encode(), "a"), read_passports(passport_table().encode(), "b")
    assert [row.said for row in went.rows] == [row.said for row in came.rows]
    assert passport("M-0042")["CURATOR"] == "W. Fern"


def test_the_same_again_in_another_order_changes_nothing(ada):
    take(COLLECTION, ada)
    before = collection()
    rows = list(csv.DictReader(io.StringIO(COLLECTION)))
    out = io.StringIO()
    writer = csv.DictWriter(out, list(rows[0]), delimiter="\t")
    writer.writeheader()
    writer.writerows(reversed(rows))
    assert take(out.getvalue(), ada, "again.tsv").line.startswith("Nothing new")
    assert collection() == before


def test_the_book_speaks_for_its_own_plants():
    add_mother(
        "A1", "Ribes nigrum 'Rook' KRÄHE", "blackcurrant", source="Example Trust; gate", note="private"
    )
    add_mother("A2", "Dusk", "mulberry", source="own cross of 2009")
    rook, dusk = collection()
    assert {name: text for name, text in rook.items() if text} == {
        "ACCENUMB": "A1", "GENUS": "Ribes", "SPECIES": "nigrum", "SPAUTHOR": "L.", "CROPNAME": "blackcurrant", "ACCENAME": "Rook",
        "DONORNAME": "Example Trust, gate", "STORAGE": "20", "REMARKS": "ACCENAME:selling name KRÄHE",
    }  # fmt: skip
    assert (dusk["SPECIES"], dusk["DONORNAME"], dusk["REMARKS"]) == ("sp.", "", "DONORNAME:own cross of 2009")
    assert read_passports(passport_table().encode(), "x").problems == []


def test_the_authority_goes_with_its_species(ada):
    row = "ACCENUMB,GENUS,SPECIES,ACCENAME\r\nA1,Malus,×robusta,Five\r\n"
    assert take(row, ada).problems == []
    assert passport("A1")["SPECIES"] == "×robusta"
    assert "SPAUTHOR" not in passport("A1")
    assert collection()[0]["SPAUTHOR"] == ""


@pytest.mark.parametrize(
    ("name", "kind"), [("Dusk; Dawn", "apple"), ("×Sorbopyrus 'Dusk'", "pear"), ("Prunus 'Dusk'", "plum")]
)
def test_what_the_book_writes_it_takes_again(name, kind, ada):
    add_mother("A1", name, kind)
    before = collection()
    assert take(passport_table(), ada).line.startswith("Nothing new")
    assert collection() == before


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ({"GENUS": "Prunus"}, "several kinds"),
        ({"SPECIES": "rubrum"}, "in the book as"),
        ({"ACCENAME": "Raven"}, "in the book as"),
    ],
)
def test_no_data_are_noted_that_speak_of_another_plant(said, told):
    add_mother("A1", "Rook", "blackcurrant")
    with pytest.raises(Refused, match=f"{told}.*Nothing was booked"):
        describe_passport("A1", said)
    assert not PassportData.objects.exists()


def test_a_known_plants_passport_is_added_to(ada):
    add_mother("A1", "Rook", "blackcurrant")
    describe_passport("A1", {"ORIGCTY": "CZE"})
    assert take("ACCENUMB,GENUS,SAMPSTAT\r\na1,Ribes,416\r\n", ada).line == "Loaded: 1 passport noted."
    assert (passport("A1")["SAMPSTAT"], passport("A1")["ORIGCTY"]) == ("416", "CZE")
    assert passport("A1")["ACCENAME"] == "Rook"


@pytest.mark.parametrize(
    ("row", "told"),
    [
        ("A1,Ribes,rubrum,Rook,300", "in the book as"),
        ("A1,Ribes,nigrum,Raven,300", "in the book as"),
        ("A2,Ribes,,Raven,300", "several kinds"),
        ("A2,Solanum,tuberosum,Emma,300", "not known"),
        ("A2,Ribes,nigrum,,300", "ACCENAME is empty"),
        ("A2,Ribes,nigrum,Raven,150", "no code"),
        (f"A2,Ribes,nigrum,{'R' * 121},300", "120 at most"),
        (f"{'A' * 41},Ribes,nigrum,Raven,300", "40 at most"),
    ],
)
def test_one_bad_row_keeps_the_whole_file_out(row, told, ada):
    add_mother("A1", "Rook", "blackcurrant")
    loaded = take(
        f"ACCENUMB,GENUS,SPECIES,ACCENAME,SAMPSTAT\r\nA0,Malus,domestica,Emma,300\r\n{row}\r\n", ada
    )
    assert [one.line for one in loaded.problems] == [3]
    assert told in str(loaded.problems[0])
    assert MotherPlant.objects.count() == 1
    assert not PassportData.objects.exists()


def test_what_is_noted_is_checked_and_can_be_taken_out():
    add_mother("A1", "Rook", "blackcurrant")
    assert describe_passport("A1", {"collsrc": "99", "STORAGE": "20"})[0].startswith("COLLSRC 99")
    assert PassportData.objects.get().said == {"COLLSRC": "99"}
    for said, told in (
        ({"ACCENUMB": "B1"}, "stays"), ({"COLOUR": "black"}, "no field"), ({"ACQDATE": "12.3.2019"}, "YYYYMMDD"),
    ):  # fmt: skip
        with pytest.raises(Refused, match=told):
            describe_passport("A1", said)
    with pytest.raises(Unknown):
        describe_passport("Z9", {"COLLSRC": "22"})
    describe_passport("A1", {"COLLSRC": ""})
    assert PassportData.objects.get().said == {}
