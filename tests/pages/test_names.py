"""The pages about names and samples: who may look, what they answer, how they refuse; nothing is booked."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from ortet.ledger.models import Movement
from tests.writing import write

pytestmark = pytest.mark.usefixtures("season_kept")

PAGES = {
    "sample": {"lot": "L1"},
    "mixup": {"a-lot": "L1", "a-wrong": "2", "a-of": "5"},
    "scan": {"first": "L1", "second": "L3"},
    "nameless": {"place": "North", "count": "30"},
}


def page(client: Client, name: str, status: int = 200, **said: str) -> str:
    answer = client.get(reverse(name), said)
    assert answer.status_code == status, answer.content.decode()
    return answer.content.decode()


def pulls(shown: str) -> list[str]:
    return re.findall(r'type="checkbox"> (\d+)', shown)


@pytest.mark.parametrize("name", PAGES)
def test_who_may_look(book, at_desk, ben_at_desk, name):
    to, before = reverse(name), Movement.objects.count()
    assert at_desk.get(to).status_code == 200
    assert ben_at_desk.get(to, PAGES[name]).status_code == 200
    for method in ("post", "put", "delete"):
        assert getattr(at_desk, method)(to, PAGES[name]).status_code == 405
    assert Client(REMOTE_ADDR="192.0.2.1").get(to)["Location"].startswith(reverse("sign-in"))
    assert Movement.objects.count() == before


def test_a_lots_page_leads_to_its_sample_and_to_a_wrong_name(book, at_desk):
    shown = at_desk.get(reverse("lot", args=[book.lot.code])).content.decode()
    assert f"{reverse('sample')}?lot={book.lot.code}" in shown
    assert f"{reverse('mixup')}?a-lot={book.lot.code}" in shown
    asked = page(at_desk, "mixup", **{"a-lot": book.lot.code})
    assert f'value="{book.lot.code}"' in asked and "role=" + '"alert"' not in asked


def test_record_leads_to_labels_and_wrong_names(book, at_desk):
    shown = at_desk.get(reverse("record")).content.decode()
    assert all(f'href="{reverse(name)}"' in shown for name in ("scan", "mixup", "nameless"))


def test_a_sample_is_drawn_place_by_place_and_what_was_found_is_read(book, at_desk):
    shown = page(at_desk, "sample", lot="L1", share="20", seed="7")
    assert "Look at 12 of 40" in shown and "Pull these" in shown and "Bag K1" in shown
    assert shown.count('type="checkbox"') == 12 and "Draw number 7" in shown
    again = page(at_desk, "sample", lot="L1", share="20", seed="7")
    assert pulls(again) == pulls(shown) != pulls(page(at_desk, "sample", lot="L1", share="20", seed="8"))
    told = page(at_desk, "sample", lot="L1", share="20", found="1", looked="10")
    assert "1 of 10 was bad: of the whole lot of 40 about 4" in told and "Pull these" not in told
    assert "look at all 40" in page(at_desk, "sample", lot="L1", share="1")


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({"lot": "L9"}, "no lot marked"),
        ({"lot": "L1", "share": "0"}, "greater than or equal to"),
        ({"lot": "L1", "share": "101"}, "less than or equal to"),
        ({"lot": "L1", "confidence": "100"}, "less than or equal to"),
        ({"lot": "L1", "found": "-1"}, "greater than or equal to"),
        ({"lot": "L1", "found": "5", "looked": "3"}, "Found 5"),
        ({"lot": "L1", "found": "x"}, "Enter a whole number"),
    ],
)
def test_a_sample_that_cannot_be_is_refused(book, at_desk, asked, says):
    assert says in page(at_desk, "sample", 422, **asked)


def test_a_wrong_name_is_led_back_to_its_moment(book, at_desk, ada):
    more_wood = write(
        """
        2027-01-05 09:30  mother M3 Raven blackcurrant
        2027-01-05 09:40  take M3 30 as L5
        2027-01-05 11:10  bag L5 30 into K5 at North
        """,
        ada,
    )
    shown = page(at_desk, "mixup", **{"a-lot": "L1", "a-wrong": "2", "a-of": "5", "a-variety": "raven"})
    assert "Bench, 5 Jan 2027" in shown and "Who else may have wrong plants" in shown and "K5" in shown
    assert "2 of 5 of lot" in shown and "Hold back what may be wrong" in shown
    assert f"{reverse('recall')}?code={more_wood.lots['L5'].code}" not in shown  # nobody bought any
    write("2027-02-01 09:00  sell L5 4 from K5 to Hilda", ada)
    sold = page(at_desk, "mixup", **{"a-lot": "L1", "a-wrong": "2", "a-of": "5", "a-variety": "raven"})
    assert "sold to Hilda" in sold and f"{reverse('recall')}?code=" in sold
    more = {"b-lot": "L5", "b-wrong": "0", "b-of": "10", "b-place": "K5"}
    assert "0 of 10 of lot" in page(at_desk, "mixup", **{"a-lot": "L1", "a-wrong": "2", "a-of": "5"}, **more)


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({"a-lot": "L1", "a-wrong": "2"}, "Say this too"),
        ({"a-wrong": "2", "a-of": "5"}, "Say this too"),
        ({"a-lot": "L1", "a-wrong": "6", "a-of": "5"}, "no more are wrong"),
        ({"a-lot": "L1", "a-wrong": "0", "a-of": "5"}, "Nothing was found wrong"),
        ({"a-lot": "L9", "a-wrong": "1", "a-of": "5"}, "no lot marked"),
        ({"a-lot": "L1", "a-wrong": "1", "a-of": "5", "a-place": "Moon"}, "no place and no buyer"),
        ({"a-lot": "L1", "a-wrong": "one", "a-of": "5"}, "Enter a whole number"),
    ],
)
def test_a_wrong_name_that_cannot_be_is_refused(book, at_desk, asked, says):
    shown = page(at_desk, "mixup", 422, **asked)
    assert says in shown and "Where the names got swapped" not in shown


def test_labels_are_held_against_the_book(book, at_desk):
    shown = page(
        at_desk, "scan", place="North", first=f"http://localhost:8137/l/{book.lot.code}", second="L3"
    )
    assert (
        "the book has 30 here" in shown and "Different varieties" in shown and "does not match" not in shown
    )
    assert "does not match" in page(at_desk, "scan", place="South", first="L1")
    assert "Stop here" in page(at_desk, "scan", first="nobody")
    assert "There is no" in page(at_desk, "scan", 422, place="Moon", first="L1")


def test_a_bag_without_a_name_has_likely_owners(book, at_desk):
    shown = page(at_desk, "nameless", place="North", count="30", base_mm="8")
    assert shown.index(str(book.lot)) < shown.index("None of the book")
    left = page(at_desk, "nameless", place="North", count="30", seen=f"{book.lot.code}, L3")
    assert str(book.lot) not in left.split("<form")[0]
    assert "There is no" in page(at_desk, "nameless", 422, place="Moon", count="3")
    assert "no lot marked" in page(at_desk, "nameless", 422, place="North", count="3", seen="L9")


def test_today_leads_to_a_second_scan(book, nursery, at_desk, ada):
    write(
        """
        2027-02-12 05:00  mother M3 Raven blackcurrant
        2027-02-12 06:00  take M3 30 as L5
        """,
        ada,
    )
    shown = at_desk.get("/").content.decode()
    assert "Scan both labels on Bench" in shown and f"{reverse('scan')}?place=Bench" in shown
