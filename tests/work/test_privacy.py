"""A buyer's data as files, and their erasure: names and addresses go, counts, sales and sums stay, the book holds."""

import csv
import io
import json
import os
import subprocess
import sys
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
    Erasure,
    Movement,
    Nursery,
    Order,
    Parcel,
    Payment,
    Plan,
    Receipt,
    Sale,
    StrikeReport,
)
from ortet.work.books import receipt, receipt_of_sales
from ortet.work.books.receipts import receipt_values
from ortet.work.books.spending import spend
from ortet.work.buyers import buyer, find_buyer
from ortet.work.dealings import dealt_with, view
from ortet.work.orders import Line, cancel, order
from ortet.work.owed import sums
from ortet.work.packing import complain, pack, report_link, send, told, told_by_link
from ortet.work.packing.reporting import of_link
from ortet.work.payments import charge, pay, payments_of
from ortet.work.plan.whole import plan_season
from ortet.work.privacy import erasable, erase_buyer, export_buyer, keeps, kept_until, ties

AT = datetime(2027, 1, 10, 9, tzinfo=UTC)
FROM, UNTIL = date(2027, 1, 5), date(2027, 3, 15)
BEFORE = "Osierman & Daughters"
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
    one = complain("1/1", "dry", 1, by=ada, at=AT + 2 * HOUR, note="Verhaegen says one was dry")
    work.withdraw(one.pk, by=ada, at=AT + 2 * HOUR, note="Verhaegen meant another parcel")
    order("Amber", [Line("Dusk", 3, FROM, UNTIL)], **asked)
    return asked


def test_the_files_hold_all_of_one_buyer_and_nothing_of_another(dealt):
    work.note(f"{NAME} asked for more of it", lot="A1", **dealt)
    name, packed = export_buyer(NAME)
    assert name == f"buyer-{find_buyer(NAME).pk}.zip"
    with zipfile.ZipFile(io.BytesIO(packed)) as files:
        whole = json.loads(files.read("buyer.json"))
        sheets = {one: files.read(one).decode() for one in files.namelist() if one.endswith(".csv")}
    assert (whole["buyer"][0]["buyer"], whole["buyer"][0]["email"]) == (NAME, MAIL)
    assert STREET in whole["buyer"][0]["address"]
    assert (whole["payments"][0]["amount"], whole["orders"][0]["count"]) == ("17.60", 10)
    assert (whole["orders"][0]["carriage"], whole["orders"][0]["note of the order"]) == (
        "4.00",
        "ring Quillon first",
    )
    told = {row["where"]: row["text"] for row in whole["mentioned"]}
    assert told[f"note of 2027-01-10, {Movement.objects.first().lot}"] == f"{NAME} asked for more of it"
    assert (whole["parcels"][0]["tracking"], whole["told"][0]["what"]) == ("TRACK-123", "complaint")
    assert {one.removesuffix(".csv") for one in sheets} == whole.keys()
    rows = list(csv.DictReader(io.StringIO(sheets["sold.csv"].lstrip("\ufeff"))))
    assert [(row["variety"], row["count"]) for row in rows] == [("Dusk", "10")]
    assert "Amber" not in json.dumps(whole)


def test_what_is_open_owed_packed_or_unanswered_is_ended_first_whatever_the_reason(dealt):
    asked, later = {"by": dealt["by"], "at": AT}, {"by": dealt["by"], "at": AT + 3 * HOUR}

    def is_kept_by(said):
        with pytest.raises(work.Refused, match=rf"still needed: {said}\. End each first.*Nothing was booked"):
            erase_buyer(NAME, reason="asked for it in writing", **later)
        assert not Erasure.objects.exists() and find_buyer(NAME).email == MAIL

    order(NAME, [Line("Dusk", 2, FROM, UNTIL)], **asked)
    is_kept_by("1 order is open")
    moved = pack("3/1", "K1", **later)
    cancel("3", at=AT)
    is_kept_by("2 cuttings lie packed")
    work.correct(moved.number, note="unpacked", **later)
    pay(1, D(-1), **later)
    is_kept_by("1 order is not settled")
    pay(1, D(1), **later)
    wrong = complain("1/1", "name", 1, **later)
    is_kept_by("1 complaint is not answered")
    work.withdraw(wrong.pk, note="mistaken", **later)
    assert ties(dealt_with([find_buyer(NAME)])[find_buyer(NAME).pk]) == []
    erase_buyer(NAME, reason="asked for it in writing", **later)


