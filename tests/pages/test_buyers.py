"""Buyers, payments, protected varieties and erasing, by page: Ada may write, Ben may read, a stranger signs in."""

import io
import sys
import zipfile
from datetime import UTC, date, datetime
from decimal import Decimal as D
from uuid import uuid4

import pytest
from django.conf import settings
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from ortet import work
from ortet.ledger.models import Buyer, Erasure, Order, Payment, Variety, Warrant
from ortet.pages.logs import WithoutRows
from ortet.tables.columns import BUYERS, ORDERS
from ortet.work.orders import Line, cancel, order
from ortet.work.payments import pay

pytestmark = pytest.mark.usefixtures("season_kept")

AT = datetime(2027, 2, 1, 9, tzinfo=UTC)
FROM, UNTIL = date(2027, 2, 15), date(2027, 3, 15)
LOOKS = ("/buyers", "/buyers.csv", "/orders.csv")


@pytest.fixture
def asked(book, ada):
    """Two buyers, one of whom owes."""
    work.buyer("Tarn Mill", address="Mill Lane 3", email="mill@tarn.example", country="DE", is_trade=True)
    order("Tarn Mill", [Line("Dusk", 10, FROM, UNTIL, price=D("1.20"))], carriage=D(3), by=ada, at=AT)
    order("Amber Gate", [Line("Dusk", 3, FROM, UNTIL)], by=ada, at=AT)
    pay(1, D(5), is_deposit=True, how="cash", by=ada, at=AT)
    return Buyer.objects.get(name="Tarn Mill")


def sent(client, deed, **said):
    whole = {"id": uuid4(), "at": "2027-02-12T08:00", **said}
    return client.post(reverse(deed), whole)


def test_who_may_look(asked, at_desk, ben_at_desk):
    for path in (*LOOKS, f"/buyers/{asked.pk}", f"/buyers/{asked.pk}/all.zip"):
        assert at_desk.get(path).status_code == 200, path
        assert ben_at_desk.get(path).status_code == 200, path
        assert at_desk.post(path).status_code == 405
        assert Client(REMOTE_ADDR="192.0.2.1").get(path)["Location"].startswith(reverse("sign-in"))
    assert at_desk.get("/buyers/9999").status_code == 404


@pytest.mark.parametrize("deed", ["pay", "charge", "warrant", "variety", "buyer", "erase-buyer"])
def test_who_may_write(asked, at_desk, ben_at_desk, deed):
    assert at_desk.get(reverse(deed)).status_code == 200
    assert ben_at_desk.get(reverse(deed)).status_code == 200
    assert ben_at_desk.post(reverse(deed), {}).status_code == 403
    assert at_desk.put(reverse(deed)).status_code == 405
    assert at_desk.post(reverse(deed), {}).status_code == 422


def test_buyers_are_found_sorted_and_saved(asked, at_desk):
    names = [who.name for who in at_desk.get("/buyers").context["page"]]
    assert names == sorted(names) and "Tarn Mill" in names
    assert [who.name for who in at_desk.get("/buyers", {"q": "mill lane"}).context["page"]] == ["Tarn Mill"]
    assert at_desk.get("/buyers", {"sort": "luck"}).status_code == 422
    assert "No buyer" in at_desk.get("/buyers", {"q": "oak"}).content.decode()
    assert "Tarn Mill" not in at_desk.get("/buyers", {"done": "1"}).content.decode()
    saved = at_desk.get("/buyers.csv", {"q": "tarn"}).content.decode().splitlines()
    assert saved == [
        ",".join(column.name for column in BUYERS.columns),
        "Tarn Mill,Mill Lane 3,mill@tarn.example,DE,trade,,",
    ]
    assert at_desk.get("/orders.csv").content.decode().splitlines()[0] == ",".join(
        c.name for c in ORDERS.columns
    )


def test_a_buyer_shows_orders_and_what_is_owed(asked, at_desk):
    said = at_desk.get(f"/buyers/{asked.pk}").content.decode()
    for words in ("Mill Lane 3", "mill@tarn.example", "10.00", "1 order is open", "Ribes nigrum ‘Dusk’"):
        assert words in said
    seen = at_desk.get("/orders/1").content.decode()
    for words in ("15.00", "Paid: 5.00", "Owed: <strong>10.00</strong>", "deposit, cash"):
        assert words in seen


def test_a_buyer_is_changed_and_a_payment_noted_once(asked, at_desk):
    form = at_desk.get(reverse("buyer"), {"name": "Tarn Mill"}).context["form"]
    assert (form["address"].value(), form["is_trade"].value()) == ("Mill Lane 3", True)
    assert sent(at_desk, "buyer", name="Tarn Mill", seen="1", address="", country="at").status_code == 302
    asked.refresh_from_db()
    assert (asked.address, asked.country, asked.is_trade) == ("", "AT", False)
    paid = {"id": uuid4(), "order": 1, "way": "in", "amount": "10", "on": "2027-02-12"}
    for _ in range(2):
        sent(at_desk, "pay", **paid)
    assert [one.amount for one in Payment.objects.order_by("at")] == [5, 10]
    assert "Nothing is owed" in at_desk.get("/orders/1").content.decode()
    assert sent(at_desk, "pay", order=1, way="out", amount="99").status_code == 422
    sent(at_desk, "pay", order=1, way="out", amount="1.50")
    assert Payment.objects.filter(amount=D("-1.50")).exists()
    assert sent(at_desk, "charge", order=1, carriage="4,50").status_code == 302
    assert Order.objects.get(number=1).carriage == D("4.50")


