"""Places: found and saved; a bag with its weighings, a cold place with its record, a site with its plants."""

import csv
import io

import numpy as np
import pytest
from django.test import Client
from django.urls import reverse

from ortet import work
from ortet.ledger.climate import add_readings
from ortet.ledger.models import Place

pytestmark = pytest.mark.usefixtures("season_kept")

HOUR = 3600
END = 1802415600  # 2027-02-12 07:00 UTC, the nursery's now


def names(answer) -> list[str]:
    return [place.name for place in answer.context["page"]]


def open_place(client: Client, name: str, **asked: str):
    return client.get(reverse("place", args=[Place.objects.get(name=name).code]), asked)


@pytest.fixture
def recorded(book):
    """Forty days of a fridge at 3 °C with a warm night six days ago and ten hours that are missing."""
    hours = np.arange(END - 40 * 24 * HOUR, END, HOUR)
    air = np.full(len(hours), 3.0)
    air[-6 * 24 : -6 * 24 + 5] = 9.0
    kept = np.ones(len(hours), dtype=bool)
    kept[-48:-38] = False
    add_readings(book.places["North"], hours[kept], air[kept], np.full(kept.sum(), 0.9))
    return book


@pytest.mark.parametrize("path", ["/places", "/places.csv"])
def test_who_may_look(book, at_desk, ben_at_desk, path):
    assert at_desk.get(path).status_code == 200
    assert ben_at_desk.get(path).status_code == 200
    assert at_desk.post(path).status_code == 405
    assert Client(REMOTE_ADDR="192.0.2.1").get(path)["Location"].startswith(reverse("sign-in"))


def test_places_are_found_by_name_kind_and_what_lies_within(book, at_desk):
    assert {"Bench", "K1", "K3", "North", "South", "Shelf", "Hill"} == set(names(at_desk.get("/places")))
    assert names(at_desk.get("/places", {"kind": "bag"})) == ["K1", "K3"]
    assert names(at_desk.get("/places", {"q": "lantern"})) == ["Bench", "K3"]
    assert names(at_desk.get("/places", {"kind": "bag", "sort": "-count"})) == ["K1", "K3"]
    assert "No place answers" in at_desk.get("/places", {"q": "attic"}).content.decode()


def test_a_bag_that_was_emptied_is_listed_where_it_is_asked_for(book, at_desk, ada):
    work.move("L1", None, from_place="K1", to_place="Bench", by=ada, at=book.lot.made_at.replace(month=2))
    assert names(at_desk.get("/places", {"kind": "bag"})) == ["K3"]
    assert names(at_desk.get("/places", {"kind": "bag", "all": "1"})) == ["K1", "K3"]
    assert {"North", "South", "Shelf", "Hill"} <= set(names(at_desk.get("/places")))
    saved = at_desk.get("/places.csv", {"kind": "bag"}).content.decode()
    assert "K3" in saved and "K1" not in saved


def test_a_search_changes_no_count(book, at_desk, ada):
    """A search looks through the same balances that are summed."""
    work.move("L3", 2, from_place="Bench", to_place="K1", by=ada, at=book.lot.made_at.replace(month=2))
    every = {place.name: (place.lots, place.on_hand) for place in at_desk.get("/places").context["page"]}
    assert every["K1"] == (2, 32)
    for word in ("k", "e", "dusk"):
        found = at_desk.get("/places", {"q": word}).context["page"]
        assert {place.name: (place.lots, place.on_hand) for place in found}.items() <= every.items()


def test_the_file_holds_what_the_list_holds(book, at_desk):
    saved = list(csv.DictReader(io.StringIO(at_desk.get("/places.csv", {"kind": "bag"}).content.decode())))
    assert [(row["name"], row["lots"], row["cuttings"]) for row in saved] == [
        ("K1", "1", "30"),
        ("K3", "1", "12"),
    ]


def test_a_bag_shows_what_lies_in_it_where_it_stands_and_how_it_fares(book, at_desk):
    answer = open_place(at_desk, "K1")
    page = answer.content.decode()
    assert [balance.count for balance in answer.context["seen"].contents] == [30]
    assert reverse("place", args=[book.places["North"].code]) in page
    assert [one.chart.title for one in answer.context["charts"]] == [
        "Water lost",
        "Free water",
        "Oxygen in the bag",
    ]
    assert f"{reverse('weigh')}?bag={book.places['K1'].code}" in page


