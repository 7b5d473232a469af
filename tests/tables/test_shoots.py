"""Tables of shoots and grades, and what is made of them."""

from pathlib import Path

import pytest

from ortet.tables.columns import describe, template
from ortet.tables.read import read_table
from ortet.tables.shoots import CUTTING
from ortet.work.cut import NotRead, read_grades, read_shoots

DOCS = Path(__file__).parents[2] / "docs" / "how" / "cut.md"


@pytest.mark.parametrize("name", CUTTING)
def test_docs_list_every_column_as_declared(name):
    assert describe(name, CUTTING) in DOCS.read_text(encoding="utf-8"), (
        "write describe(name, CUTTING) into docs/how/cut.md again"
    )


@pytest.mark.parametrize("name", CUTTING)
def test_a_template_reads_as_it_is(name):
    read = read_table(template(name, CUTTING).encode(), f"{name}.csv", zone="UTC", among=CUTTING)
    assert (read.table, read.problems, len(read.rows)) == (CUTTING[name], [], 2)


def test_a_row_a_shoot_in_inches():
    (shoot,) = read_shoots(b"shoot,length_in,base_in,tip_in,nodes,end\nA,40,0.5,0.2,20,cut\n", "x.csv")
    assert (
        shoot.length_mm == pytest.approx(1016) and shoot.base_mm == pytest.approx(12.7) and not shoot.has_tip
    )


def test_several_alike():
    assert len(read_shoots(b"shoot,length_mm,base_mm,tip_mm,nodes,alike\nA,900,9,3,20,4\n", "x.csv")) == 4


def test_a_row_a_node_in_any_order():
    rows = b"shoot,variety,at_mm,diameter_mm,mark\nA,Duskwater,200,7,\nA,,0,9,base\nA,,100,8,node\nA,,260,6,cut\nB,,80,5,\n"
    one, other = read_shoots(rows, "x.csv")
    assert (one.nodes_mm, one.diameters_mm, one.base_mm) == ((100, 200), (8, 7), 9)
    assert (one.length_mm, one.tip_mm, one.has_tip, one.variety) == (260, 6, False, "Duskwater")
    assert (other.length_mm, other.has_tip, other.name) == (80, True, "B")


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ("A,100,8,base\nA,150,7,node", "one base, at 0"),
        ("A,0,8,base\nA,50,7,tip", "a node at least"),
        ("A,50,8,node\nA,90,7,tip\nA,95,7,cut", "one end"),
        ("A,50,8,node\nA,40,7,tip", "nodes rise from 0 to the length"),
        ("A,50,0,node", "cannot be"),
        ("A,50,8,bud", "is not known here"),
    ],
)
def test_what_is_no_shoot_is_said_with_its_row(rows, words):
    with pytest.raises(NotRead) as raised:
        read_shoots(f"shoot,at_mm,diameter_mm,mark\n{rows}\n".encode(), "x.csv")
    said = " ".join(map(str, raised.value.problems))
    assert words in said and "x.csv, row " in said


def test_every_problem_is_told_at_once():
    with pytest.raises(NotRead, match="Nothing was reckoned") as raised:
        read_shoots(b"shoot,length_mm,base_mm,tip_mm,nodes\nA,,9,4,x\nB,900,4,9,20\n", "x.csv")
    assert len(raised.value.problems) == 3


def test_grades_and_what_is_wanted():
    (one, other), wanted = read_grades(
        b"grade,least_nodes,most_mm,want_least,want_most\nlong,4,,3,9\nshort,,150,,\n", "g.csv"
    )
    assert (one.least_nodes, one.most_mm, other.most_mm) == (4, float("inf"), 150)
    assert {name: (wish.least, wish.most) for name, wish in wanted.items()} == {"long": (3, 9)}


@pytest.mark.parametrize(
    ("row", "words"), [("A,4,3,,", "the least first"), ("A,,,9,3", "9 to 3 wanted"), (",3,4,,", "is empty")]
)
def test_what_is_no_grade_is_said_with_its_row(row, words):
    with pytest.raises(NotRead) as raised:
        read_grades(f"grade,least_nodes,most_nodes,want_least,want_most\n{row}\nB,,,,\n".encode(), "g.csv")
    assert words in str(raised.value) and "row 2" in str(raised.value)
