"""Papers filled from the book: what stands on them is what was packed, and nothing is printed that may not be."""

import re
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from ortet import work
from ortet.ledger.models import Movement, Nursery, Order, OrderLine, Variety
from ortet.work import books, orders
from ortet.work.nursery import describe, papers_with, plan_with
from ortet.work.packing import pack, send, walk
from ortet.work.papers.advice import advise, advise_parcel, advised, advised_parcel
from ortet.work.papers.destination import Asked, destination, destination_sheet
from ortet.work.papers.passports import Wanted, passports, supplier_documents
from ortet.work.papers.picking import pick_list
from ortet.work.papers.posting import address_label, packing_slip, waiting
from ortet.work.papers.receipts import receipt_sheet
from ortet.work.papers.sheet import usual_paper
from tests.paper.reading import SIZES, codes, pages, sizes
from tests.writing import write

pytestmark = pytest.mark.django_db
AT = datetime(2027, 2, 1, 9, tzinfo=UTC)
BOOK = """
    2027-01-04 08:00  mother M1 Dusk blackcurrant
    2027-01-04 08:00  mother M2 Lantern elder
    2027-01-04 08:00  place store North
    2027-01-05 09:00  take M1 60 as L1
    2027-01-05 09:00  take M2 30 as L2
    2027-01-05 11:00  bag L1 50 into K10 at North
    2027-01-05 11:00  bag L2 30 into K2 at North
    2027-01-20 09:00  weigh K10 900
    2027-01-25 09:00  inspect K10 L1 sound=25 mouldy=0 dry=0 scratch_green=5 scratch_of=5 callus=1
    2027-01-26 09:00  treat K10 disinfect
"""


@pytest.fixture
def book(ada):
    """Two lots in two bags, and an order of both, of a buyer in France."""
    made = write(BOOK, ada)
    Nursery.objects.create(id=1, name="Hill Nursery", fixed_now=AT)
    plan_with(country="NL")
    papers_with(letterhead="Hill Nursery\n 7 Kiln  Lane ", contact="post@hill.example")
    window = (date(2027, 2, 1), date(2027, 2, 20))
    lines = [
        orders.Line("Dusk", 20, *window, price=Decimal("1.50")),
        orders.Line("Lantern", 10, *window, price=Decimal("2.00"), use="rooting"),
    ]
    orders.order("Wren Hedges", lines, by=ada, at=AT, country="FR")
    work.buyer("Wren Hedges", address="Tithe Barn 2\n1234 Sedgeholm")
    return made


@pytest.fixture
def parcel(book, ada):
    pack("1/1", "K10", 20, by=ada, at=AT)
    return pack("1/2", "K2", 10, by=ada, at=AT).to_place.parcel


def text_of(pdf):
    return " ".join(pages(pdf))


def test_the_pick_list_is_the_walk_with_codes_that_lead_to_each_line(book):
    pdf = pick_list(1)
    text = text_of(pdf)
    assert re.findall(r"Bench|\bK(?:2|10)\b", text) == ["Bench", "K2", "K10"], (
        "bare wood first, then bag by bag"
    )
    assert (
        "Ribes nigrum ‘Dusk’" in text
        and "order 1/2" in text
        and "Wren Hedges" in text
        and "Pick list, order 1" in text
    )
    assert codes(pdf) == [
        f"HTTP://LOCALHOST:8137/P/{one.line.order.number}-{one.line.position}/{one.lot.code}/{one.place.code}"
        for one in walk(1)
    ]
    assert Movement.objects.filter(why="packed").count() == 0


def test_a_slip_names_what_lies_in_the_parcel(parcel):
    text = text_of(packing_slip(1))
    for words in ("Packing slip 1", "Hill Nursery 7 Kiln Lane · post@hill.example", "Wren Hedges Tithe Barn 2", "Ribes nigrum ‘Dusk’",
                  "Sambucus nigra ‘Lantern’", "30 in all", "advice sheet", "crosses a border"):  # fmt: skip
        assert words in text
    assert "1.50" not in text and "Plant Passport" not in text
    priced = text_of(packing_slip(1, prices=True))
    assert "1.50 30.00 20" in priced and "EUR 50.00" in priced
    Variety.objects.filter(name="Dusk").update(right="PBR 7 of Tarn")
    assert "‘Dusk’ is noted as protected (PBR 7 of Tarn)" in text_of(packing_slip(1))
    Variety.objects.filter(name="Dusk").update(right_until=date(2027, 1, 31))
    assert "protected" not in text_of(packing_slip(1)), "its right ended the day before"


