"""Pick list, slip, address, advice, checklist and supplier's document, read back from the sheet as a reader and a phone would."""

import numpy as np
import pypdfium2 as pdfium
import pytest

from ortet.paper.address import AddressLabel, address_label
from ortet.paper.advice import AdvicePart, AdviceSheet, advice_sheet
from ortet.paper.checklist import CheckRow, CheckSheet, check_sheet
from ortet.paper.declaration import COVERED, SupplierLabel, supplier_labels
from ortet.paper.passport import passport
from ortet.paper.pick_list import PickList, PickStop, pick_list
from ortet.paper.sender import Sender
from ortet.paper.slip import PackingSlip, SlipRow, packing_slip
from tests.paper.reading import LONG, SIZES, codes, is_clear, pages, sizes

SENDER = Sender(("Hill Nursery", "7 Kiln Lane", "Nether Tarn"), "post@hill.example")
NAMES = ["‘Dusk’", "‘Émilie’s Żółta Ćwikła’", "Сад и лоза", "#1 *x* $y$ @z \\a [b]", LONG]
PACK = "http://192.168.1.20:8137/p/3-{}/AEQCMN9X/DKVK6A1A"
papers = pytest.mark.parametrize("paper", SIZES)


def picks(lines=5, name="‘Dusk’"):
    stops = tuple(
        PickStop("North" if n < lines - 2 else "", f"K{n // 2}", f"L{n}", name, n + 1, 60, name, f"order 3/{n}", PACK.format(n))
        for n in range(lines)
    )  # fmt: skip
    return PickList(
        "Pick list", "Hill Nursery", "12 February 2027, 08:00", stops, ("The label proves the bag.",)
    )


def slip(lines=3, name="Ribes nigrum ‘Dusk’", **said):
    rows = tuple(
        SlipRow(name, "blackcurrant, for rooting", "7K3Q-9M2D", n + 1, f"3/{n}") for n in range(lines)
    )
    usual = {
        "title": "Packing slip 7",
        "day": "12 February 2027",
        "to": (name, "Tithe Barn 2"),
        "facts": (("Order", "3"),),
        "notes": ("See the advice sheet.",),
    }
    return PackingSlip(SENDER, rows=rows, **usual | said)


