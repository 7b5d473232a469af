"""Striking, grafting, counting, potting on and selling by page, and the batches as they are looked at."""

import csv
import io
from datetime import date
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from ortet import work
from ortet.ledger import rules
from ortet.ledger.models import Batch, Buyer, Count, Lot, Movement, Place, Sale, Variety
from tests.pages.test_deeds import sent
from tests.writing import _do

pytestmark = pytest.mark.usefixtures("season_kept")

GROWN = """
    2027-01-21 08:00  place ground Yard
    2027-01-21 09:00  strike L1 20 from K1 as S1 on Shelf base_c=22 medium=sand treatment=none
    2027-02-01 09:00  count S1 rooted=8 callused=6
    2027-02-02 09:00  pot S1 5 to Yard
"""
DEEDS = {
    "strike": (
        {"lot": "L3", "from_place": "K3", "count": "4", "bench": "Shelf", "base_c": "21", "tray": "7"},
        lambda: Batch.objects.count(),
    ),
    "graft": (
        {
            "scion": "L1",
            "stock": "L3",
            "scion_from": "K1",
            "stock_from": "K3",
            "count": "3",
            "bench": "Shelf",
        },
        lambda: Lot.objects.count(),
    ),
    "count": ({"place": "S1", "rooted": "5", "callused": "4", "dead": "1"}, lambda: Count.objects.count()),
    "pot": ({"batch": "S1", "count": "2", "to_place": "Yard"}, lambda: Movement.objects.count()),
    "sell": (
        {"lot": "L1", "from_place": "Yard", "count": "2", "buyer": "Tarn Mill", "price": "4,50"},
        lambda: Sale.objects.count(),
    ),
    "buyer": (
        {"name": "Tarn Mill", "address": "1 Lane", "email": "tarn@mill.example"},
        lambda: Buyer.objects.count(),
    ),
}
IMPOSSIBLE = {
    "strike": ({**DEEDS["strike"][0], "count": "40"}, "40 of lot"),
    "graft": ({**DEEDS["graft"][0], "stock": "L1"}, "scion and stock in one"),
    "count": ({"place": "S1", "rooted": "2"}, "8 rooted on 1 Feb 2027"),
    "pot": ({"batch": "S1", "count": "40", "to_place": "Yard"}, "40 of lot"),
    "sell": ({"lot": "L1", "from_place": "Yard", "count": "2"}, "Sold to whom?"),
    "buyer": ({"name": "Tarn Mill", "email": "tarn mill"}, "email"),
}


@pytest.fixture
def grown(book, ada):
    """A small season in which a batch was struck, counted and potted on."""
    from datetime import UTC, datetime

    for line in filter(None, map(str.strip, GROWN.splitlines())):
        day, hour, verb, *words = line.split()
        _do(book, verb, words, ada, datetime.fromisoformat(f"{day}T{hour}").replace(tzinfo=UTC))
    yield book
    assert rules.check() == []


def page_of(client: Client, name: str) -> str:
    return client.get(reverse("batch", args=[Place.objects.get(name=name).code])).content.decode()


@pytest.mark.parametrize("deed", DEEDS)
def test_a_deed_is_booked_once_and_its_page_says_so(deed, grown, at_desk):
    said, count = DEEDS[deed]
    before = count()
    said = {**said, "id": str(uuid4())}
    answer = sent(at_desk, deed, said)
    assert answer.status_code == 302, answer.context["form"].errors
    assert count() == before + 1
    assert 'role="status"' in at_desk.get(answer["Location"]).content.decode()
    assert sent(at_desk, deed, said).status_code == 302
    assert count() == before + 1


@pytest.mark.parametrize("deed", IMPOSSIBLE)
def test_what_cannot_be_is_refused_and_stays_typed(deed, grown, at_desk):
    said, words = IMPOSSIBLE[deed]
    count = DEEDS[deed][1]
    before = count()
    answer = sent(at_desk, deed, said)
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert count() == before