def test_an_order_with_tax_carriage_or_as_a_swap(asked, at_desk):
    said = {
        "buyer": "Elm",
        "variety": "Dusk",
        "count": 4,
        "use": "rooting",
        "first_day": FROM,
        "last_day": UNTIL,
    }
    sent(at_desk, "order", **said, price="2", tax_percent="8,875", tax_note="fruit", carriage="3")
    made = Order.objects.get(number=3)
    assert (made.carriage, made.lines.get().tax_percent, made.lines.get().tax_note) == (
        3,
        D("8.875"),
        "fruit",
    )
    assert "tax 8.875 %" in at_desk.get("/orders/3").content.decode()
    assert sent(at_desk, "order", **said, price="2", is_swap="on").status_code == 422
    sent(at_desk, "order", **said, is_swap="on", in_return="an old quince")
    assert Order.objects.get(number=4).is_swap
    assert "an old quince" in at_desk.get("/orders/4").content.decode()
    assert sent(at_desk, "pay", order=4, way="in", amount="1").status_code == 422


def test_a_protected_variety_stops_and_goes_on(asked, at_desk):
    sent(at_desk, "variety", name="Dusk", seen="1", right="title 9 of Tarn", group="Nightfall Group",
         selling_name="Moonrise", right_until="2040-12-31")  # fmt: skip
    dusk = Variety.objects.get(name="Dusk")
    assert (dusk.group, dusk.selling_name, dusk.right_until) == ("Nightfall", "Moonrise", date(2040, 12, 31))
    said = at_desk.get("/orders/1").content.decode()
    assert "Stopped:" in said and "Ask the rights holder" in said
    assert "(Nightfall Group) ‘Dusk’ MOONRISE" in said
    assert sent(at_desk, "warrant", variety="Dusk", leave="licence").status_code == 422
    assert sent(at_desk, "warrant", variety="Dusk", leave="licence", words="Tarn, no. 4").status_code == 302
    assert Warrant.objects.count() == 1
    assert "Stopped:" not in at_desk.get("/orders/1").content.decode()
    mother = dusk.mothers.first()
    assert "Tarn, no. 4" in at_desk.get(reverse("mother", args=[mother.accession])).content.decode()


def test_all_that_is_held_and_erasing(asked, at_desk, ada):
    answer = at_desk.get(f"/buyers/{asked.pk}/all.zip")
    assert answer["Content-Disposition"] == f'attachment; filename="buyer-{asked.pk}.zip"'
    with zipfile.ZipFile(io.BytesIO(answer.content)) as files:
        assert b"mill@tarn.example" in files.read("buyer.json")
    refused = sent(at_desk, "erase-buyer", buyer="Tarn Mill")
    assert refused.status_code == 422 and "still needed" in refused.content.decode()
    needed = sent(at_desk, "erase-buyer", buyer="Tarn Mill", reason="asked for it")
    assert needed.status_code == 422 and "End each first" in needed.content.decode()
    cancel("1", at=AT)
    pay(1, D(-5), by=ada, at=AT)
    assert sent(at_desk, "erase-buyer", buyer="Tarn Mill").status_code == 422  # the last dealing is young
    assert sent(at_desk, "erase-buyer", buyer="Tarn Mill", reason="asked for it").status_code == 302
    said = at_desk.get(f"/buyers/{asked.pk}").content.decode()
    assert "Mill Lane" not in said and f"buyer {asked.pk}, erased" in said
    assert Erasure.objects.count() == 1


def test_logs_hold_no_address(asked, at_desk, ben_at_desk, capfd, caplog, monkeypatch):
    """What is refused, not found, forbidden or breaks is logged by its page, without what was typed or asked for."""
    secret, name = (
        "Osier Row 17",
        asked.name,
    )  # a trace quotes the lines of this test: no words of theirs stand in them
    at_desk.get("/buyers/9999", {"q": secret})
    at_desk.get("/nowhere", {"q": secret})
    ben_at_desk.post(reverse("buyer"), {"name": name, "address": secret})
    at_desk.put(f"/buyers/{asked.pk}?q={secret}")
    sent(at_desk, "erase-buyer", buyer=secret)

    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("broken")

    monkeypatch.setattr("ortet.work.dealings.view", broken)
    at_desk.raise_request_exception = False
    assert at_desk.get(f"/buyers/{asked.pk}", {"q": secret}).status_code == 500
    logged = caplog.text + "".join(capfd.readouterr())
    assert f"/buyers/{asked.pk}" in logged and "broken" in logged
    assert [word for word in (secret, "Mill Lane", "mill@tarn.example", name) if word in logged] == []


def test_a_trace_holds_no_row_that_the_database_refused(asked):
    """PostgreSQL's DETAIL quotes a row or a key; below it as its manual shows it, over two lines as an address has. [published]"""
    secret = "Osier Row 17"
    work.buyer(secret)
    told = []
    for text in (
        "",
        f"violates\nDETAIL:  Failing row contains (7, {secret}\n4711 {secret}).\nCONTEXT:  here",
    ):
        try:
            with transaction.atomic():
                if text:
                    raise IntegrityError(text)
                Buyer.objects.filter(pk=asked.pk).update(name_key=Buyer.objects.get(name=secret).name_key)
        except IntegrityError:
            told.append(WithoutRows().formatException(sys.exc_info()))
    assert len(told) == 2 and told[1].endswith("violates\nCONTEXT:  here")
    assert all("IntegrityError" in one and secret.casefold() not in one.casefold() for one in told)
    assert {handler["formatter"] for handler in settings.LOGGING["handlers"].values()} == {"without_rows"}


def test_a_number_of_thousands_of_digits_names_no_order(asked, at_desk):
    for page in ("pay", "charge"):
        assert at_desk.get(reverse(page), {"order": "9" * 5000}).status_code == 200
    for what in ("target ", ""):
        assert at_desk.get(reverse("cancel"), {"what": what + "9" * 5000}).status_code == 200
