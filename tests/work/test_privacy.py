"""A buyer's data as files, and their erasure: names and addresses go, counts, sales and sums stay, the book holds."""

import csv
import io
import json
import zipfile
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal as D

import pytest
from django.apps import apps
from django.core import serializers
from django.db import DatabaseError, transaction

from ortet import work
from ortet.ledger import rules
from ortet.ledger.guard import missing
from ortet.ledger.models import (
    Buyer,
    Complaint,
    Erasure,
    Movement,
    Nursery,
    Order,
    Payment,
    Plan,
    Receipt,
    Sale,
)
from ortet.work.books.receipts import receipt, receipt_values
from ortet.work.buyers import buyer, dealt_with, find_buyer, view
from ortet.work.orders import Line, order
from ortet.work.owed import sums
from ortet.work.packing import complain, pack, send
from ortet.work.payments import charge, pay, payments_of
from ortet.work.plan.whole import plan_season
from ortet.work.privacy import erasable, erase_buyer, export_buyer, keeps, kept_until

AT = datetime(2027, 1, 10, 9, tzinfo=UTC)
FROM, UNTIL = date(2027, 1, 5), date(2027, 3, 15)
NAME, STREET, MAIL, TAX = "Quillon Verhaegen", "Osier Row 17", "quillon@osier.example", "XX99112233"
HOUR = timedelta(hours=1)


@pytest.fixture
def dealt(ada):
    """A buyer with an order packed, sent, complained of, paid and receipted; and what stands open with another."""
    asked = {"by": ada, "at": AT}
    Nursery(id=1, tax_percent=D(10), holds_addresses=24).save()
    work.add_mother("M1", "Dusk", "blackcurrant")
    work.add_place("North", "store")
    work.take("M1", 50, mark="A1", **asked)
    work.bag([("A1", 50, None)], store="North", name="K1", **asked)
    buyer(
        NAME,
        address=f"{STREET}\n4711 Sedge",
        email=MAIL,
        country="nl",
        tax_number=TAX,
        note="plays the viola",
    )
    order(NAME, [Line("Dusk", 10, FROM, UNTIL, price=D("1.20"), note=f"for {NAME}")], carriage=D("4.00"),
          note="ring Quillon first", **asked)  # fmt: skip
    pack("1/1", "K1", **asked)
    send(1, by=ada, at=AT + HOUR, tracking="TRACK-123", note=f"left at {STREET}")
    pay(1, D("17.60"), by=ada, at=AT + HOUR, how="transfer", note=f"from {MAIL}")
    receipt(1, by=ada, at=AT + 2 * HOUR)
    complain("1/1", "dry", 1, by=ada, at=AT + 2 * HOUR, note="Verhaegen says one was dry")
    order("Amber", [Line("Dusk", 3, FROM, UNTIL)], **asked)
    return asked


def test_the_files_hold_all_of_one_buyer_and_nothing_of_another(dealt):
    name, packed = export_buyer(NAME)
    assert name == f"buyer-{find_buyer(NAME).pk}.zip"
    with zipfile.ZipFile(io.BytesIO(packed)) as files:
        whole = json.loads(files.read("buyer.json"))
        sheets = {one: files.read(one).decode() for one in files.namelist() if one.endswith(".csv")}
    assert (whole["buyer"][0]["name"], whole["buyer"][0]["email"]) == (NAME, MAIL)
    assert STREET in whole["buyer"][0]["address"]
    assert (whole["payments"][0]["amount"], whole["orders"][0]["count"]) == ("17.60", 10)
    assert (whole["parcels"][0]["tracking"], whole["told"][0]["what"]) == ("TRACK-123", "complaint")
    assert {one.removesuffix(".csv") for one in sheets} == whole.keys()
    rows = list(csv.DictReader(io.StringIO(sheets["sold.csv"].lstrip("\ufeff"))))
    assert [(row["variety"], row["count"]) for row in rows] == [("Dusk", "10")]
    assert "Amber" not in json.dumps(whole)


def test_who_is_still_needed_is_kept_unless_a_reason_is_given(dealt):
    who = find_buyer("Amber")
    assert keeps(dealt_with([who])[who.pk], 24, AT.date())[0] == "1 order is open"
    with pytest.raises(
        work.Refused, match=r"addresses are held 24 months, until 2029-01-10.*Nothing was booked"
    ):
        erase_buyer(NAME, **dealt)
    assert not Erasure.objects.exists()
    assert erasable(date(2029, 1, 9)) == []
    assert erasable(date(2029, 1, 10)) == [find_buyer(NAME)]
    pay(1, D(-1), by=dealt["by"], at=AT + 3 * HOUR)
    assert erasable(date(2029, 1, 10)) == []  # a cent that is owed keeps them
    with pytest.raises(work.Refused, match="without the buyer's name"):
        erase_buyer(NAME, reason="Verhaegen asked", **dealt)
    erase_buyer(NAME, reason="asked for it in writing", **dealt)
    assert Erasure.objects.get().note == "asked for it in writing"
    with pytest.raises(work.Refused, match="erased already"):
        erase_buyer(f"buyer {who.pk - 1}", reason="again", **dealt)
    with pytest.raises(work.Refused, match="was erased"):
        buyer(find_buyer(f"buyer {who.pk - 1}").name, email="a@b.example")