@pytest.mark.parametrize("deed", DEEDS)
def test_who_may_not_write_books_nothing(deed, grown, ben_at_desk):
    count = DEEDS[deed][1]
    before = count()
    assert sent(ben_at_desk, deed, DEEDS[deed][0]).status_code == 403
    assert sent(Client(REMOTE_ADDR="192.0.2.1"), deed, DEEDS[deed][0]).status_code in (302, 403)
    assert count() == before


@pytest.mark.parametrize("deed", DEEDS)
@pytest.mark.parametrize("method", ["put", "patch", "delete"])
def test_a_deed_is_asked_for_and_sent_in_no_other_way(deed, method, grown, at_desk):
    assert getattr(at_desk, method)(reverse(deed)).status_code == 405


@pytest.mark.parametrize("path", ["/batches", "/batches.csv", "/batches/{}", "/batches/{}/label.pdf"])
def test_who_may_look(path, grown, at_desk, ben_at_desk):
    path = path.format(Place.objects.get(name="S1").code)
    assert at_desk.get(path).status_code == 200
    assert ben_at_desk.get(path).status_code == 200
    assert at_desk.post(path).status_code == 405
    assert Client(REMOTE_ADDR="192.0.2.1").get(path)["Location"].startswith(reverse("sign-in"))


def test_an_empty_book_says_how_a_batch_begins(book, at_desk):
    page = at_desk.get("/batches").content.decode()
    assert "No batch yet" in page and reverse("strike") in page
    assert at_desk.get("/batches/NONE").status_code == 404


def test_batches_are_found_and_sorted(grown, at_desk, ada, nursery):
    work.strike("L3", 4, from_place="K3", bench="Shelf", tray="T9", by=ada, at=nursery.now())

    def names(**asked):
        return [str(batch) for batch in at_desk.get("/batches", asked).context["page"]]

    assert names() == ["S2", "S1"]
    assert names(sort="struck") == ["S2", "S1"]
    assert names(sort="name") == ["S1", "S2"]
    assert [names(q=word) for word in ("t9", "dusk", "sand", "shelf", "M1", "L3")] == [
        ["S2"],
        ["S1"],
        ["S1"],
        ["S2", "S1"],
        ["S1"],
        ["S2"],
    ]
    work.give_up("L3", 4, from_place="S2", by=ada, at=nursery.now())
    assert (names(), names(all="1")) == (["S1"], ["S2", "S1"])
    assert at_desk.get("/batches", {"sort": "moon"}).status_code == 422
    assert "No batch with anything in it answers" in at_desk.get("/batches", {"q": "attic"}).content.decode()


def test_the_file_holds_what_is_known_of_each_batch(grown, at_desk):
    (row,) = csv.DictReader(io.StringIO(at_desk.get("/batches.csv").content.decode()))
    found = {
        name: row[name] for name in ("batch", "struck", "rooted", "potted", "here", "base °C", "finished")
    }
    assert found == {
        "batch": "S1",
        "struck": "20",
        "rooted": "8",
        "potted": "5",
        "here": "15",
        "base °C": "22.0",
        "finished": "False",
    }


def test_a_batch_shows_its_counts_and_what_happened(grown, at_desk, ben_at_desk):
    page = page_of(at_desk, "S1")
    for words in (
        "8 of 20 looked at on",
        "<svg",
        "potted on",
        "struck as batch S1",
        "Mat set to",
    ):
        assert words in page
    assert reverse("count") in page and reverse("count") not in page_of(ben_at_desk, "S1")


def test_a_strike_that_was_taken_back_says_so(grown, at_desk, ada, nursery):
    batch = work.strike("L3", 4, from_place="K3", bench="Shelf", by=ada, at=nursery.now())
    work.correct(Movement.objects.latest("number").number, note="other lot", by=ada, at=nursery.now())
    assert "This was taken back" in page_of(at_desk, str(batch))


def test_a_batchs_label_and_place_lead_to_its_page(grown, at_desk):
    code = Place.objects.get(name="S1").code
    for path in (f"/l/{code}", f"/L/{code.lower()}", f"/places/{code}"):
        assert at_desk.get(path)["Location"] == reverse("batch", args=[code])