def test_of_who_was_erased_nothing_new_is_noted(dealt):
    word = report_link(1, by=dealt["by"], at=AT + HOUR)
    assert of_link(word)
    erase_buyer(NAME, reason="asked for it", **dealt)
    gone = Buyer.objects.get(erased_at__isnull=False)
    assert of_link(word) is None
    line = Line("Dusk", 1, FROM, UNTIL)
    for deed in (
        lambda: order(gone.name, [line], **dealt),
        lambda: order("", [line], add_to=1, **dealt),
        lambda: work.sell("A1", 1, buyer=gone.name, from_place="K1", **dealt),
        lambda: buyer(gone.name, email="a@b.example"),
    ):
        with pytest.raises(work.Refused, match="was erased"):
            deed()
    for name in ("buyer 1", "Buyer 99, erased"):  # would be taken for another
        with pytest.raises(work.Refused, match="a buyer's number"):
            buyer(name)
        with pytest.raises(work.Refused, match="a buyer's number"):
            buyer("Amber", rename=name)


def test_who_was_dealt_with_lately_is_kept_unless_a_reason_is_given(dealt):
    who = find_buyer("Amber")
    assert keeps(dealt_with([who])[who.pk], 24, AT.date())[0] == "1 order is open"
    with pytest.raises(
        work.Refused, match=r"addresses are held 24 months, until 10 Jan 2029.*Nothing was booked"
    ):
        erase_buyer(NAME, **dealt)
    assert not Erasure.objects.exists()
    assert erasable(date(2029, 1, 9)) == []
    assert erasable(date(2029, 1, 10)) == [find_buyer(NAME)]
    pay(1, D("-0.01"), by=dealt["by"], at=AT + 3 * HOUR)
    assert erasable(date(2029, 1, 10)) == []  # a cent that is owed keeps them
    pay(1, D("0.01"), by=dealt["by"], at=AT + 3 * HOUR)
    with pytest.raises(work.Refused, match="without the buyer's name"):
        erase_buyer(NAME, reason="Verhaegen asked", **dealt)
    erase_buyer(NAME, reason="asked for it in writing", **dealt)
    assert Erasure.objects.get().note == "asked for it in writing"
    with pytest.raises(work.Refused, match="erased already"):
        erase_buyer(f"buyer {who.pk - 1}", reason="again", **dealt)


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
    buyer(NAME, rename=BEFORE)
    plan_season(by=dealt["by"], now=AT)
    buyer(BEFORE, rename=NAME)  # the plan has the name of that day
    assert BEFORE in json.dumps([plan.said for plan in Plan.objects.all()])
    work.correct(pack("3/1", "K1", note="Quillon comes by", **dealt).number, note="wrong box", **dealt)
    cancel("3", at=AT)
    pay(1, D(2), how="cash by Verhaegen", **dealt)
    pay(1, D(-2), how="cash", **dealt)
    spend(D(3), f"postage to {NAME}", order=1, on=AT.date(), **dealt)
    work.note("kept for Verhaegen", lot="A1", **dealt)
    at_the_gate = work.sell("A1", 2, buyer=NAME, price=D(1), note="Verhaegen called", **dealt)
    gate_receipt = receipt_of_sales([at_the_gate.number], paid="cash", **dealt)
    parcel = Parcel.objects.get(number=1)
    sold = Movement.objects.get(from_place=parcel.place, why="sold")
    told_by_link(
        parcel, {sold.number: (9, 4)}, at=AT + HOUR, told_on=AT.date(), note="our hedge at the brook"
    )
    told(sold.number, 9, 5, told_on=AT.date(), by=dealt["by"], at=AT + 2 * HOUR, note="by telephone")
    sealed_note = work.move("A1", 1, from_place="K1", to_place="North", note="Quillon comes by", **dealt)
    before = counts()
    done = erase_buyer(NAME, reason="asked for it", **dealt)
    assert counts() == before
    packed = sealed_note  # its note is sealed: said, not hidden
    assert (receipt_values(gate_receipt.number).gross, gate_receipt.whose.pk) == (
        D("2.20"),
        at_the_gate.sale.buyer_id,
    )
    told_back = StrikeReport.objects.order_by("at").values_list("struck", "rooted", "note")
    assert list(told_back) == [(9, 4, ""), (9, 5, "by telephone")]
    assert [one.rpartition(":")[0] for one in done.still] == [
        f"movement {packed.number}", f"note of 2027-01-10, {packed.lot}",
    ]  # fmt: skip
    sealed = ("movement", "note")
    models = [one for one in apps.get_models() if one._meta.model_name not in sealed]
    book = "".join(serializers.serialize("json", model._default_manager.all()) for model in models)
    for word in (
        "at the brook",
        "Quillon",
        "Verhaegen",
        "Osierman",
        STREET,
        "4711 Sedge",
        MAIL,
        TAX,
        "viola",
        "TRACK-123",
    ):
        assert word not in book
    who = Buyer.objects.get(erased_at__isnull=False)
    assert (who.name, who.country) == (f"buyer {who.pk}, erased", "NL")
    assert Plan.objects.exists() and rules.check() == [] and not missing()
    assert view(who.pk).dealt.orders == 2
    with pytest.raises(DatabaseError, match="never changed"), transaction.atomic():
        Payment.objects.update(note="x")