@pytest.mark.parametrize(("last", "months", "until"), [
    (date(2024, 1, 31), 1, date(2024, 2, 29)), (date(2025, 12, 5), 36, date(2028, 12, 5)), (date(2025, 2, 10), 0, date(2025, 2, 10)),
])  # fmt: skip
def test_months_are_counted_by_the_calendar(dealt, last, months, until):
    """A lot last sold on 2025-02-10 is kept three years, until 2028-02-10 at least: SSI 2017/177 r.17(3). [published]"""
    who = find_buyer(NAME)
    found = dealt_with([who])[who.pk]
    assert kept_until(replace(found, last=last), months) == until
    assert kept_until(replace(found, last=date(2025, 2, 10)), 36) == date(2028, 2, 10)


def test_after_erasing_no_word_of_theirs_is_left_and_every_count_is(dealt):
    def counts():
        return (
            list(Movement.objects.values_list("number", "count", "seal").order_by("number")),
            list(Sale.objects.values_list("pk", "price", "buyer")),
            list(Payment.objects.values_list("pk", "amount", "on")),
            sums(Order.objects.get(number=1)),
            receipt_values(1),
        )

    order(NAME, [Line("Dusk", 2, FROM, UNTIL)], **dealt)
    plan_season(by=dealt["by"], now=AT)
    assert NAME in json.dumps([plan.said for plan in Plan.objects.all()])
    before = counts()
    done = erase_buyer(NAME, reason="asked for it", **dealt)
    assert counts() == before
    assert done.still == [
        Movement.objects.get(sale__line__order__number=1).number
    ]  # its note is sealed: said, not hidden
    sealed = "movement"
    models = [one for one in apps.get_models() if one._meta.model_name != sealed]
    book = "".join(serializers.serialize("json", model._default_manager.all()) for model in models)
    for word in ("Quillon", "Verhaegen", STREET, "4711", MAIL, TAX, "viola", "TRACK-123"):
        assert word not in book
    who = Buyer.objects.get(erased_at__isnull=False)
    assert (who.name, who.country) == (f"buyer {who.pk}, erased", "NL")
    assert Plan.objects.exists() and rules.check() == [] and not missing()
    assert view(who.pk).dealt.orders == 2
    with pytest.raises(DatabaseError, match="never changed"), transaction.atomic():
        Payment.objects.update(note="x")


def test_a_receipt_holds_no_address(dealt):
    said = json.dumps(Receipt.objects.get().said)
    for word in ("Quillon", STREET, "4711", MAIL, TAX):
        assert word not in said


def test_payments(dealt):
    who = {"by": dealt["by"], "at": AT + 3 * HOUR}
    first = Order.objects.get(number=1)
    assert (sums(first).gross, sums(first).owed) == (D("17.60"), 0)
    for amount, said, error in (
        (D(0), {}, "Of how much"),
        (D("1.234"), {}, "an amount like"),
        (D(-18), {}, "17.60 came"),
        (D(1), {"on": date(2027, 2, 1)}, "still to come"),
        (D(-1), {"is_deposit": True}, "no deposit"),
    ):
        with pytest.raises(work.Refused, match=error):
            pay(1, amount, **said, **who)
    complaint = Complaint.objects.get()
    with pytest.raises(work.Refused, match="goes back"):
        pay(1, D(1), complaint=complaint.pk, **who)
    back = pay(1, D("-1.32"), complaint=complaint.pk, **who)
    assert back.complaint == complaint
    assert [one.amount for one in payments_of(first)] == [D("17.60"), D("-1.32")]
    with pytest.raises(work.Refused, match="Receipt 1 was given"):
        charge(1, D(9))
    assert charge(2, D(9)).carriage == 9


def test_a_swap_is_an_order_without_money(dealt):
    line = Line("Dusk", 2, FROM, UNTIL)
    noted = order("Elm", [line], is_swap=True, in_return="6 of an old quince", **dealt)
    assert (noted.is_swap, noted.in_return, sums(noted).gross) == (True, "6 of an old quince", 0)
    for wrong in (
        lambda: order("Elm", [Line("Dusk", 2, FROM, UNTIL, price=D(1))], is_swap=True, **dealt),
        lambda: order("Elm", [line], is_swap=True, carriage=D(4), **dealt),
        lambda: pay(noted.number, D(3), **dealt),
        lambda: charge(noted.number, D(3)),
    ):
        with pytest.raises(work.Refused, match="without money"):
            wrong()
    with pytest.raises(work.Refused, match="of a swap"):
        order("Elm", [line], in_return="quince", **dealt)
    with pytest.raises(work.Refused, match="from 0 to 100"):
        order("Elm", [Line("Dusk", 2, FROM, UNTIL, tax_percent=D(101))], **dealt)
    work.sell("A1", 2, order=str(noted.number), from_place="K1", **dealt)
    assert sums(noted).owed == 0


def test_a_buyer_is_described_and_renamed(ada):
    who = buyer("Hedge", country="de", is_trade=True, tax_number=" DE 1 ")
    assert (who.country, who.is_trade, who.tax_number) == ("DE", True, "DE 1")
    assert buyer("hedge", rename="Hedgerow").pk == who.pk
    assert buyer("Hedgerow", email="a@hedge.example").is_trade
    buyer("Elm")
    for said, error in (
        ({"rename": "elm"}, "Another buyer"),
        ({"country": "DEU"}, "two letters"),
        ({"email": "no"}, "Email"),
    ):
        with pytest.raises(work.Refused, match=error):
            buyer("Hedgerow", **said)
    with pytest.raises(work.Unknown, match="Is it Hedgerow"):
        find_buyer("Hedgehog")
