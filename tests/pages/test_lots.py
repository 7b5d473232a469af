"""Lots: found, sorted, paged and saved; one lot whole; where a label's code leads."""

import csv
import io
from datetime import UTC, datetime

import pytest
from django.test import Client
from django.urls import reverse

from ortet import work
from ortet.ledger.models import Lot, Movement
from ortet.wood import code as codes
from tests.writing import write

pytestmark = pytest.mark.usefixtures("season_kept")

PAGES = ["/lots", "/lots.csv"]


def rows(answer) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(answer.content.decode())))


def marks(answer) -> list[str]:
    """Return the marks in the list, from top to bottom."""
    return [lot.mark for lot, _ in answer.context["rows"]]


@pytest.mark.parametrize("path", PAGES)
def test_who_may_look(book, at_desk, ben_at_desk, path):
    assert at_desk.get(path).status_code == 200
    assert ben_at_desk.get(path).status_code == 200
    assert at_desk.post(path).status_code == 405
    stranger = Client(REMOTE_ADDR="192.0.2.1").get(path)
    assert stranger.status_code == 302 and stranger["Location"].startswith(reverse("sign-in"))


def test_a_lot_is_found_by_code_mark_variety_mother_and_place(book, at_desk):
    code = book.lot.code
    for word in (code, codes.show(code), code[:4].lower(), "L1", "dusk", "M1", "K1"):
        assert marks(at_desk.get("/lots", {"q": word})) == ["L1"], word
    assert marks(at_desk.get("/lots", {"q": "no such"})) == []


def test_what_is_used_up_is_listed_on_demand(book, at_desk, ada):
    work.give_up("L3", None, from_place="K3", by=ada, at=book.lot.made_at.replace(month=2))
    work.give_up("L3", None, from_place="Bench", by=ada, at=book.lot.made_at.replace(month=2))
    assert marks(at_desk.get("/lots")) == ["L1"]
    assert sorted(marks(at_desk.get("/lots", {"all": "1"}))) == ["L1", "L3"]


def test_a_press_on_a_heading_sorts_and_a_second_turns_it_round(book, at_desk):
    assert marks(at_desk.get("/lots", {"sort": "count"})) == ["L3", "L1"]
    answer = at_desk.get("/lots", {"sort": "-count", "q": "M"})
    assert marks(answer) == ["L1", "L3"]
    assert 'aria-sort="descending"' in answer.content.decode()
    assert 'href="?q=M&amp;sort=count"' in answer.content.decode()
    refused = at_desk.get("/lots", {"sort": "colour"})
    assert refused.status_code == 422 and "colour" in refused.content.decode()


def test_fifty_lots_a_page(book, at_desk, ada):
    for number in range(50):
        work.take("M1", 2, mark=f"N{number:02}", by=ada, at=book.lot.made_at)
    first, second = at_desk.get("/lots"), at_desk.get("/lots", {"page": "2"})
    assert (len(marks(first)), len(marks(second))) == (50, 2)
    assert not set(marks(first)) & set(marks(second))
    assert "Page 1 of 2" in first.content.decode()
    assert marks(at_desk.get("/lots", {"page": "nonsense"})) == marks(first)


def test_the_file_holds_what_the_list_holds(book, at_desk):
    saved = rows(at_desk.get("/lots.csv", {"sort": "count"}))
    assert [(row["mark"], row["on hand"], row["places"]) for row in saved] == [
        ("L3", "20", "8 in Bench; 12 in K3"),
        ("L1", "40", "10 in Bench; 30 in K1"),
    ]
    assert saved[0]["lot"] == codes.show(book.lots["L3"].code)
    assert saved[0]["taken"] == "2027-01-06T10:00+01:00"


def test_no_cell_of_the_file_is_taken_for_a_formula(book, at_desk):
    work.add_mother("M4", "=HYPERLINK(A1)", "grape")
    work.take("M4", 3, mark="@x", by=Movement.objects.first().by, at=book.lot.made_at)
    saved = rows(at_desk.get("/lots.csv", {"q": "M4"}))
    assert (saved[0]["variety"], saved[0]["mark"]) == ("'=HYPERLINK(A1)", "'@x")


def test_a_lot_shows_where_it_is_how_it_fares_and_what_happened(book, at_desk):
    answer = at_desk.get(reverse("lot", args=[book.lot.code]))
    page = answer.content.decode()
    assert [item.forecast.place for item in answer.context["forecasts"]] == ["Bench", "K1"]
    titles = {one.chart.title for item in answer.context["forecasts"] for one in item.charts}
    assert {
        "Water lost",
        "Free water",
        "Oxygen in the bag",
        "Reserve left",
        "Chill received",
        "Callused",
    } <= titles
    assert "40 taken from mother plant M1" in page
    assert "320.0 g" in page
    assert reverse("mother", args=["M1"]) in page
    first = Movement.objects.get(lot=book.lot, why="taken").number
    assert f"{reverse('correct')}?movement={first}" in page
    assert f"{reverse('labels')}?lot={book.lot.code}" in page


