"""A grower's table from CSV: what is read, what is refused, and in which words."""

import csv
import io
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ortet.tables.columns import TABLES
from ortet.tables.problem import Problem
from ortet.tables.read import read_table

ZONE = "Europe/Berlin"
LOTS = "lot,accession,taken,count\n"


def lots(text, **more):
    return read_table(text.encode(), "lots.csv", zone=ZONE, **more)


def said(read):
    return [str(problem) for problem in read.problems]


def test_a_row_with_more_cells_than_the_header_is_not_cut_short():
    read = read_table(b"bag,at,gross_g\nK1,2026-12-03,690,5\n", "w.csv", zone="UTC")
    assert read.rows == []
    assert "4 cells, the header 3" in str(read.problems[0])


def test_a_problem_reads_as_one_line():
    problem = Problem("lots.csv", 14, "count", "many is no count.", "Enter digits.")
    assert str(problem) == 'lots.csv, row 14, "count": many is no count. Enter digits.'
    assert str(Problem("x", None, None, "is empty.", "")) == "x: is empty."


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_reads_every_encoding_line_end_and_delimiter(encoding, end, delimiter):
    rows = [["lot", "accession", "taken", "count", "note"], ["A1", "M-1", "2026-11-24", "60", "grün, 5 °C"]]
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator=end).writerows(rows)
    read = read_table(out.getvalue().encode(encoding), "lots.csv", zone=ZONE)
    assert said(read) == []
    assert (read.rows[0].lot, read.rows[0].count, read.rows[0].note) == ("A1", 60, "grün, 5 °C")
    assert read.rows[0].taken == datetime(2026, 11, 23, 23, tzinfo=UTC)


def test_rfc_4180_quotes_hold_delimiters_quotes_and_line_ends():
    """RFC 4180, 2.5 to 2.7, its own example: "aaa","b CRLF bb","ccc" and a doubled quote."""
    read = lots(
        'lot,accession,taken,count,note\r\n"a,a",M,2026-11-24,1,"b\r\n""b""b"\r\nc,M,2026-11-24,2,\r\n'
    )
    assert said(read) == []
    assert [(row.line, row.lot, row.note) for row in read.rows] == [(2, "a,a", 'b\n"b"b'), (4, "c", "")]


def test_decimal_comma_where_the_comma_parts_no_cells():
    read = lots("lot;accession;taken;count;base_mm;tip_mm\nA;M;24.11.2026;6;8,5;7.5\n")
    assert said(read) == []
    assert (read.rows[0].base_mm, read.rows[0].tip_mm) == (8.5, 7.5)


def test_inches_mils_and_ounces_by_their_own_headings():
    read = lots(LOTS.strip() + ",Length (in),base_in,tip_in\nA,M,2026-11-24,6,8,0.4,0.3 in\n")
    assert said(read) == []
    assert (read.rows[0].length_mm, read.rows[0].base_mm) == pytest.approx((203.2, 10.16))
    text = b"bag,lot,count,bagged,store,thickness_mil,tare_oz\nK,A,6,2026-11-24 12:00,cellar,2,1\n"
    bag = read_table(text, "bags.csv", zone=ZONE).rows[0]
    assert (bag.thickness_um, bag.tare_g) == pytest.approx((50.8, 28.349523))


def test_blank_lines_and_cells_to_spare_are_passed_over():
    read = lots(f"\n{LOTS}\n,,,\nA,M,2026-11-24,120 ,,\n   \n\n")
    assert said(read) == []
    assert [(row.line, row.count) for row in read.rows] == [(5, 120)]


@pytest.mark.parametrize(
    "count", ["12.5", "-3", "1e3", "many", "1,200", "٣", "0", "9" * 40, "9" * 5000, "+5", "0x1F"]
)
def test_a_count_that_is_none_is_refused_with_what_to_enter(count):
    read = lots(f'{LOTS}A,M,2026-11-24,"{count}"\n')
    assert len(read.problems) == 1 and read.rows == []
    assert read.problems[0].line == 2 and read.problems[0].column == "count"
    assert read.problems[0].remedy.startswith("Enter a whole number")
    assert len(str(read.problems[0])) < 150


def test_every_problem_of_a_file_is_told():
    read = lots(f"{LOTS}A,,2026-02-31,many\nB,M,yesterday,-1\nC,M,2026-11-24,5\n")
    assert [(p.line, p.column) for p in read.problems] == [
        (2, "accession"),
        (2, "taken"),
        (2, "count"),
        (3, "taken"),
        (3, "count"),
    ]
    assert [row.lot for row in read.rows] == ["C"]


def test_problems_of_the_header_do_not_hide_those_below():
    read = lots("lot,accession,cuont,taken\nA,M,5,2026-13-01\n")
    assert said(read)[0].startswith(
        'lots.csv, row 1, "count": column missing; of the tables this is most like lots.'
    )
    assert 'row 1, "cuont": no such column in lots. Did you mean count?' in said(read)[1]
    assert 'row 2, "taken": "2026-13-01" is a day that no calendar has.' in said(read)[2]
    assert read.rows == []


def test_a_heading_given_twice_and_one_thing_in_two_units():
    assert "count is given twice" in said(lots("lot,accession,taken,count,count\nA,M,2026-11-24,5,6\n"))[0]
    both = lots(LOTS.strip() + ",base_mm,base_in\nA,M,2026-11-24,5,6,7\n")
    assert "base_mm is given twice" in said(both)[0]


def test_a_file_like_no_table_points_to_the_templates():
    read = lots("colour,weight of crates\nred,5\n")
    assert read.table is None and "ortet load --template mothers" in said(read)[0]


