"""Passport data, cell by cell, against the Multi-Crop Passport Descriptors V.2.1: fields, order, codes, examples."""

import csv
from pathlib import Path

import pytest

from ortet.tables.mcpd import BY_NAME, FIELDS, OTHERWISE, odd, read_passports, write_passports

VALUES = Path(__file__).with_name("values")


def rows(name: str) -> list[dict[str, str]]:
    lines = (VALUES / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


PRINTED, CODES = rows("mcpd_fields"), rows("mcpd_codes")
EXAMPLES = [(row["name"], text) for row in PRINTED for text in row["examples"].split(" | ") if text]


def test_the_fields_are_the_41_printed_in_their_order():
    assert len(PRINTED) == 41
    assert [(field.number, field.name) for field in FIELDS] == [
        (row["number"], row["name"]) for row in PRINTED
    ]
    assert next(csv.reader([write_passports([])])) == [row["name"] for row in PRINTED]


@pytest.mark.parametrize("row", PRINTED, ids=lambda row: row["name"])
def test_a_field_takes_several_values_where_the_standard_does(row):
    field = BY_NAME[row["name"]]
    assert field.is_list == (row["several"] == "yes")
    if field.is_list:
        assert field.wrong("20; 30") and field.wrong("20;;30")


@pytest.mark.parametrize("row", PRINTED, ids=lambda row: row["name"])
def test_a_name_beside_its_code_is_told_where_the_standard_wants_one_of_the_two(row):
    for code in ("COLLCODE", "BREDCODE", "DONORCODE", "DUPLSITE"):
        if row["name"] != code:
            told = odd({row["name"]: "Hill", code: "PER001"})
            assert any(code in one for one in told) == (row["for_want_of"] == code)


@pytest.mark.parametrize(("name", "text"), EXAMPLES)
def test_what_the_standard_gives_as_an_example_is_right(name, text):
    assert BY_NAME[name].wrong(text) == ""
    assert odd({name: text}) == []


def test_a_row_of_its_examples_comes_back_as_it_went():
    said = {"GENUS": "Malus"} | dict(reversed(EXAMPLES))
    back = read_passports(write_passports([said]).encode(), "x.csv")
    assert back.problems == [] and [*filter(None, back.rows[0].said.values())] == [
        said[field.name] for field in FIELDS if field.name in said
    ]


@pytest.mark.parametrize("name", ["SAMPSTAT", "COLLSRC", "STORAGE", "MLSSTAT"])
def test_the_codes_are_those_printed_and_no_others(name):
    printed = {row["code"] for row in CODES if row["name"] == name}
    taken = {str(code) for code in range(1100) if not BY_NAME[name].wrong(str(code))}
    assert taken == printed and OTHERWISE[name] in printed
    other = next(row["code"] for row in CODES if row["name"] == name and "REMARKS" in row["means"])
    assert OTHERWISE[name] == other and len(odd({name: other})) == 1


@pytest.mark.parametrize("text", ["spp.", "domest.", "aff."])
def test_sp_is_the_only_abbreviation_of_a_species(text):
    """Descriptor 6: only "sp." is allowed. [published] What came otherwise is taken as it is, and told. [our choice]"""
    assert BY_NAME["SPECIES"].wrong(text) == "" and len(odd({"SPECIES": text})) == 1