def test_a_chart_tells_its_numbers_in_words_and_in_a_table(book, at_desk):
    page = at_desk.get(reverse("lot", args=[book.lot.code])).content.decode()
    assert (
        page.count("<svg")
        == page.count("<desc")
        == page.count("</details>")
        - len(at_desk.get(reverse("lot", args=[book.lot.code])).context["forecasts"])
    )


def test_ben_may_look_at_a_lot_and_is_offered_no_deed(book, ben_at_desk):
    page = ben_at_desk.get(reverse("lot", args=[book.lot.code])).content.decode()
    assert "/do/" not in page
    assert reverse("labels") in page


def test_lineage_is_shown_both_ways(book, at_desk, ada):
    child = work.split("L1", 5, from_place="Bench", mark="L1b", by=ada, at=book.lot.made_at.replace(month=2))
    assert "split off, 5 cuttings" in at_desk.get(reverse("lot", args=[book.lot.code])).content.decode()
    assert "gave 5 cuttings to" in at_desk.get(reverse("lot", args=[child.code])).content.decode()


def test_a_lot_that_is_gone_still_tells_its_history(book, at_desk, ada):
    for place in ("Bench", "K1"):
        work.give_up("L1", None, from_place=place, by=ada, at=book.lot.made_at.replace(month=2))
    page = at_desk.get(reverse("lot", args=[book.lot.code])).content.decode()
    assert "Nothing of this lot is on hand" in page and "30 given up from K1" in page
    assert "<svg" not in page


def test_an_unknown_lot_is_not_found_and_a_mistyped_one_is_told_so(book, at_desk):
    other = next(code for code in map(codes.make, range(9)) if not Lot.objects.filter(code=code).exists())
    assert "no lot in this book carries it" in at_desk.get(f"/lots/{other}").content.decode()
    swapped = book.lot.code[:7] + ("0" if book.lot.code[7] != "0" else "1")
    answer = at_desk.get(f"/lots/{swapped}")
    assert answer.status_code == 404


@pytest.mark.parametrize("path", ["lot", "from-label"])
def test_who_may_open_a_lot(book, at_desk, path):
    to = reverse(path, args=[book.lot.code])
    assert at_desk.post(to).status_code == 405
    stranger = Client(REMOTE_ADDR="192.0.2.1").get(to)
    assert stranger["Location"].startswith(reverse("sign-in")) and book.lot.code in stranger["Location"]


def test_a_label_leads_to_its_lot_or_bag_however_it_is_typed(book, at_desk):
    lot = reverse("lot", args=[book.lot.code])
    shown = codes.show(book.lot.code)
    for typed in (book.lot.code, book.lot.code.lower(), shown, shown.lower()):
        assert at_desk.get(f"/l/{typed}")["Location"] == lot
    bag = book.places["K1"]
    assert at_desk.get(f"/l/{bag.code.lower()}")["Location"] == reverse("place", args=[bag.code])
    assert at_desk.get("/l/ZZZZ").status_code == 404


def test_variety_names_are_shown_as_text(nursery, ada, at_desk):
    work.add_mother("M<1>", "<b>Bold</b>", "grape")
    lot = write("2027-01-05 09:00  take M<1> 4 as L9", ada).lots["L9"]
    for path in ("/lots", reverse("lot", args=[lot.code]), "/mothers", reverse("mother", args=["M<1>"])):
        page = at_desk.get(path).content.decode()
        assert "<b>Bold" not in page and "&lt;b&gt;Bold" in page


def test_a_lot_is_graded_by_practice_and_by_what_is_published_for_its_kind(book, ada, at_desk):
    """EU vine: graftable is 6.5 to 12 mm at the thin end, 15 mm at most at the base. Washington: 228.6 mm long or more."""
    write("2027-01-05 09:00  mother V1 Madder grape\n2027-01-05 09:10  mother E1 Elda elder\n", ada)
    sizes = {"length_mm": 220.0, "base_mm": 9.0, "tip_mm": 7.0, "nodes": 4, "by": ada}
    vine = work.take("V1", 5, at=datetime(2027, 1, 6, tzinfo=UTC), **sizes)
    elder = work.take("E1", 5, at=datetime(2027, 1, 6, tzinfo=UTC), **sizes)
    found = dict(at_desk.get(f"/lots/{vine.code}").context["graded"])
    assert [one.grade and one.grade.name for one in found.values()] == ["rooting", "graftable", None]
    page = at_desk.get(f"/lots/{vine.code}").content.decode()
    assert "By Vine cuttings, European Union" in page and "220.0 mm long, takes 228.6 or more" in page
    assert list(dict(at_desk.get(f"/lots/{elder.code}").context["graded"])) == ["common practice"]