def test_a_key_that_stands_twice_names_both_rows():
    read = lots(f"{LOTS}A,M,2026-11-24,5\nB,M,2026-11-24,5\nA,M,2026-11-25,6\n")
    assert said(read) == [
        'lots.csv, row 4, "lot": the same lot as row 2. Delete one of the two rows, or correct the lot.'
    ]


def test_one_bag_is_of_one_film_in_all_its_rows():
    head = "bag,lot,count,bagged,store,layers\n"
    same = read_table(
        f"{head}K,A,5,2026-11-24 12:00,cellar,2\nK,B,5,2026-11-25 9:00,cellar,2\n".encode(), "b", zone=ZONE
    )
    assert said(same) == [] and len(same.rows) == 2
    other = read_table(
        f"{head}K,A,5,2026-11-24 12:00,cellar,2\nK,B,5,2026-11-24,cellar,3\n".encode(), "b", zone=ZONE
    )
    assert said(other)[0].startswith('b, row 3, "layers": 3 here, 2 for the same bag in row 2.')


def test_the_base_is_the_thick_end():
    read = lots(LOTS.strip() + ",base_mm,tip_mm\nA,M,2026-11-24,5,6,7\n")
    assert "7 mm at the tip, 6 mm at the base" in said(read)[0]


@pytest.mark.parametrize(
    ("green", "of", "wrong"), [("5", "5", 0), ("6", "5", 1), ("5", "", 1), ("", "5", 1), ("", "", 0)]
)
@pytest.mark.parametrize("columns", ["scratch_green,scratch_of", "callused,callused_of", "rooted,rooted_of"])
def test_what_was_counted_is_so_many_of_so_many(columns, green, of, wrong):
    text = f"bag,lot,at,{columns}\nK,A,2026-12-01 9:00,{green},{of}\n"
    assert len(read_table(text.encode(), "i", zone=ZONE).problems) == wrong


def test_species_by_english_or_latin_name_with_a_hint():
    head = "accession,variety,species\n"
    read = read_table(f"{head}1,Duskwater,Sambucus nigra\n2,Duskwater,ELDER\n".encode(), "m", zone=ZONE)
    assert [row.species for row in read.rows] == ["elder", "elder"]
    wrong = read_table(f"{head}1,Duskwater,eldr\n".encode(), "m", zone=ZONE)
    assert "Did you mean elder?" in said(wrong)[0]


def test_what_is_assumed_is_said():
    read = lots(f"{LOTS}A,M,2026-11-24,5\n")
    assert "1 row gives no length_mm: 200 is assumed." in read.notes


def test_dates_that_nothing_decides_are_refused_and_the_option_decides():
    text = f"{LOTS}A,M,3/4/2026,5\nB,M,4/3/2026,5\n"
    assert "--dates day-first" in said(lots(text))[0]
    assert lots(text, day_first=True).rows[0].taken == datetime(2026, 4, 2, 22, tzinfo=UTC)
    assert lots(text, day_first=False).rows[0].taken == datetime(2026, 3, 3, 23, tzinfo=UTC)


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"", "empty"),
        (b" \n\n", "empty"),
        (LOTS.encode(), "no row under the header"),
        (bytes(range(256)) * 8, "not text"),
        (b"\x89PNG\r\n\x1a\n" + b"\x00\x01\x02" * 99, "not text"),
        (b"PK\x03\x04 sheets", "workbook"),
        (b'lot,accession,taken,count\n"' + b"x" * 200_000, "quotation marks"),
    ],
)
def test_what_is_no_table_is_said_plainly(raw, words):
    read = read_table(raw, "lots.csv", zone=ZONE)
    assert read.rows == [] and len(read.problems) == 1 and words in said(read)[0]


@given(st.binary(max_size=300))
def test_no_bytes_break_the_reader(raw):
    read = read_table(raw, "x.csv", zone=ZONE)
    assert read.rows == [] and read.problems


NOTES = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs")), max_size=30).map(str.strip)
MARKS = st.text("ABCDEFGHJKLMNPQRSTUVWXYZ0123456789-", min_size=1, max_size=12)
MOMENTS = st.datetimes(datetime(1990, 1, 1), datetime(2090, 1, 1), timezones=st.just(UTC)).map(
    lambda at: at.replace(microsecond=0)
)
SIZES = st.tuples(st.integers(1, 999), st.integers(1, 999)).map(sorted)
ROWS = st.lists(
    st.tuples(MARKS, MOMENTS, st.integers(1, 1_000_000), SIZES, NOTES),
    min_size=1,
    max_size=8,
    unique_by=lambda row: row[0],
)


@given(ROWS, st.sampled_from([",", ";", "\t"]), st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]))
def test_what_is_written_is_read_back(rows, delimiter, encoding):
    decimal = "." if delimiter == "," else ","
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter)
    writer.writerow(["lot", "accession", "taken", "count", "tip_mm", "base_mm", "note"])
    for mark, at, count, (tip, base), note in rows:
        sizes = [f"{size / 10:.1f}".replace(".", decimal) for size in (tip, base)]
        writer.writerow([mark, "M", at.isoformat(), count, *sizes, note])
    read = read_table(out.getvalue().encode(encoding), "lots.csv", zone=ZONE)
    assert said(read) == []
    back = [(row.lot, row.taken, row.count, [row.tip_mm, row.base_mm], row.note) for row in read.rows]
    assert back == [
        (mark, at, count, [tip / 10, base / 10], note) for mark, at, count, (tip, base), note in rows
    ]


def test_progress_ends_at_the_last_row():
    seen = []
    lots(f"{LOTS}A,M,2026-11-24,5\n", progress=lambda done, total: seen.append((done, total)))
    assert seen[-1] == (1, 1) and len(seen) == len(TABLES["lots"].columns)
