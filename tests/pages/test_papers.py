"""Papers by address: whoever may read may print, nothing is booked, and what may not be printed says why."""

import re
from datetime import date, datetime
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from ortet import work
from ortet.ledger.models import Movement, Nursery, ReportLink
from ortet.work import orders
from ortet.work.nursery import papers_with, plan_with
from ortet.work.packing import pack
from tests.paper.reading import codes, pages

from .conftest import NOW

AT = datetime.fromisoformat(NOW)
PDFS = (
    "/pick.pdf?order=1",
    "/orders/1/address.pdf",
    "/orders/1/ask-before-posting.pdf?zone",
    "/outgoing/1/slip.pdf?prices",
    "/outgoing/1/address.pdf",
    "/outgoing/1/advice.pdf",
    "/papers?make=documents&lots={lot}&body=NAK",
)


@pytest.fixture
def parcel(book, ada):
    """Ten of Dusk are packed for Hedge, five are still to be picked."""
    plan_with(country="NL")
    window = (date(2027, 2, 1), date(2027, 2, 20))
    lines = [orders.Line("Dusk", 15, *window, price=Decimal("1.50"))]
    orders.order("Hedge", lines, by=ada, at=AT, country="FR")
    work.buyer("Hedge", address="Tithe Barn 2")
    return pack("1", "K1", 10, by=ada, at=AT).to_place.parcel


def addresses(book):
    return [one.format(lot=book.lot.code) for one in (*PDFS, "/lots/{lot}/advice.pdf?count=3&to=FR")]


def test_who_may_print(book, parcel, at_desk, ben_at_desk):
    before = Movement.objects.count(), ReportLink.objects.count()
    for address in addresses(book):
        for client in (at_desk, ben_at_desk):
            answer = client.get(address)
            assert answer.status_code == 200 and answer["Content-Type"] == "application/pdf", address
            assert (
                answer.content.startswith(b"%PDF") and 'inline; filename="' in answer["Content-Disposition"]
            )
        assert ben_at_desk.head(address).status_code == 200
        assert Client(REMOTE_ADDR="192.0.2.1").get(address)["Location"].startswith(reverse("sign-in"))
        assert at_desk.put(address).status_code == 405 and at_desk.delete(address).status_code == 405
        if "outgoing/1/advice" not in address:
            assert at_desk.post(address).status_code == 405
    assert (Movement.objects.count(), ReportLink.objects.count()) == before


def test_the_code_on_the_pick_list_opens_its_line_to_be_packed(parcel, at_desk):
    (code,) = set(codes(at_desk.get("/pick.pdf?order=1").content))
    page = at_desk.get(code[len(Nursery.get().address) :], follow=True)
    assert page.status_code == 200 and "Dusk" in page.content.decode() and "1/1" in page.content.decode()


def test_a_link_is_printed_only_by_who_may_write(parcel, at_desk, ben_at_desk):
    address = reverse("parcel-advice", args=[1])
    assert ben_at_desk.post(address).status_code == 403 and not ReportLink.objects.exists()
    answer = at_desk.post(address)
    (code,) = codes(answer.content)
    assert re.fullmatch(r"http://localhost:8137/r/[\w-]{20}", code) and ReportLink.objects.count() == 1
    assert codes(at_desk.get(address).content) == []


@pytest.mark.parametrize(
    ("address", "status", "words"),
    [
        ("/pick.pdf?order=x", 422, "whole number"),
        ("/pick.pdf?order=9", 404, "no order 9"),
        ("/outgoing/9/slip.pdf", 404, "No parcel 9"),
        ("/outgoing/1/slip.pdf?passports", 422, "authorised"),
        ("/outgoing/1/slip.pdf?paper=a9", 422, "a4 or letter"),
        ("/orders/9/address.pdf", 404, "no order 9"),
        ("/books/receipts/9.pdf", 404, "no receipt 9"),
        ("/lots/ZZZZ/advice.pdf", 404, "ZZZZ"),
        ("/papers?make=passports&lots=L1", 422, "authorised"),
        ("/papers?make=documents&lots=L1&body=", 422, "required"),
        ("/papers?make=documents&body=NAK", 422, "lots, or one parcel"),
        ("/papers?make=destination&to=1x", 422, "two letters"),
    ],
)
def test_what_cannot_be_printed_says_why(address, status, words, parcel, at_desk):
    answer = at_desk.get(address)
    assert answer.status_code == status and words in answer.content.decode()


def test_the_page_says_what_to_ask_and_offers_passports_only_to_who_may_issue_them(parcel, at_desk):
    page = at_desk.get("/papers").content.decode()
    assert "none are printed" in page and "Make the passports" not in page and "permits nothing" in page
    asked = at_desk.get("/papers?make=destination&to=US&trade=on").content.decode()
    assert "From Netherlands to United States" in asked and "import permit" in asked
    papers_with(operator="123456789")
    page = at_desk.get("/papers?parcel=1").content.decode()
    assert "Make the passports" in page and 'value="1"' in page
    pdf = at_desk.get("/papers?make=passports&parcel=1&each=2&pests=ERWIAM,+XYLEFA&language=de").content
    text = " ".join(pages(pdf))
    assert (
        text.count("Pflanzenpass - Schutzgebiet / Plant Passport - PZ ERWIAM, XYLEFA") == 2
        and "B. NL-123456789" in text
    )
    assert "Plant Passport" in " ".join(pages(at_desk.get("/outgoing/1/slip.pdf?passports").content))


def test_buttons_stand_where_they_are_looked_for(book, parcel, at_desk):
    papers_with(operator="123456789")
    order = at_desk.get("/orders/1").content.decode()
    for name, args in (("order-checklist", [1]), ("order-address", [1]), ("pick-list", [])):
        assert reverse(name, args=args) in order
    assert "From Netherlands to France" in order and "Is the place it goes to a protected zone" in order
    lot = at_desk.get(f"/lots/{book.lot.code}").content.decode()
    assert (
        reverse("lot-advice", args=[book.lot.code]) in lot
        and f"/papers?lots={book.lot.code}#passports" in lot
    )
    out = at_desk.get("/outgoing/1").content.decode()
    for name in ("parcel-slip", "parcel-address", "parcel-advice"):
        assert reverse(name, args=[1]) in out
    assert reverse("pick-list") in at_desk.get("/pick?order=1").content.decode()


def test_the_nursery_keeps_what_papers_carry(book, at_desk):
    said = {
        "do": "describe",
        "name": "Low Field",
        "zone": "UTC",
        "units": "metric",
        "address": "http://localhost:8137",
    }
    more = {
        "letterhead": "Low Field\nKiln Lane",
        "contact": "a@b.example",
        "operator": "7",
        "paper": "letter",
        "currency": "gbp",
    }
    assert at_desk.post(reverse("nursery"), said | more).status_code == 302
    here = Nursery.get()
    assert (here.letterhead, here.contact, here.operator) == ("Low Field\nKiln Lane", "a@b.example", "7")
    assert (here.paper, here.currency) == ("letter", "GBP")
    answer = at_desk.post(reverse("nursery"), said | more | {"currency": "x1y"})
    assert answer.status_code == 422 and "three letters" in answer.content.decode()
