"""What is wanted, by page: orders line by line, own targets, what a mother plant may give, what a bench can do."""

import csv
import io
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from ortet.ledger.models import BenchSetup, Buyer, MotherLimit, Nursery, Order, OrderLine, Place, Target
from ortet.work.orders import Line, cancel, limit, order, want

from .test_deeds import DEEDS, sent

pytestmark = pytest.mark.usefixtures("season_kept")

AT = datetime(2027, 2, 1, 9, tzinfo=UTC)
FROM, UNTIL = date(2027, 2, 15), date(2027, 3, 15)
LATE = date(2027, 4, 1)
ORDER = DEEDS["order"][0]


@pytest.fixture
def asked(book, ada):
    """Two buyers with three lines, and two targets."""
    lines = [
        Line(
            "Dusk", 12, FROM, UNTIL, price=Decimal("1.20"), grades=("A", "B"), least=12, instead=("Lantern",)
        ),
        Line("Lantern", 5, UNTIL, LATE, use="grafting", priority=1),
    ]
    order("Tarn Mill", lines, country="de", by=ada, at=AT, note="rings before noon")
    order("Amber Gate", [Line("Dusk", 30, FROM, LATE)], by=ada, at=AT)
    want("Dusk", 40, worth=Decimal("4.5"), wanted_by=date(2027, 5, 15), by=ada, at=AT)
    want("Lantern", 8, purpose="backup", by=ada, at=AT)
    return book


def keys(answer) -> list[str]:
    return [str(wish).split()[-1] for wish in answer.context["page"]]


LISTS = ("/wanted", "/wanted.csv", "/wanted/ourselves", "/wanted/ourselves.csv")


@pytest.mark.parametrize("path", [*LISTS, "/orders/1"])
def test_who_may_look(asked, at_desk, ben_at_desk, path):
    assert at_desk.get(path).status_code == 200
    assert ben_at_desk.get(path).status_code == 200
    assert at_desk.post(path).status_code == 405
    assert Client(REMOTE_ADDR="192.0.2.1").get(path)["Location"].startswith(reverse("sign-in"))


def test_lines_are_found_and_sorted(asked, at_desk):
    assert keys(at_desk.get("/wanted")) == ["1/1", "1/2", "2/1"]
    assert keys(at_desk.get("/wanted", {"q": "tarn lantern"})) == ["1/2"]
    assert keys(at_desk.get("/wanted", {"q": "noon"})) == ["1/1", "1/2"]
    assert keys(at_desk.get("/wanted", {"q": "gooseberry"})) == ["1/2"]
    assert keys(at_desk.get("/wanted", {"sort": "buyer"})) == ["2/1", "1/1", "1/2"]
    assert keys(at_desk.get("/wanted", {"sort": "-count"})) == ["2/1", "1/1", "1/2"]
    assert keys(at_desk.get("/wanted", {"sort": "-window"}))[0] == "1/2"
    assert keys(at_desk.get("/wanted", {"sort": "priority"}))[0] == "1/2"
    for sort in ("price", "-price"):  # what has no price stands last either way
        assert keys(at_desk.get("/wanted", {"sort": sort}))[0] == "1/1"
    assert at_desk.get("/wanted", {"sort": "luck"}).status_code == 422
    assert "No line of an order answers" in at_desk.get("/wanted", {"q": "oak"}).content.decode()


def test_targets_are_found_and_sorted(asked, at_desk):
    assert keys(at_desk.get("/wanted/ourselves")) == ["1", "2"]
    assert keys(at_desk.get("/wanted/ourselves", {"q": "backup"})) == ["2"]
    assert keys(at_desk.get("/wanted/ourselves", {"sort": "count"})) == ["2", "1"]
    assert keys(at_desk.get("/wanted/ourselves", {"sort": "-worth"})) == ["1", "2"]
    assert at_desk.get("/wanted/ourselves", {"sort": "buyer"}).status_code == 422
    assert "answers to" in at_desk.get("/wanted/ourselves", {"q": "oak"}).content.decode()


