"""The page that pairs scions with stocks: asked by its address, nothing booked."""

import pytest
from django.test import Client
from django.urls import reverse

from ortet.ledger.models import Movement, Nursery

pytestmark = pytest.mark.usefixtures("season_kept")

ASKED = {"scions": "8.2 7,6mm 5", "stocks": "7.5\n8 12"}


def test_who_may_ask(book, at_desk, ben_at_desk):
    for desk in (at_desk, ben_at_desk):
        assert desk.get("/match").status_code == 200
        assert desk.get("/match", ASKED).status_code == 200
    for ask in (at_desk.post, at_desk.put, at_desk.delete):
        assert ask("/match").status_code == 405
    assert ben_at_desk.post("/match", ASKED).status_code == 403
    assert Client(REMOTE_ADDR="192.0.2.1").get("/match")["Location"].startswith(reverse("sign-in"))
    assert 'href="/match"' in at_desk.get(reverse("record")).content.decode()


def test_the_closest_of_the_most_pairs_are_shown_and_who_is_left(book, at_desk):
    before = Movement.objects.count()
    answer = at_desk.get("/match", ASKED)
    pairs = [(one.scion.name, one.stock.name) for one in answer.context["found"].pairs]
    # by hand: 7.6 on 7.5 and 8.2 on 8 are 0.3 mm apart in all; 5 and 12 find nobody within 1 mm
    assert pairs == [("S2", "R1"), ("S1", "R2")]
    page = answer.content.decode()
    assert "2 pairs, 0.15 mm apart on average." in page
    assert "Scions left: S3 (5 mm)." in page and "Stocks left: R3 (12 mm)." in page
    assert Movement.objects.count() == before


def test_a_tolerance_of_ones_own_and_inches(book, at_desk):
    assert not at_desk.get("/match", ASKED | {"thicker": "0.01", "thinner": "0"}).context["found"].pairs
    nursery = Nursery.get()
    nursery.units = "US"
    nursery.save()
    found = at_desk.get("/match", {"scions": "0.3", "stocks": "0.31in"}).context["found"]
    assert found.pairs[0].scion.mm == pytest.approx(7.62)


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ({"scions": ""}, "This field is required"),
        ({"scions": "8.2 thick 7"}, "&#x27;thick&#x27; is no thickness"),
        ({"scions": "8.2 0"}, "scion 2"),
        ({"stocks": "-8"}, "&#x27;-&#x27; is no thickness"),
        ({"stocks": "8 2000"}, "stock 2"),
        ({"thicker": "wide"}, "wide"),
    ],
)
def test_nonsense_is_refused_beside_its_field(book, at_desk, said, sentence):
    answer = at_desk.get("/match", ASKED | said)
    assert answer.status_code == 422 and sentence in answer.content.decode()
