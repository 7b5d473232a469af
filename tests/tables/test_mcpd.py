"""Passport data against the standard that describes them.

Alercia, Diulgheroff & Mackay 2015, FAO/Bioversity Multi-Crop Passport Descriptors V.2.1 (MCPD). [published] Its fields, codes and
examples are tried in tests/outside; here what its rules allow and forbid. Where a rule is our own it says so.
"""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ortet.tables.kind import recognise
from ortet.tables.mcpd import BY_NAME, FIELDS, odd, read_passports, write_passports
from ortet.wood.countries import ALPHA_3

NAMES = [field.name for field in FIELDS]

# MCPD 2.1, its examples and codes. [published]
RIGHT = """
ACQDATE 20190312 | COLLDATE 197506-- | COLLDATE 1975---- | ACQDATE 19750000 | LATITUDE 103020S | LATITUDE 10----S
LATITUDE 011530N | LATITUDE 4531--S | LONGITUDE 0762510W | LONGITUDE 076----W | SAMPSTAT 300 | SAMPSTAT 416 | SAMPSTAT 500
SAMPSTAT 999 | COLLSRC 22 | COLLSRC 26 | COLLSRC 28 | COLLSRC 62 | STORAGE 20;30 | MLSSTAT 0 | MLSSTAT 1 | MLSSTAT 99
OTHERNUMB :EO 117 | OTHERNUMB PER001:A1;COL001:B2 | INSTCODE COL001 | ELEVATION -12 | ORIGCTY DEU
ACCENAME Rheinische Vorgebirgstrauben;Emma;Avlon | SPECIES sp. | GENUS Malus
"""
# What the same rules forbid; "a day without a month" is a stricter rule of ours. [published, our choice]
WRONG = """
ACQDATE 1975-06-12 | ACQDATE 199913-- | ACQDATE 1975--12 | ACQDATE 19750230 | LATITUDE 1030S | LATITUDE 910000N
LATITUDE 10--30S | LONGITUDE 762510W | LONGITUDE 1806000E | SAMPSTAT 150 | SAMPSTAT 700 | COLLSRC 29 | COLLSRC 31
STORAGE 20; 30 | STORAGE 15 | MLSSTAT 2 | OTHERNUMB EO 117 | OTHERNUMB PER001: A1 | INSTCODE P1 | ORIGCTY DE | ORIGCTY deu
SPECIES Domestica | GENUS malus | DECLATITUDE 91 | DECLATITUDE 4,5 | ELEVATION high | ACQDATE １９７５０１０１
"""
# The standard's field names over an invented accession: the row printed in our notes on the standard. [published form, own words]
ROW = (
    ",XYZ001,M-0042,,,,,,Malus,domestica,Borkh.,,,apple,Blauschwanz,20190312,DEU,,,,,,,,,,,,,300,,22,,"
    "Example Orchard Trust,EO 117,:EO 117,,,20,0,COLLSRC:old roadside orchard;ACCENAME:identity not yet confirmed"
)


def cases(table: str) -> list[tuple[str, str]]:
    return [
        tuple(one.strip().split(" ", 1)) for line in table.strip().splitlines() for one in line.split(" | ")
    ]


def read(*rows: str, header: str = ",".join(NAMES)):
    return read_passports("\r\n".join([header, *rows]).encode(), "collection.csv")


@pytest.mark.parametrize(("name", "text"), cases(RIGHT))
def test_what_the_standard_writes_is_right(name, text):
    assert BY_NAME[name].wrong(text) == ""


@pytest.mark.parametrize(("name", "text"), cases(WRONG))
def test_what_the_standard_forbids_is_wrong(name, text):
    assert BY_NAME[name].wrong(text)


def test_a_row_is_read_as_it_stands():
    seen = read(ROW)
    assert (seen.problems, seen.notes) == ([], [])
    assert seen.rows[0].said["OTHERNUMB"] == ":EO 117"
    assert list(seen.rows[0].said) == NAMES