def test_what_was_cancelled_is_shown_when_asked_for(asked, at_desk):
    cancel("1/1", at=AT)
    cancel("target 1", at=AT)
    assert keys(at_desk.get("/wanted")) == ["1/2", "2/1"]
    assert keys(at_desk.get("/wanted", {"all": "1"})) == ["1/1", "1/2", "2/1"]
    assert keys(at_desk.get("/wanted/ourselves")) == ["2"]
    assert "cancelled</td>" in at_desk.get("/wanted/ourselves", {"all": "1"}).content.decode()
    cancel("1", at=AT)
    cancel("2", at=AT)
    page = at_desk.get("/wanted").content.decode()
    assert "is still wanted" in page and "Nothing is ordered yet" not in page


def test_the_files_hold_what_the_lists_hold(asked, at_desk):
    cancel("2", at=AT)
    saved = list(csv.DictReader(io.StringIO(at_desk.get("/wanted.csv?all=1").content.decode())))
    assert [(row["order"], row["line"], row["buyer"], row["count"], row["state"]) for row in saved] == [
        ("1", "1", "Tarn Mill", "12", "wanted"),
        ("1", "2", "Tarn Mill", "5", "wanted"),
        ("2", "1", "Amber Gate", "30", "cancelled"),
    ]
    assert (saved[0]["price"], saved[0]["instead"], saved[0]["grades"]) == ("1.20", "Lantern", "A,B")
    assert (saved[0]["from"], saved[0]["until"]) == ("2027-02-15", "2027-03-15")
    saved = list(csv.DictReader(io.StringIO(at_desk.get("/wanted/ourselves.csv").content.decode())))
    assert [(row["target"], row["purpose"], row["count"], row["by"]) for row in saved] == [
        ("1", "plants", "40", "2027-05-15"),
        ("2", "backup", "8", ""),
    ]


def test_fifty_lines_a_page(asked, at_desk, ada):
    order("Long List", [Line("Dusk", n, FROM, UNTIL) for n in range(1, 61)], by=ada, at=AT)
    assert len(at_desk.get("/wanted").context["page"]) == 50
    assert len(at_desk.get("/wanted", {"page": 2}).context["page"]) == 13


def test_an_empty_book_says_what_to_do_first(nursery, at_desk, ben_at_desk):
    page = at_desk.get("/wanted").content.decode()
    assert "Nothing is ordered yet" in page and reverse("order") in page
    page = at_desk.get("/wanted/ourselves").content.decode()
    assert "Nothing is wanted for ourselves yet" in page and reverse("want") in page
    assert "/do/" not in ben_at_desk.get("/wanted").content.decode()


def test_one_order_is_shown_whole(asked, at_desk, ben_at_desk):
    page = at_desk.get("/orders/1").content.decode()
    for words in ("Tarn Mill", "goes to DE", "15 Feb to 15 Mar 2027", "rings before noon", "all or nothing", "instead: ‘Lantern’",
                  "grades: A, B", "1.20", "2 lines still wanted"):  # fmt: skip
        assert words in page, words
    assert f"{reverse('cancel')}?what=1/2" in page and f"{reverse('order')}?add_to=1" in page
    assert "/do/" not in ben_at_desk.get("/orders/1").content.decode()
    assert at_desk.get("/orders/7").status_code == 404
    assert at_desk.get("/orders/99999999999999999999").status_code == 404


def test_a_line_noted_leads_on_to_the_next(book, at_desk):
    answer = sent(at_desk, "order", {**ORDER, "country": "de"})
    page = at_desk.get(answer.url).content.decode()
    assert answer.url == "/orders/1" and "12 of ‘Dusk’ noted" in page
    more = f"{reverse('order')}?add_to=1&amp;use=rooting&amp;first_day=2027-02-15&amp;last_day=2027-03-15"
    assert more in page and "Add another line to order 1" in page
    form = at_desk.get(more.replace("&amp;", "&"))
    assert "Add to order 1 of Tarn Mill" in form.content.decode()
    assert 'value="2027-03-15"' in form.content.decode()
    answer = sent(
        at_desk,
        "order",
        {**ORDER, "buyer": "", "add_to": "1", "variety": "lantern", "note": "thin ones"},
    )
    assert answer.url == "/orders/1"
    assert [(line.variety.name, line.note) for line in Order.objects.get().lines.all()] == [
        ("Dusk", ""),
        ("Lantern", "thin ones"),
    ]