def test_papers_of_all_that_wait_are_one_file_and_each_counts_its_own_pages(parcel, ada):
    orders.order("Fen Alders", [orders.Line("Dusk", 2, date(2027, 2, 1), date(2027, 2, 20))], by=ada, at=AT)
    work.buyer("Fen Alders", address="Sluice 1\n1235 Sedgeholm")
    pack("2", "K10", 2, lot="L1", from_place="K10", by=ada, at=AT)
    assert waiting() == [1, 2]
    slips = pages(packing_slip(*waiting()))
    assert ["Packing slip 1" in slips[0], "Packing slip 2" in slips[1]] == [True, True] and len(slips) == 2
    assert all("Page 1 of 1" in one for one in slips)
    assert [one.split("Parcel ")[1] for one in pages(address_label(*waiting()))] == ["1", "2"]
    send(1, by=ada, at=AT)
    assert waiting() == [2]
    send(2, by=ada, at=AT)
    with pytest.raises(work.Refused, match="No parcel waits"):
        packing_slip(*waiting())


def test_a_parcel_goes_where_its_buyers_usually_go_if_nothing_else_was_said(parcel):
    Order.objects.update(country="")
    assert "crosses a border" not in text_of(packing_slip(1))
    work.buyer("Wren Hedges", country="FR")
    assert "crosses a border" in text_of(packing_slip(1))
    assert destination(Asked(1)).title == "From Netherlands to France"
    assert "FRANCE" in pages(address_label(1))[0]


def test_a_slip_tells_no_total_where_a_price_is_missing(parcel):
    """A sum of some of the rows would be read as what the parcel costs."""
    OrderLine.objects.filter(position=2).update(price=None)
    priced = text_of(packing_slip(1, prices=True))
    assert "1.50 30.00 20" in priced and "EUR" not in priced


def test_an_address_ends_with_the_country_it_leaves_for(parcel):
    assert pages(address_label(1))[0].count("1234 Sedgeholm FRANCE") == 1
    plan_with(country="FR")
    assert "FRANCE" not in pages(address_label(order=1))[0]
    with pytest.raises(work.Refused, match="one parcel, or one order"):
        address_label()
    work.buyer("Wren Hedges", address="wren  hedges\nTithe Barn 2\n1234 Sedgeholm")
    assert pages(address_label(1))[0].casefold().count("hedges") == 1, "who writes the name above the address"
    work.buyer("Wren Hedges", address="")
    with pytest.raises(work.Refused, match="No address of Wren Hedges"):
        address_label(1)


def test_advice_is_the_same_before_and_after_the_wood_leaves(book, ada):
    before = advised([("L1", 20)])[0]
    pack("1/1", "K10", 20, by=ada, at=AT)
    parcel = pack("1/2", "K2", 10, by=ada, at=AT).to_place.parcel
    packed = advised_parcel(parcel)[0]
    assert (packed.lot.mark, packed.count) == ("L1", 20)
    assert packed.advice.said == before.advice.said
    assert packed.advice.set_by == before.advice.set_by
    send(1, by=ada, at=AT)
    gone = advised_parcel(parcel)[0]
    assert dict(gone.advice.said)["State"] == dict(packed.advice.said)["State"]
    with pytest.raises(work.Refused, match="40 lie on hand"):
        advised([("L1", 41)])


def test_advice_tells_what_was_done_and_seen_and_what_is_not_known(parcel):
    one, other = advised_parcel(parcel)
    kept = dict(one.advice.said)["Kept"]
    assert "kept 27 days, closed in a bag in North" in kept and "Treated: disinfected" in kept
    assert "25 sound, 5 of 5 green when scratched, none mouldy or dry" in kept
    assert "No look at it was noted: scratch and see for yourself." in other.advice.unknown
    assert any("never weighed" in words for words in other.advice.unknown)
    assert any("No weather is recorded" in words for words in one.advice.unknown)
    pdf = advise_parcel(1, report="http://hill.example/r/9KwBiCuw1NtbPzDyD0e6")
    (text,) = pages(pdf)
    assert "For Wren Hedges. 30 cuttings of 2 lots, parcel 1." in text
    assert codes(pdf) == ["http://hill.example/r/9KwBiCuw1NtbPzDyD0e6"]
    assert len(pages(advise([("L1", None)], paper="letter"))) == 1


