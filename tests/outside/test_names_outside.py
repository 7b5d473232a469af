"""Plant names against the ICNCP's own examples of right and wrong, and the ICN's of one name written three ways."""

import csv
from pathlib import Path

import pytest

from ortet.wood.names import check, counted, parse, same_name, written

VALUES = "names_icncp"
LINES = (Path(__file__).with_name("values") / f"{VALUES}.csv").read_text(encoding="utf-8").splitlines()
ROWS = list(csv.DictReader(line for line in LINES if not line.startswith("#")))


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["name"])
def test_names_right_and_wrong(row):
    name = parse(row["name"], row["genus"])
    assert name.received == row["name"]
    assert name.epithet == row["epithet"]
    assert counted(name.epithet) == int(row["counted"])
    assert sorted(remark.code for remark in check(name)) == sorted(row["remarks"].split())


def test_the_rows_try_every_rule_both_ways():
    from ortet.wood.names.rules import HINTS, RULES

    codes = {code for row in ROWS for code in row["remarks"].split()}
    assert codes == {code for code, _ in (*RULES, *HINTS)}
    assert sum(not row["remarks"] for row in ROWS) > 20


@pytest.mark.parametrize("other", ["Salix ×capreola", "Salix x capreola", "Salix capreola"])
def test_the_hybrid_sign_counts_for_nothing(other):
    """ICN (Shenzhen Code 2018), Art. H.3, Note 1 and its examples: Salix ×capreola. [published]"""
    assert same_name(parse("Salix × capreola"), parse(other))
    assert not same_name(parse("Salix × capreola"), parse("Salix caprea"))


def test_accents_marks_and_hyphens_make_no_other_cultivar():
    """ICNCP Art. 21: an epithet is compared without regard to accents and typography. [memory]"""
    assert same_name(parse("Malus 'Mere de Menage'"), parse("Malus 'Mère de Ménage'"))
    assert same_name(parse("Malus 'Cox’s Orange-Pippin'"), parse('Malus "Cox\'s Orange Pippin"'))


@pytest.mark.parametrize(
    ("came", "goes"),
    [
        ("Malus domestica 'Gala'", "Malus domestica ‘Gala’"),
        ("apple 'Cripps Pink' pink lady™", "apple ‘Cripps Pink’ PINK LADY"),
        ("apple 'Cripps Pink' 'Pink Lady'", "apple ‘Cripps Pink’ PINK LADY"),
        (
            "Hydrangea macrophylla (Teller Group) 'Blaumeise'",
            "Hydrangea macrophylla (Teller Group) ‘Blaumeise’",
        ),
        ("Rhododendron boothii Mishmiense Group", "Rhododendron boothii Mishmiense Group"),
        ("x Sorbaronia fallax", "×Sorbaronia fallax"),
        ("Salix x capreola", "Salix ×capreola"),
        ("+ Laburnocytisus 'Adamii'", "+Laburnocytisus ‘Adamii’"),
        (
            "Berberis thunbergii var. atropurpurea 'Rose Glow'",
            "Berberis thunbergii var. atropurpurea ‘Rose Glow’",
        ),
        ("Berberis thunbergii cv. 'Crimson Pygmy'", "Berberis thunbergii ‘Crimson Pygmy’"),
    ],
)
def test_names_are_written_as_the_code_writes_them(came, goes):
    """Patterns of the ICNCP as floricode, treeterms and Darwin Core issue 41 print them; signs by the ICN, Art. H.3."""
    assert written(parse(came)) == goes
    assert written(parse(goes)) == goes, "what is written reads the same again"