def test_all_that_a_line_can_say_is_noted(book, at_desk):
    said = {"grades": "A, B", "least": "12", "price": "1,20", "instead": "Lantern", "priority": "1",
            "country": "de", "note": "gift", "use": "grafting"}  # fmt: skip
    assert sent(at_desk, "order", {**ORDER, **said}).status_code == 302
    line = OrderLine.objects.get()
    assert (line.grades, line.least, line.price, line.priority, line.use) == (
        "A,B",
        12,
        Decimal("1.20"),
        1,
        "grafting",
    )
    assert (line.first_day, line.last_day) == (FROM, UNTIL)
    assert [other.variety.name for other in line.substitutes.all()] == ["Lantern"]
    assert (line.order.country, line.order.note, line.note) == ("DE", "gift", "")


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"buyer": ""}, "An order has a buyer"),
        ({"add_to": "1", "buyer": "Amber Gate"}, "Order 1 is of Tarn Mill"),
        ({"add_to": "1", "buyer": "", "country": "FR"}, "FR: order 1 goes to DE"),
        ({"add_to": "7", "buyer": ""}, "There is no order 7"),
        ({"first_day": "15 Feb"}, "is no day: write it like 2027-02-12"),
        ({"first_day": ""}, "This field is required"),
        ({"least": "13"}, "from 1 to 12"),
        ({"price": "-1"}, "greater than or equal to 0"),
        ({"price": "dear"}, "Enter a number"),
        ({"instead": "Noon"}, "No variety is called &#x27;Noon&#x27;"),
        ({"country": "Q1"}, "as two letters"),
        ({"priority": "9"}, "Select a valid choice"),
        ({"count": "0"}, "greater than or equal to 1"),
    ],
)
def test_an_order_that_makes_no_sense_is_refused_with_its_sentence(asked, at_desk, wrong, sentence):
    before = OrderLine.objects.count(), Buyer.objects.count()
    answer = sent(at_desk, "order", {**ORDER, **wrong})
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert (OrderLine.objects.count(), Buyer.objects.count()) == before


def test_a_target_is_noted_and_may_be_cancelled_at_once(book, at_desk):
    said = {"purpose": "grafts", "variety": "dusk", "count": "9", "worth": "4,50", "priority": "2"}
    answer = sent(at_desk, "want", said)
    target = Target.objects.get()
    assert (target.use, target.worth, target.priority, target.wanted_by) == (
        "grafting",
        Decimal("4.5"),
        2,
        None,
    )
    page = at_desk.get(answer.url).content.decode()
    assert f"{reverse('cancel')}?what=target+1" in page
    assert sent(at_desk, "cancel", {"what": "target 1"}).url == "/wanted/ourselves"
    target.refresh_from_db()
    assert target.ended_at == datetime(2027, 2, 12, 7, tzinfo=UTC)


def test_what_is_to_be_cancelled_is_shown_first(asked, at_desk):
    def meant(what):
        answer = at_desk.get(reverse("cancel"), {"what": what})
        return [str(wish) for wish in answer.context["form"].meant]

    assert meant("1") == ["order 1/1", "order 1/2"]
    assert meant("order 1/2") == ["order 1/2"]
    assert meant("target 2") == ["target 2"]
    assert meant("target none") == meant("7") == meant("1/9") == meant("all") == []
    assert sent(at_desk, "cancel", {"what": "1/2"}).url == "/orders/1"
    assert meant("1") == ["order 1/1"]


def test_a_mother_plants_limit_is_shown_and_changed(book, at_desk, ada):
    def shown():
        return at_desk.get("/mothers/M1").content.decode()

    assert "no limit said" in shown() and f"{reverse('limit')}?mother=M1" in shown()
    said = {"accession": "M1", "cuttings": "60", "at": "2027-02-11T08:00"}
    assert sent(at_desk, "limit", said).url == "/mothers/M1"
    assert "60 cuttings" in shown()
    assert 'value="60"' in at_desk.get(reverse("limit"), {"mother": "M1"}).content.decode()
    sent(at_desk, "limit", {"accession": "m1", "cuttings": "0"})
    assert "it is spared" in shown() and MotherLimit.objects.count() == 2


