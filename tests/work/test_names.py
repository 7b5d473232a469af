"""Names of varieties in the book: kept word for word, remarked on, never refused."""

import pytest

from ortet import work
from ortet.ledger.models import Variety
from ortet.work.load import load
from ortet.work.names import seen

pytestmark = pytest.mark.django_db


def codes(variety: Variety) -> list[str]:
    return [remark.code for remark in seen(variety).remarks]


def test_a_whole_name_keeps_its_words_and_gives_the_epithet():
    came = "Ribes nigrum 'Dusk Latch' MIDNIGHT"
    variety = work.add_mother("M1", came, "blackcurrant").variety
    assert (variety.name, variety.as_received) == ("Dusk Latch", came)
    assert seen(variety).written == "Ribes nigrum ‘Dusk Latch’ MIDNIGHT"
    assert work.add_mother("M2", "Dusk latch", "blackcurrant").variety == variety


def test_a_bare_name_is_written_with_its_species():
    variety = work.add_mother("M1", "Dusk", "blackcurrant").variety
    assert variety.as_received == "" and seen(variety).written == "Ribes nigrum ‘Dusk’"
    assert codes(variety) == []


@pytest.mark.parametrize(
    ("name", "code"),
    [("dusk", "CAP"), ("Ribes Queen 'Ribes Queen'", "GENUS"), ("Best of All", "CLAIM"), ("12345", "DIGITS")],
)
def test_what_breaks_a_rule_is_in_the_book_all_the_same(name, code):
    assert code in codes(work.add_mother("M1", name, "blackcurrant").variety)


def test_another_spelling_within_the_genus_is_a_hint():
    work.add_mother("M1", "Mère de Ménage", "blackcurrant")
    assert codes(work.add_mother("M2", "Mere de Menage", "gooseberry").variety) == ["DUP"]
    assert codes(work.add_mother("M3", "Mere-de Menage", "apple").variety) == [], "another genus"


def test_a_loaded_name_is_remarked_on_and_loads_once(ada):
    from ortet.ledger.models import Nursery

    table = b"accession,variety,species\r\nM1,Ribes nigrum 'dusk',blackcurrant\r\n"
    loaded = load([("mothers.csv", table)], by=ada, at=Nursery.get().now())
    assert loaded.problems == [] and any("(CAP)" in note for note in loaded.notes)
    assert Variety.objects.get().as_received == "Ribes nigrum 'dusk'"
    again = load([("mothers.csv", table + b"M2,dusk,blackcurrant\r\n")], by=ada, at=Nursery.get().now())
    assert again.problems == [] and Variety.objects.count() == 1
