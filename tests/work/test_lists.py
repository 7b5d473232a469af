"""Lists: what is numbered comes in the order of its numbers, on both databases, page by page."""

import pytest

from ortet import work
from ortet.ledger.models import Place
from ortet.work import lists

pytestmark = pytest.mark.django_db
NAMES = ["Mat 10", "Mat 2", "mat 1", "Mat 2b", "Heat bed", "Mat 09"]
BY_NUMBER = ["Heat bed", "mat 1", "Mat 2", "Mat 2b", "Mat 09", "Mat 10"]


@pytest.fixture
def benches():
    for name in NAMES:
        work.add_place(name, "bench")


@pytest.mark.usefixtures("benches")
def test_places_come_in_the_order_of_their_numbers():
    found = lists.places("")
    assert [place.name for place in found] == BY_NUMBER
    assert [place.name for place in lists.places("", sort="-name")] == BY_NUMBER[::-1]
    assert (len(found), found.count()) == (6, 6)
    assert [place.name for place in found[2:4]] == BY_NUMBER[2:4]
    assert [place.name for place in found[5:9]] == BY_NUMBER[5:]


@pytest.mark.usefixtures("benches")
def test_a_search_and_another_order_are_as_before():
    assert [place.name for place in lists.places("2")] == ["Mat 2", "Mat 2b"]
    assert {place.name for place in lists.places("", sort="count")} == set(NAMES)
    with pytest.raises(work.Refused, match="places are not sorted by 'size'"):
        lists.places("", sort="size")


def test_mother_plants_come_in_the_order_of_their_numbers():
    for accession in ("R-12", "R-3", "P-20"):
        work.add_mother(accession, f"Kind {accession}", "blackcurrant")
    assert [one.accession for one in lists.mothers("")] == ["P-20", "R-3", "R-12"]


@pytest.mark.usefixtures("benches")
def test_what_left_the_list_meanwhile_is_left_out():
    found = lists.places("mat")
    Place.objects.filter(name="mat 1").update(name="Table 1", name_key="table 1")
    assert [place.name for place in found] == BY_NUMBER[2:]