def test_a_loss_counts_only_while_the_same_wood_lies_in_the_bag(book, at_desk, ada):
    at = book.lot.made_at.replace(month=2, day=1)
    work.weigh("K1", 311, by=ada, at=at)
    work.move("L1", 5, from_place="K1", to_place="Bench", by=ada, at=at.replace(day=2))
    work.weigh("K1", 262, by=ada, at=at.replace(day=3))
    work.weigh("K1", 260, by=ada, at=at.replace(day=4))
    lost = [weighing.lost_g for weighing in open_place(at_desk, "K1").context["seen"].weighings]
    assert lost == [None, pytest.approx(9), None, pytest.approx(2)]


def test_a_withdrawn_weighing_is_not_shown(book, at_desk, ada):
    reading = work.weigh("K1", 399, by=ada, at=book.lot.made_at.replace(month=2))
    assert "399.0" in open_place(at_desk, "K1").content.decode()
    work.withdraw(reading.pk, by=ada, at=reading.at, note="misread")
    assert "399.0" not in open_place(at_desk, "K1").content.decode()


def test_a_cold_place_shows_the_bags_that_stand_in_it_now(book, at_desk, ada):
    assert {bag.name for bag in open_place(at_desk, "North").context["seen"].bags} == {"K1", "K3"}
    work.stand("K3", "South", by=ada, at=book.lot.made_at.replace(month=2))
    assert {bag.name for bag in open_place(at_desk, "North").context["seen"].bags} == {"K1"}
    assert [(bag.name, bag.on_hand) for bag in open_place(at_desk, "South").context["seen"].bags] == [
        ("K3", 12)
    ]


def test_a_cold_place_shows_its_record_and_what_is_missing_of_it(recorded, at_desk):
    temperature, humidity = (one.chart for one in open_place(at_desk, "North").context["charts"])
    assert temperature.says.startswith("3.0 to 9.0\N{NO-BREAK SPACE}°C")
    assert "Nothing was recorded in 10 of 672 hours." in temperature.says
    assert humidity.says.startswith("90.0 to 90.0")
    week = open_place(at_desk, "North", days="7").context["charts"][0].chart
    assert len(week.at) == 7 * 24
    assert len(open_place(at_desk, "North", days="365").context["charts"][0].chart.at) == 40 * 24
    assert len(open_place(at_desk, "North", days="-1").context["charts"][0].chart.at) == 28 * 24


def test_a_record_is_shown_in_the_growers_units(recorded, at_desk, nursery):
    nursery.units = "US"
    nursery.save()
    chart = open_place(at_desk, "North").context["charts"][0].chart
    assert chart.says.startswith("37.4 to 48.2\N{NO-BREAK SPACE}°F")  # 3 °C and 9 °C by definition


def test_what_is_recorded_after_now_is_not_shown(recorded, at_desk):
    later = np.array([END + 5 * HOUR])
    add_readings(recorded.places["North"], later, np.array([25.0]), np.array([0.5]))
    assert "25.0" not in open_place(at_desk, "North").context["charts"][0].chart.says


def test_a_cold_place_without_a_record_says_what_is_assumed(book, at_desk):
    assert "2 to 4 °C is assumed" in open_place(at_desk, "North").content.decode()


def test_a_site_shows_its_mother_plants(book, at_desk):
    page = open_place(at_desk, "Hill").content.decode()
    assert reverse("mother", args=["M1"]) in page and reverse("mother", args=["M2"]) in page


def test_who_may_open_a_place(book, at_desk, ben_at_desk):
    to = reverse("place", args=[book.places["K1"].code])
    assert "/do/" not in ben_at_desk.get(to).content.decode()
    assert at_desk.post(to).status_code == 405
    assert Client(REMOTE_ADDR="192.0.2.1").get(to).status_code == 302
    assert at_desk.get("/places/nowhere").status_code == 404