def test_a_batchs_label_leads_a_phone_to_the_batch(grown, at_desk):
    """Read back by a decoder that is not ours, ZXing."""
    import pypdfium2
    import zxingcpp

    code = Place.objects.get(name="S1").code
    sheet = pypdfium2.PdfDocument(at_desk.get(f"/batches/{code}/label.pdf").content)[0]
    (read,) = zxingcpp.read_barcodes(sheet.render(scale=4).to_numpy())
    assert read.text.upper().endswith(f"/L/{code}")
    words = sheet.get_textpage().get_text_range()
    assert "Dusk" in words and "S1" in words and "21 Jan 2027" in words


def test_a_bench_shows_the_batches_on_it_and_a_ground_its_plants(grown, at_desk):
    shelf = at_desk.get(reverse("place", args=[Place.objects.get(name="Shelf").code])).content.decode()
    assert "Batches that stand here" in shelf and "S1" in shelf
    yard = at_desk.get(reverse("place", args=[Place.objects.get(name="Yard").code])).content.decode()
    assert "What stands on it" in yard and reverse("sell") in yard


def test_counting_asks_for_numbers_only(grown, at_desk):
    """From the batch's page: one press for the form, the numbers, one press to send them."""
    form = at_desk.get(reverse("count"), {"place": Place.objects.get(name="S1").code}).context["form"]
    asked = [field.name for group in form.groups() if not group.name for row in group.rows for field in row]
    shown = [name for name in asked if not form[name].is_hidden]
    assert shown == ["rooted", "callused", "leafed", "dead", "give_up_dead"]
    assert form["rooted"].field.widget.attrs["inputmode"] == "numeric"


def test_the_dead_go_out_with_the_count(grown, at_desk):
    sent(at_desk, "count", {"place": "S1", "rooted": "5", "dead": "2", "give_up_dead": "on"})
    assert Place.objects.get(name="S1").balances.get().count == 13


def test_a_count_is_withdrawn_from_the_batchs_page(grown, at_desk):
    seen = Count.objects.get()
    assert str(seen.pk) in page_of(at_desk, "S1")
    asked = at_desk.get(reverse("withdraw"), {"reading": seen.pk}).content.decode()
    assert "8 rooted" in asked
    answer = sent(at_desk, "withdraw", {"reading": seen.pk, "note": "other tray"})
    assert answer.status_code == 302
    assert "not counted yet" in page_of(at_desk, "S1").lower() or "Not counted" in page_of(at_desk, "S1")


def test_a_graft_is_counted_as_taken(grown, at_desk):
    sent(at_desk, "graft", DEEDS["graft"][0])
    code = Place.objects.get(name="G1").code
    assert at_desk.get(reverse("count"), {"place": code}).context["form"]["rooted"].label == "Taken"


def test_a_buyer_keeps_what_is_left_empty(grown, at_desk):
    work.buyer("Tarn Mill", address="1 Lane", email="tarn@mill.example")
    assert "1 Lane" in at_desk.get(reverse("buyer"), {"name": "tarn mill"}).content.decode()
    sent(at_desk, "buyer", {"name": "Tarn Mill", "note": "rings twice"})
    mill = Buyer.objects.get()
    assert (mill.address, mill.note) == ("1 Lane", "rings twice")


def test_a_protected_variety_is_told_before_it_is_struck(grown, at_desk, ada, nursery):
    work.add_mother("M9", "Guarded", "grape", right="PBR 1234")
    lot = work.take("M9", 3, by=ada, at=nursery.now())
    page = at_desk.get(reverse("strike"), {"lot": lot.code}).content.decode()
    assert "Protected: PBR 1234" in page
    Variety.objects.filter(name="Guarded").update(right_until=date(2020, 12, 31))
    assert "Protected" not in at_desk.get(reverse("strike"), {"lot": lot.code}).content.decode()
