"""Names of plants as people type them: nothing lost, nothing stopped."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ortet.wood.names import check, parse, written


@given(st.text(max_size=60), st.sampled_from(["", "Malus", "Ribes"]))
def test_whatever_is_typed_is_kept_word_for_word(text, genus):
    name = parse(text, genus)
    assert name.received == text
    written(name), check(name)


@given(st.text("abcdeèMQ '-.!", min_size=1, max_size=20).map(str.strip).filter(lambda text: text.strip("' ")))
def test_an_epithet_in_marks_is_read_back(text):
    epithet = " ".join(text.strip("' ").split())
    if "' '" not in epithet:
        assert parse(f"Malus 'x{epithet}x'").epithet == f"x{epithet}x"


@pytest.mark.parametrize(
    ("text", "genus", "epithet"),
    [
        ("Dusk", "Ribes", "Dusk"),
        ("Golden delicious", "Malus", "Golden delicious"),
        ("Ribes nigrum Dusk Latch", "Ribes", "Dusk Latch"),
        ("Ribes Dusk", "Ribes", "Dusk"),
        ("‘Dusk’", "Ribes", "Dusk"),
        ("Boys' Delight", "Malus", "Boys' Delight"),
        ("Malus domestica", "", ""),
    ],
)
def test_a_bare_name_is_the_epithet_unless_its_genus_comes_first(text, genus, epithet):
    assert parse(text, genus).epithet == epithet


def test_another_spelling_of_a_name_in_the_book_is_a_hint():
    remarks = check(parse("Mere de Menage"), others=["Mère de Ménage", "Gala"])
    assert [(remark.code, remark.is_hint) for remark in remarks] == [("DUP", True)]
    assert "Mère de Ménage" in remarks[0].said
    assert check(parse("Mère de Ménage"), others=["Mère de Ménage"]) == []
