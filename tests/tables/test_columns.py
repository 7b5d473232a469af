"""The declared columns, their templates and the page made from them."""

import csv
import io
from dataclasses import fields
from pathlib import Path

import pytest

from ortet.science.bag import CLOSURES, PACKINGS, POLYMERS
from ortet.science.species import known_species
from ortet.tables.columns import TABLES, describe, template
from ortet.tables.read import read_table

DOCS = Path(__file__).parents[2] / "docs" / "how" / "load.md"


@pytest.mark.parametrize("name", TABLES)
def test_a_template_is_rfc_4180_and_loads_as_it_is(name):
    """RFC 4180, 2: CRLF ends each record, all records as wide as the header."""
    made = template(name)
    assert made.endswith("\r\n") and "\n" not in made.replace("\r\n", "")
    assert {len(row) for row in csv.reader(io.StringIO(made, newline=""))} == {len(TABLES[name].columns)}
    read = read_table(made.encode(), f"{name}.csv", zone="America/Los_Angeles")
    assert (read.table, read.problems, len(read.rows)) == (TABLES[name], [], 2)


@pytest.mark.parametrize("name", TABLES)
def test_a_row_has_a_field_for_each_column(name):
    table = TABLES[name]
    assert [f.name for f in fields(table.row)] == ["line", *(column.name for column in table.columns)]
    assert set(table.key) <= set(table.required)


@pytest.mark.parametrize("name", TABLES)
def test_docs_list_every_column_as_declared(name):
    assert describe(name) in DOCS.read_text(encoding="utf-8"), (
        "write describe(name) into docs/how/load.md again"
    )


def test_docs_list_every_species():
    assert ", ".join(known_species()) in DOCS.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("column", "words"), [("polymer", POLYMERS), ("closure", CLOSURES), ("packing", PACKINGS)]
)
def test_bags_take_every_word_the_bag_model_knows(column, words):
    parse = TABLES["bags"].by_name[column].parse
    assert [parse(word.upper(), False) for word in words] == list(words)


def test_an_unknown_template_lists_those_there_are():
    with pytest.raises(KeyError, match="mothers, lots, bags"):
        template("plants")