def test_every_problem_names_its_row_and_field():
    header = "ACCENUMB,GENUS,COLLSRC,STORAGE"
    seen = read("M1,Malus,22,20", "M1,malus,29,20; 30", ",Malus,,", "M2,Malus", header=header)
    assert [(one.line, one.column) for one in seen.problems] == [
        (3, "ACCENUMB"), (3, "GENUS"), (3, "COLLSRC"), (3, "STORAGE"), (4, "ACCENUMB"), (5, None),
    ]  # fmt: skip


def test_a_file_without_its_columns_a_double_one_and_no_text_are_refused():
    assert [one.column for one in read("x", header="PUID").problems] == ["ACCENUMB", "GENUS"]
    assert "two columns" in str(read("a,b,c", header="ACCENUMB,GENUS,GENUS").problems[0])
    assert read_passports(b"", "x.csv").problems
    assert read_passports(b"ACCENUMB,GENUS\r\nM1,Ma" + b" " * 200_000 + b"\0lus", "x.csv").problems


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ({"COLLSRC": "99"}, "explain"),
        ({"STORAGE": "20;99", "REMARKS": "COLLSRC:hedge"}, "explain"),
        ({"REMARKS": "found in a hedge"}, "word for word"),
        ({"ORIGCTY": "YUG"}, "of today"),
        ({"DONORNAME": "A trust", "DONORCODE": "PER001"}, "without a code"),
        ({"ACCENAME": "Emma;avlon"}, "capital"),
        ({"SUBTAXA": "alba"}, "rank"),
    ],
)
def test_what_is_legal_and_odd_is_said(said, told):
    """MCPD 2.1: codes 99 and 999 are to be explained in REMARKS; names stand in where there is no code. [published]"""
    assert len(odd(said)) == 1
    assert told in odd(said)[0]


@pytest.mark.parametrize("country", ["BGR", "BHR", "GTM", "MAR", "SWZ", "VUT"])
def test_a_country_is_known_by_the_standards_letters(country):
    """ISO 3166-1 alpha-3 [published]: six where a library of holidays has letters of its own."""
    assert odd({"ORIGCTY": country}) == []


def test_the_countries_are_the_standards():
    """ISO 3166-1 has 249 codes assigned [memory]; the holidays library's, but for the six above and Kosovo's, are the same."""
    from holidays.registry import COUNTRIES as KEPT

    assert len(ALPHA_3) == 249
    theirs = {names[2] for names in KEPT.values()}
    assert ALPHA_3 - theirs == {"BGR", "BHR", "GTM", "MAR", "SWZ", "VUT"}
    assert theirs - ALPHA_3 == {"BAH", "BLG", "GUA", "MOR", "SZW", "VTU", "XKK"}


def test_one_accession_in_two_spellings_is_refused():
    assert [one.line for one in read("M1,Malus", "m1,Malus", header="ACCENUMB,GENUS").problems] == [3]


def test_a_cell_without_end_is_a_problem():
    seen = read("M1,Malus,a", f'M2,Malus,"{"x" * 200_000}', header="ACCENUMB,GENUS,COLLSITE")
    assert len(seen.problems) == 1
    assert "row 3 or after" in str(seen.problems[0])


def test_what_is_explained_is_not_odd():
    assert odd({"COLLSRC": "99", "REMARKS": "COLLSRC:washed up by the river"}) == []
    assert odd({"SUBTAXA": "var. nigra", "ORIGCTY": "DEU", "ACCENAME": "Emma"}) == []


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_a_file_is_known_by_its_header(delimiter):
    header = delimiter.join(NAMES)
    assert recognise(f"{header}\r\n".encode()) == "passports"
    assert recognise(b"accession,variety,species\r\n") == "mothers"


TEXTS = st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]), max_size=8)


@given(st.lists(st.fixed_dictionaries(dict.fromkeys(("COLLSITE", "ANCEST", "CURATOR"), TEXTS)), max_size=4))
def test_what_is_written_is_read_again(rows):
    rows = [{"ACCENUMB": f"M{n}", "GENUS": "Malus", **row} for n, row in enumerate(rows)]
    text = write_passports(rows)
    assert next(csv.reader(io.StringIO(text)))[:41] == NAMES
    back = read_passports(text.encode(), "x.csv")
    assert back.problems == []
    assert (
        [{name: one.said[name] for name in rows[0]} for one in back.rows] == rows if rows else not back.rows
    )