def advice(lots=2, name="Ribes nigrum ‘Dusk’", report="", words=12):
    said = (
        ("Kept", "Cut on Tue 24 Nov and kept 80 days. " * (words // 6)),
        ("Root", "Base at 20 °C. " * words),
    )
    part = AdvicePart(name, "blackcurrant, for rooting", "7K3Q-9M2D", 12, "Set by Tue 16 Mar: why.", said)
    arrival = ("Open the parcel on the day it comes.", "Cut away from your hand.")
    return AdviceSheet(
        SENDER, "How to set these cuttings", "12 February 2027", "For Wren.", (part,) * lots, arrival, ("Nothing.",), report
    )  # fmt: skip


def checks(name="3, of Wren"):
    row = CheckRow("Is a certificate needed?", "the plant-health authority", "Often.", "ISPM 12 [published]")
    return CheckSheet(
        "Hill", "From Great Britain to France", "Ask first.", "today", (("Order", name),), (row,) * 6
    )


MAKERS = {
    "pick list": lambda paper="a4", name="‘Dusk’": pick_list(picks(name=name), paper=paper),
    "slip": lambda paper="a4", name="‘Dusk’": packing_slip(slip(name=name), paper=paper),
    "advice": lambda paper="a4", name="‘Dusk’": advice_sheet(advice(name=name), paper=paper),
    "checklist": lambda paper="a4", name="‘Dusk’": check_sheet(checks(name), paper=paper),
}
each = pytest.mark.parametrize("make", MAKERS.values(), ids=MAKERS)


@each
@papers
def test_sheets_have_the_exact_size_and_keep_off_the_margins(make, paper):
    pdf = make(paper, LONG)
    assert all(size == pytest.approx(SIZES[paper], abs=0.01) for size in sizes(pdf))
    assert is_clear(pdf, 13)


@each
def test_letters_come_through_whole_and_nothing_is_read_as_markup(make):
    for name in NAMES:
        text = " ".join(pages(make(name=name))).replace(" ", "")
        assert name.replace(" ", "") in text
    assert make() == make()


@each
def test_unknown_paper_and_letters_that_no_font_has_are_refused(make):
    with pytest.raises(ValueError, match="say a4 or letter"):
        make("a9")
    with pytest.raises(ValueError, match="Write the name in other letters"):
        make(name="\U000e0041\u0ed7\U0001f9ff\ue000")


@papers
def test_each_stop_has_its_code_and_the_walk_keeps_its_order(paper):
    pdf = pick_list(picks(40), paper=paper)
    assert codes(pdf) == [PACK.format(n).upper() for n in range(40)]
    found = pages(pdf)
    text = " ".join(found)
    places = [text.index(f"order 3/{n} ") for n in range(40)]
    assert places == sorted(places) and len(found) > 2
    assert "North" in text and "Lying bare" in text and "820 cuttings out of 20 places" in text
    for number, page in enumerate(found, 1):
        assert page.endswith(f"Page {number} of {len(found)}")


def test_a_stop_out_of_the_same_bag_says_so():
    assert (
        pages(pick_list(picks(4)))[0].count("the same") == 2
    )  # K0 twice, and K1 twice under another heading


def test_each_stop_has_a_box_to_tick():
    with pdfium.PdfDocument(pick_list(picks(4))) as sheets:
        dark = sheets[0].render(scale=508 / 72).to_numpy().max(axis=2) < 128
    strip = dark[:, (14 * 20) : (20 * 20)]
    edges = [np.flatnonzero(np.diff(np.concatenate([[0], column.astype(int), [0]]))) for column in strip.T]
    tall = [run for at in edges for run in (at[1::2] - at[::2]).tolist() if 80 <= run <= 100]
    assert len(tall) >= 2 * 4  # both edges of each box, 4.4 mm


@papers
def test_a_slip_of_many_lines_counts_them_and_tells_prices_only_where_there_are_some(paper):
    found = pages(packing_slip(slip(60), paper=paper))
    text = " ".join(found)
    assert len(found) > 1 and "1830 in all" in text and "each" not in text
    priced = (SlipRow("Ribes ‘Dusk’", "", "7K3Q-9M2D", 2, "3/1", "1.50", "3.00"),)
    text = pages(packing_slip(_priced(priced), paper=paper))[0]
    assert "1.50 3.00 2" in text and "EUR 3.00" in text


def _priced(rows):
    return PackingSlip(SENDER, "Packing slip 7", "today", ("Wren",), (), rows, (), total="EUR 3.00")


def test_a_slip_carries_passports_with_their_codes():
    one = passport(
        botanical="Ribes nigrum ‘Dusk’", country="NL", operator="1", code="7K3Q-9M2D", origin="NL", address="http://farm.example/l/7K3Q9M2D"
    )  # fmt: skip
    pdf = packing_slip(slip(passports=(one,) * 5))
    assert codes(pdf) == ["HTTP://FARM.EXAMPLE/L/7K3Q9M2D"] * 5
    assert "A. Ribes nigrum ‘Dusk’ B. NL-1 C. 7K3Q-9M2D D. NL" in " ".join(pages(pdf))


@pytest.mark.parametrize(("paper", "size"), [("a4", (105, 148)), ("letter", (4 * 25.4, 6 * 25.4))])
def test_an_address_label_is_a6_or_4_by_6_inches(paper, size):
    """ISO 216: A6 is 105 by 148 mm. 4 by 6 inches is the usual roll of label printers. [published; common practice]"""
    pdf = address_label(
        AddressLabel(SENDER, ("Wren", "Tithe Barn 2", "FRANCE"), "Parcel 7", ("Living wood",)), paper=paper
    )
    assert sizes(pdf) == [pytest.approx(size, abs=0.01)]
    text = pages(pdf)[0]
    assert (
        "Wren Tithe Barn 2 FRANCE" in text
        and text.index("Hill Nursery") < text.index("Wren")
        and "Parcel 7" in text
    )
    assert codes(pdf, 300) == [], "an address is in no code"


def test_a_long_address_is_set_smaller_and_stays_on_its_label():
    lines = (f"{LONG} & {LONG}", *(f"{LONG} {n}" for n in range(7)), "GREAT BRITAIN")
    pdf = address_label(AddressLabel(SENDER, lines, "Parcel 7", ("Living wood",)))
    text = pages(pdf)
    assert len(text) == 1 and text[0].replace(" ", "").count(LONG) == 9 and is_clear(pdf, 5)
    with pytest.raises(ValueError, match="has no address"):
        address_label(AddressLabel(SENDER, ("Wren",), "Parcel 7"))


@papers
@pytest.mark.parametrize("lots", [1, 3, 6])
def test_advice_is_one_page(paper, lots):
    pdf = advice_sheet(advice(lots, report="http://192.168.1.20:8137/r/9KwBiCuw1NtbPzDyD0e6"), paper=paper)
    (text,) = pages(pdf)
    assert (
        text.count("Ribes nigrum ‘Dusk’") == lots
        and "Open the parcel" in text
        and "What is not known" in text
    )
    assert codes(pdf) == ["http://192.168.1.20:8137/r/9KwBiCuw1NtbPzDyD0e6"], (
        "a word drawn at random keeps its small letters"
    )


def test_without_a_link_nobody_is_asked_to_report():
    pdf = advice_sheet(advice())
    assert codes(pdf) == [] and "Tell us" not in pages(pdf)[0]


def test_a_checklist_has_room_for_each_answer():
    text = " ".join(pages(check_sheet(checks())))
    assert text.count("who said so") == text.count("Is a certificate needed?") == 6 and "Ask first." in text


CAC = {
    "state": "NL",
    "body": "the body",
    "supplier": "NL-1",
    "batch": "7K3Q-9M2D",
    "botanical": "Ribes nigrum",
    "variety": "Dusk",
    "issued": "12 February 2027",
}


@papers
def test_a_suppliers_document_has_the_particulars_of_the_directive_on_yellow(paper):
    """Directive 2014/96/EU, Art. 5 (2) a to i, in its order; 5 (3): yellow where it is fixed to the material. [published]"""
    pdf = supplier_labels([SupplierLabel(**CAC)] * 9, paper=paper)
    assert sizes(pdf) == [pytest.approx(SIZES[paper], abs=0.01)] * 2
    text = " ".join(pages(pdf))
    assert text.count(
        "EU rules and standards Member state NL Official body the body Supplier NL-1 Batch number 7K3Q-9M2D Botanical name Ribes nigrum "
        "Category CAC material Variety Dusk Issued 12 February 2027"
    ) == 9  # fmt: skip
    with pdfium.PdfDocument(pdf) as sheets:
        blue, green, red = sheets[0].render(scale=1).to_numpy()[:, :, :3].reshape(-1, 3).astype(int).T
    assert ((red > 230) & (green > 200) & (blue < 120)).mean() > 0.4
    with pdfium.PdfDocument(supplier_labels([SupplierLabel(**CAC)], ground=False)) as sheets:
        seen = sheets[0].render(scale=1).to_numpy()[:, :, :3].astype(int)
    assert np.ptp(seen, axis=2).max() < 30, "on yellow paper no ground is printed"


@pytest.mark.parametrize("what", sorted(CAC))
def test_a_suppliers_document_that_lacks_a_particular_is_refused(what):
    with pytest.raises(ValueError, match="Nothing was printed"):
        SupplierLabel(**CAC | {what: " "})


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"state": "US"}, "European Union"),
        ({"botanical": "Sambucus nigra"}, "none of the fruit kinds"),
        ({"botanical": "Vitis vinifera"}, "none of the fruit kinds"),  # the vine has a directive of its own, 68/193/EEC [memory]
        ({"botanical": "Prunus laurocerasus"}, "none of the fruit kinds"),
    ],
)  # fmt: skip
def test_a_suppliers_document_is_for_the_fruit_kinds_alone(wrong, words):
    """Directive 2008/90/EC, Annex I. [memory]"""
    with pytest.raises(ValueError, match=words):
        SupplierLabel(**CAC | wrong)
    for kind in ("Ribes nigrum", "Cydonia oblonga", "Malus domestica", "Prunus avium", "Ficus carica"):
        SupplierLabel(**CAC | {"botanical": kind})
    assert all(kind[0].isupper() for kind in COVERED)