def test_a_bench_shows_what_it_can_do_and_the_form_starts_from_it(book, at_desk):
    shelf = Place.objects.get(name="Shelf")
    to = reverse("place", args=[shelf.code])
    assert "Nobody said yet how many cuttings fit" in at_desk.get(to).content.decode()
    said = {
        "bench": "shelf",
        "cells": "120",
        "heats": "18, 21,5",
        "air_c": "12",
        "watts_per_k": "7,5",
        "first_day": "2027-02-20",
    }
    assert sent(at_desk, "set-up-bench", said).url == to
    setup = BenchSetup.objects.get()
    assert (setup.heats, setup.watts_per_k, setup.first_day) == ([18, 21.5], 7.5, date(2027, 2, 20))
    page = at_desk.get(to).content.decode()
    for words in ("120 cuttings", "18.0 °C, 21.5 °C", "7.5 W", "from 20 Feb 2027"):
        assert words in page, words
    form = at_desk.get(reverse("set-up-bench"), {"bench": shelf.code}).content.decode()
    assert 'value="18 21.5"' in form and 'value="Shelf"' in form and 'value="2027-02-20"' in form
    assert 'value="7.5"' in form


def test_a_bench_is_set_up_in_the_nurserys_own_degrees(book, nursery, at_desk):
    Nursery.objects.update(units="US")
    said = {"bench": "Shelf", "cells": "50", "heats": "68 77 °F 20C", "air_c": "50"}
    assert sent(at_desk, "set-up-bench", said).status_code == 302
    setup = BenchSetup.objects.get()
    assert setup.heats == pytest.approx([20, 25]) and setup.air_c == pytest.approx(10)
    form = at_desk.get(reverse("set-up-bench"), {"bench": "Shelf"}).content.decode()
    assert 'value="68 77"' in form and 'value="50"' in form


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"heats": "warm"}, "is not a temperature"),
        ({"air_c": "-3"}, "from 0 to 40"),
        ({"cells": ""}, "required"),
    ],
)
def test_a_bench_that_cannot_be_is_refused(book, at_desk, wrong, sentence):
    answer = sent(at_desk, "set-up-bench", {**DEEDS["set-up-bench"][0], **wrong})
    assert answer.status_code == 422 and sentence in answer.content.decode()
    assert not BenchSetup.objects.exists()


def test_the_latest_limit_counts_whenever_it_was_noted(book, ada, at_desk):
    limit("M1", 10, by=ada, at=AT.replace(month=1))
    limit("M1", 20, by=ada, at=AT)
    assert "20 cuttings" in at_desk.get("/mothers/M1").content.decode()


# The nursery's page says what plans rest on


NURSERY = {
    "do": "describe",
    "name": "Low Field",
    "zone": "UTC",
    "units": "metric",
    "address": "http://a.example",
}


def test_what_plans_rest_on_is_kept_and_shown(book, at_desk):
    said = {"country": "de", "region": "by", "last_frost": "05-12", "kwh_price": "0,31", "transit": "1:2 3:2"}
    assert at_desk.post(reverse("nursery"), NURSERY | said).status_code == 302
    here = Nursery.get()
    assert (here.country, here.region, here.last_frost) == ("DE", "BY", "05-12")
    assert (here.kwh_price, here.transit) == (Decimal("0.31"), {"1": 0.5, "3": 0.5})
    page = at_desk.get(reverse("nursery")).content.decode()
    for value in ("DE", "BY", "05-12", "0.31", "1:50 3:50"):
        assert f'value="{value}"' in page
    assert at_desk.post(reverse("nursery"), NURSERY | said | {"transit": "", "region": ""}).status_code == 302
    assert Nursery.get().transit == {"1": 0.5, "2": 0.35, "3": 0.15}  # the usual ones again


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"country": "XX"}, "No calendar of public holidays"),
        ({"country": "DE", "region": "ZZ"}, "has no region"),
        ({"last_frost": "13-40"}, "MM-DD"),
        ({"transit": "1-50"}, "write days and share with a colon"),
        ({"transit": "1:50 1:50"}, "twice"),
        ({"transit": "0:100"}, "1 to 20 working days"),
        ({"transit": "1:inf"}, "is no share"),
        ({"kwh_price": "-1"}, "greater than or equal to 0"),
        ({"kwh_price": ""}, "or 0 where heat costs you nothing"),
    ],
)
def test_what_plans_cannot_rest_on_is_refused_and_nothing_is_kept(book, at_desk, wrong, sentence):
    Nursery.objects.update(kwh_price=Decimal("0.25"))
    answer = at_desk.post(reverse("nursery"), NURSERY | {"kwh_price": "0.3"} | wrong)
    assert answer.status_code == 422 and sentence in answer.content.decode()
    assert (Nursery.get().name, Nursery.get().kwh_price) == ("Hill Nursery", Decimal("0.25"))