def test_plants_and_bare_wood_are_told_of_as_what_they_are(book, ada):
    write(
        """
        2027-01-26 08:00  place bench Warm
        2027-01-26 08:00  place ground Yard
        2027-01-26 09:00  strike L1 10 from K10 as S1 on Warm
        2027-01-28 09:00  count S1 rooted=8
        2027-01-29 09:00  pot S1 8 to Yard
        """,
        ada,
    )
    pack("1/1", "L1", 4, by=ada, at=AT, lot="L1", from_place="Yard")
    (plant,) = advised_parcel(
        pack("1/1", "L1", 2, by=ada, at=AT, lot="L1", from_place="Yard").to_place.parcel
    )
    assert (plant.count, [name for name, _ in plant.advice.said]) == (6, ["Kept", "Plant"])
    assert "Plant as soon as it comes" in text_of(advise_parcel(1))
    pack("1/1", "L1", 9, by=ada, at=AT, lot="L1", from_place="Bench")
    grown, bare = advised_parcel(plant.lot.movements.filter(why="packed").last().to_place.parcel)
    assert (grown.count, bare.count) == (6, 9) and "bare on Bench" in dict(bare.advice.said)["Kept"]


def test_advice_without_wood_is_refused(book, ada):
    work.give_up("L2", 30, from_place="K2", by=ada, at=AT)
    with pytest.raises(work.Refused, match="lies dormant on hand"):
        advise([("L2", None)])
    with pytest.raises(work.Refused, match="two letters"):
        advise([("L1", 5)], to="ZZ")
    assert advise([("L1", 5)], to="xi")
    with pytest.raises(work.Refused, match="Name at least one lot"):
        advise([])
    with pytest.raises(work.Unknown):
        advise_parcel(9)


def test_passports_are_printed_only_with_an_operators_number(parcel):
    with pytest.raises(work.Refused, match=r"authorised.*Nothing was printed"):
        passports(["L1"])
    with pytest.raises(work.Refused, match="authorised"):
        packing_slip(1, passports=Wanted())
    papers_with(operator="123456789")
    pdf = passports(parcel=1, each=2)
    text = text_of(pdf)
    assert text.count("Plantenpaspoort / Plant Passport") == 4
    lot = str(parcel.order.lines.first().packings.first().movement.lot)
    assert text.count(f"A. Ribes nigrum ‘Dusk’ B. NL-123456789 C. {lot} D. NL") == 2
    assert "Plantenpaspoort - PZ / Plant Passport - PZ ERWIAM" in text_of(
        passports(["L1"], wanted=Wanted(pests=("ERWIAM",)))
    )
    assert "crosses a border" not in text_of(packing_slip(1, passports=Wanted(language="fr")))
    assert "Passeport phytosanitaire / Plant Passport" in text_of(
        packing_slip(1, passports=Wanted(language="fr"))
    )
    plan_with(country="GB", region="")
    text = text_of(passports(["L1"]))
    assert "UK Plant Passport" in text and "B. 123456789" in text and "D. GB" in text
    plan_with(country="XI")
    text = text_of(passports(["L1"]))
    assert "UK" not in text and "B. XI-123456789" in text, "Northern Ireland issues those of the Union"
    plan_with(country="US")
    with pytest.raises(work.Refused, match="European Union and in Great Britain"):
        passports(["L1"])


def test_wood_of_others_needs_its_country_of_origin(book, ada):
    write("2027-01-30 14:00  receive Tarn Dusk blackcurrant 6 as R1 on Sorting", ada)
    papers_with(operator="123456789")
    with pytest.raises(work.Refused, match="country of origin is not known"):
        passports(["R1"])
    assert "D. PL" in text_of(passports(["R1"], wanted=Wanted(origin="pl")))
    assert "D. Türkiye" in text_of(passports(["R1"], wanted=Wanted(origin="TR"))), (
        "a third country by its name"
    )
    with pytest.raises(work.Refused, match="two letters"):
        passports(["R1"], wanted=Wanted(origin="Poland"))
    with pytest.raises(work.Refused, match="lots, or one parcel"):
        passports([])


