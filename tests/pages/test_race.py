"""The page that plays roots against leaves: asked by address, nothing booked, a lot's own chill used."""

import pytest
from django.test import Client
from django.urls import reverse

from ortet.ledger.models import Movement

pytestmark = pytest.mark.usefixtures("season_kept")


def page(client: Client, status: int = 200, **said: str) -> str:
    answer = client.get(reverse("race"), said)
    assert answer.status_code == status, answer.content.decode()
    return answer.content.decode()


def test_who_may_look(book, at_desk, ben_at_desk):
    assert at_desk.get("/race").status_code == 200
    assert ben_at_desk.get("/race", {"kind": "grape"}).status_code == 200
    assert at_desk.post("/race", {"kind": "grape"}).status_code == 405
    assert at_desk.delete("/race").status_code == 405
    assert Client(REMOTE_ADDR="192.0.2.1").get("/race")["Location"].startswith(reverse("sign-in"))


def test_a_warm_base_in_a_cool_room_roots_first_and_a_cold_base_does_not(book, at_desk):
    assert "Roots come first" in page(at_desk, kind="grape", base_c="26", air_c="8")
    late = page(at_desk, kind="grape", base_c="15", air_c="22")
    assert "Leaves come first too often" in late and "With " in late
    assert "too cold or too hot to root" in page(at_desk, kind="grape", base_c="5", air_c="22")


def test_a_lots_page_leads_here_and_its_own_chill_is_used(book, at_desk):
    lot = book.lot
    shown = at_desk.get(reverse("lot", args=[lot.code])).content.decode()
    assert f"{reverse('race')}?lot={lot.code}" in shown
    raced, before = page(at_desk, lot=lot.code), Movement.objects.count()
    assert "Chill so far" in raced and "more each week while" in raced and Movement.objects.count() == before
    assert "Chill so far" not in page(at_desk, lot="L1", on="2027-03-01", chill="80")


def test_curves_and_what_moves_it_stand_on_the_page(book, at_desk):
    shown = page(at_desk, kind="rose", base_c="22", air_c="18")
    for words in (
        "Rooted, of those that can",
        "In leaf",
        "Another base",
        "Another air",
        "Another day",
        "as asked",
    ):
        assert words in shown
    assert shown.count("<svg") == 3


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({"kind": "oak"}, "Select a valid choice"),
        ({"lot": "nothing"}, "no lot"),
        ({"kind": "grape", "on": "1999-01-01"}, "from today to a year ahead"),
        ({"kind": "grape", "base_c": "hot"}, "not a temperature"),
        ({"kind": "grape", "air_c": "70"}, "what a bench can have"),
        ({"kind": "grape", "chill": "-1"}, "greater than or equal to 0"),
    ],
)
def test_what_cannot_be_is_refused(book, at_desk, asked, says):
    assert says in page(at_desk, 422, **asked)


def test_fahrenheit_by_the_nurserys_choice(book, nursery, at_desk):
    from ortet.work import nursery as hands

    hands.describe(units="US")
    shown = page(at_desk, kind="grape", base_c="79", air_c="64")
    assert "79.0 °F" in shown and "64.0 °F" in shown