def test_a_receipt_holds_no_address(dealt):
    said = json.dumps(Receipt.objects.get().said)
    for word in ("Quillon", STREET, "4711 Sedge", MAIL, TAX):
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
    complaint = complain("1/1", "dry", 1, **who)
    with pytest.raises(work.Refused, match="goes back"):
        pay(1, D(1), complaint=complaint.pk, **who)
    back = pay(1, D("-1.32"), complaint=complaint.pk, **who)
    assert back.complaint == complaint
    assert [one.amount for one in payments_of(first)] == [D("17.60"), D("-1.32")]
    with pytest.raises(work.Refused, match="Receipt 1 was given"):
        charge(1, D(9))
    assert charge(2, D(9)).carriage == 9


def test_what_a_currency_cannot_pay_is_neither_paid_nor_charged(dealt):
    """A receipt that held half a yen could never be printed."""
    Nursery.objects.update(currency="JPY")
    with pytest.raises(work.Refused, match=r"0\.50: JPY is not divided so finely"):
        pay(1, D("0.50"), by=dealt["by"], at=AT + 3 * HOUR)
    with pytest.raises(work.Refused, match="not divided"):
        charge(2, D("6.5"))
    assert charge(2, D("650.00")).carriage == 650


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


ERASING = """
import sqlite3, sys
from pathlib import Path
from ortet.cli.book import open_book

def holding(word):
    return [file.name for file in Path(sys.argv[1]).rglob("*") if file.is_file() and word in file.read_bytes()]

with open_book():
    from django.db import connection
    from django.utils.timezone import now
    from ortet.work.buyers import buyer
    from ortet.work.nursery import grower
    from ortet.work.privacy import erase_buyer

    buyer("Quillon", address="Osier Row 17", email="quillon@osier.example")
    other = sqlite3.connect(Path(sys.argv[1], "book.sqlite3"))
    other.execute("SELECT count(*) FROM ledger_buyer").fetchone()
    print(len(holding(b"Osier Row")))
    erase_buyer("Quillon", by=grower(), at=now())
    print(len(holding(b"Osier Row")), len(holding(b"quillon@osier")))
    print(connection.cursor().execute("PRAGMA secure_delete").fetchone()[0])
"""


@pytest.mark.once
def test_no_file_of_the_folder_holds_what_was_erased(tmp_path):
    """While others have the book open, SQLite keeps pages as they were in its log."""
    env = {name: value for name, value in os.environ.items() if name != "ORTET_DATABASE"}
    env |= {"ORTET_FOLDER": str(tmp_path)}
    done = subprocess.run(
        [sys.executable, "-c", ERASING, str(tmp_path)], env=env, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    noted, *after, overwritten = done.stdout.split()
    assert int(noted) > 0 and after == ["0", "0"] and overwritten == "1"
