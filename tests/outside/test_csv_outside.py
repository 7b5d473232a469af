"""Every writer of CSV against the grammar that RFC 4180 prints, read by that grammar and by a library that wrote none of it."""

import io
import re

import pandas
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ortet.tables.columns import TABLES, template
from ortet.tables.mcpd import BY_NAME, write_passports
from ortet.tables.out import as_csv
from ortet.tables.package import Column, Table, write_rows
from ortet.tables.shoots import CUTTING

# RFC 4180, section 2, the ABNF; a letter beyond ASCII is a letter too (RFC 7111, 5.1: text/csv in UTF-8). [published]
FIELD = r'"(?:[^"]|"")*"|[^",\r\n]*'
ENDED = re.compile(rf"({FIELD})(,|\r\n)")


def records(text: str) -> list[list[str]]:
    """Return the records of a file; every one ends in CR LF. Raise ValueError where the grammar has no way on."""
    found, record, at = [], [], 0
    while at < len(text):
        one = ENDED.match(text, at)
        if one is None:
            raise ValueError(f"at {at}: {text[at : at + 20]!r}")
        cell, end = one.groups()
        record.append(cell[1:-1].replace('""', '"') if cell.startswith('"') else cell)
        if end == "\r\n":
            found.append(record)
            record = []
        at = one.end()
    if record:
        raise ValueError("the last record has no end")
    return found


CELLS = st.text(st.one_of(st.sampled_from("\",;\r\n\t '=+-@é"), st.characters(codec="utf-8")), max_size=12)
ROWS = st.lists(st.tuples(CELLS, CELLS, CELLS), max_size=5)


@pytest.mark.parametrize("bad", ["a,b\n", 'a "b"\r\n', '"a"b\r\n', "a,b", '"a\r\n', "a\rb\r\n"])
def test_the_grammar_refuses_what_is_none(bad):
    with pytest.raises(ValueError, match=r"at \d|no end"):
        records(bad)


@given(ROWS)
def test_a_list_is_a_file_by_the_grammar_and_keeps_every_word(rows):
    """No cell begins as a formula does: one that would is led in by an apostrophe. [common practice]"""
    made = records(as_csv(("a", "b", "c"), rows))
    assert made[0] == ["a", "b", "c"] and len(made) == len(rows) + 1
    for cells, row in zip(made[1:], rows, strict=True):
        for cell, said in zip(cells, row, strict=True):
            assert cell == (f"'{said}" if said.startswith(("=", "+", "-", "@", "\t", "\r")) else said)


@given(ROWS)
def test_a_table_of_the_archive_is_a_file_by_the_grammar(rows):
    table = Table("t", tuple(Column(name, "string") for name in "abc"), ("a",))
    out = io.StringIO(newline="")
    write_rows(out, table, rows)
    assert records(out.getvalue()) == [["a", "b", "c"], *map(list, rows)]


@given(ROWS)
def test_passport_data_is_a_file_by_the_grammar(rows):
    names = ("COLLSITE", "ANCEST", "CURATOR")
    made = records(write_passports([dict(zip(names, row, strict=True)) for row in rows] or [{"CURATOR": ""}]))
    assert made[0] == [*BY_NAME, "CURATOR"] and {len(record) for record in made} == {42}
    assert [tuple(record[made[0].index(name)] for name in names) for record in made[1:]] == (
        rows or [("",) * 3]
    )


@pytest.mark.parametrize("name", [*TABLES, *CUTTING])
def test_a_template_is_a_file_by_the_grammar(name):
    made = records(template(name, TABLES if name in TABLES else CUTTING))
    assert len(made) == 3 and len({len(record) for record in made}) == 1


def test_another_reader_reads_the_same():
    said = [('K7 "north", 2nd', "x\r\ny", "Čáslav"), ("", ",", '""')]
    text = as_csv(("a", "b", "c"), said)
    read = pandas.read_csv(io.BytesIO(text.encode()), dtype=str, keep_default_na=False)
    assert (
        [*read.itertuples(index=False, name=None)] == said == [tuple(record) for record in records(text)[1:]]
    )