def test_suppliers_documents_are_for_fruit_and_name_the_body(parcel):
    text = text_of(supplier_documents(["L1"], body="the body", note="pending"))
    assert (
        "Botanical name Ribes nigrum Category CAC material Variety Dusk; pending" in text
        and "1 February 2027" in text
    )
    with pytest.raises(work.Refused, match="Sambucus nigra is none of the fruit kinds"):
        supplier_documents(parcel=1, body="the body")
    with pytest.raises(work.Refused, match="official body"):
        supplier_documents(["L1"], body=" ")


def test_a_receipt_prints_as_it_was_given_out(parcel, ada):
    send(1, by=ada, at=AT)
    given = books.receipt(1, by=ada, at=AT)
    text = text_of(receipt_sheet(given.number))
    for words in (
        "Receipt 1",
        "1 February 2027",
        "Wren Hedges Tithe Barn 2",
        "Ribes nigrum ‘Dusk’",
        "20 1.50",
        "EUR 50.00",
        "Order 1",
    ):
        assert words in text
    work.buyer("Wren Hedges", address="Elsewhere 9")
    assert "Elsewhere 9" in text_of(receipt_sheet(1)) and "EUR 50.00" in text_of(receipt_sheet(1))
    back = books.cancel_receipt(1, note="wrong price", by=ada, at=AT)
    text = text_of(receipt_sheet(back.number, "letter"))
    assert (
        "This cancels receipt 1: wrong price" in text
        and "EUR \N{MINUS SIGN}50.00" in text
        and "given back" not in text
    )
    with pytest.raises(work.Unknown):
        receipt_sheet(9)


def test_what_to_ask_follows_from_the_order(book):
    assert destination(Asked(1)).title == "From Netherlands to France"
    text = text_of(destination_sheet(Asked(1, zone=True)))
    assert (
        "into a protected zone" in text and "1, of Wren Hedges" in text and "20 Ribes nigrum ‘Dusk’" in text
    )
    with pytest.raises(work.Refused, match="two letters"):
        destination(Asked(to="France"))
    with pytest.raises(work.Unknown):
        destination(Asked(9))


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"paper": "A5"}, "A4 or letter"),
        ({"currency": "euro"}, "three letters"),
        ({"contact": "x" * 121}, "120 letters"),
        ({"letterhead": "x" * 61}, "60 letters"),
        ({"letterhead": "\n".join("abcdefg")}, "6 lines"),
        ({"operator": "12;34"}, "as the authority wrote it"),
    ],
)
def test_what_papers_cannot_carry_is_refused_and_nothing_changes(wrong, words, db):
    before = Nursery.get().__dict__.copy()
    with pytest.raises(work.Refused, match=words):
        papers_with(**{"contact": "old"} | wrong)
    after = Nursery.get().__dict__
    assert {name: after[name] for name in before if name != "_state"} == {
        name: before[name] for name in before if name != "_state"
    }


@pytest.mark.parametrize("paper", SIZES)
def test_everything_prints_on_what_the_nursery_prints_on(paper, parcel):
    papers_with(paper=paper, operator="1")
    assert usual_paper(Nursery.get()) == paper
    made = [
        packing_slip(1),
        advise_parcel(1),
        passports(["L1"]),
        supplier_documents(["L1"], body="x"),
        destination_sheet(Asked(1)),
    ]
    for pdf in made:
        assert all(size == pytest.approx(SIZES[paper], abs=0.01) for size in sizes(pdf))
    with pytest.raises(work.Refused, match="a4 or letter"):
        packing_slip(1, paper="a9")


def test_units_of_the_us_bring_letter_and_say_it_otherwise_brings_a4(db):
    assert describe(units="US").paper == "letter"
    assert papers_with(paper="A4").paper == "A4"
    assert describe(units="US").paper == "A4", "nothing changed, so nothing follows"
