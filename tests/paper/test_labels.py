"""Labels as a phone and a reader see them: every sheet is drawn as a printer would, and every code is read back.

The reader is zxing-cpp, the drawing pdfium: neither had a hand in making the sheet.
"""

import math
import re

import pypdfium2 as pdfium
import pytest
import zxingcpp

from ortet.paper.labels import Label, bag_labels, wrap_labels
from ortet.wood import code as codes

HOSTILE = [
    "#import", r"\\ \n", '"quoted"', "*x* _y_ `z`", "$ a^2 $", "= title", "<label> @ref", "'; //", "{{x}}", "#{sys.inputs}", "~---~",
]  # fmt: skip
NAMES = ["‘Larkfield Amber’", "‘Émilie’s Żółta Ćwikła’", "‘Ø’", "‘Čapí Hnízdo Ștefănești Őrség’", *HOSTILE]
MAKERS = {"bag": bag_labels, "wrap": wrap_labels}
PLACES = {"bag": 12, "wrap": 32}  # on a sheet, of either size
SIZES = {"a4": (210, 297), "letter": (8.5 * 25.4, 11 * 25.4)}  # ISO 216; 8.5 by 11 inches. [mm]
both = pytest.mark.parametrize("kind", MAKERS)
papers = pytest.mark.parametrize("paper", SIZES)


def some(how_many, /, *, host="http://192.168.1.20:8137", **words):
    """Return labels of as many lots."""
    made = []
    for number in range(how_many):
        code = codes.make(number * 7919 * 104_729 % 2**35)
        label = {
            "variety": NAMES[number % len(NAMES)], "species": "redcurrant", "code": codes.show(code), "day": "24 Nov 2026",
            "grade": "thick", "count": number, "address": f"{host}/l/{code}", "note": "A1",
        }  # fmt: skip
        made.append(Label(**label | words))
    return made


def drawn(pdf, dpi):
    """Return each page as a printer of so many dots per inch draws it."""
    return [page.render(scale=dpi / 72).to_pil().convert("L") for page in pdfium.PdfDocument(pdf)]


def read(pdf, dpi):
    """Return what the codes of all pages say, row by row."""
    found = []
    for page in drawn(pdf, dpi):
        seen = zxingcpp.read_barcodes(page, formats=zxingcpp.BarcodeFormat.QRCode)
        rows = sorted(
            seen, key=lambda one: (round(one.position.top_left.y / dpi * 10), one.position.top_left.x)
        )
        found += [one.text for one in rows]
    return found


def words(pdf):
    """Return the text of all pages, as it would be copied out."""
    text = " ".join(page.get_textpage().get_text_bounded() for page in pdfium.PdfDocument(pdf))
    return re.sub(r"\s+", " ", text.replace("\u200b", ""))


@both
@papers
@pytest.mark.parametrize("dpi", [203, 300])
def test_every_code_reads_back_in_order(kind, paper, dpi):
    labels = some(70)
    pdf = MAKERS[kind](labels, paper=paper)
    assert read(pdf, dpi) == [label.address.upper() for label in labels]


@both
def test_the_longest_address_a_nursery_may_have_still_reads(kind):
    """120 characters, the room the nursery has for it."""
    host = "https://" + ".".join(["cuttings" * 5] * 3)[:112]
    labels = some(4, host=host)
    assert len(host) >= 112
    assert read(MAKERS[kind](labels, paper="a4"), 203) == [label.address.upper() for label in labels]


@both
def test_an_address_too_long_for_a_code_that_reads_is_refused(kind):
    with pytest.raises(ValueError, match="Give the nursery a shorter address"):
        MAKERS[kind](some(1, host="http://" + "x" * 900), paper="a4")


@pytest.mark.parametrize(("kind", "dots"), [("bag", 3), ("wrap", 2)])
def test_a_square_of_the_code_is_dots_wide_on_the_coarsest_printer(kind, dots):
    """Measured on the sheet: a QR code of N squares between the outer edges of its corners, at 203 dpi."""
    page = drawn(MAKERS[kind](some(1), paper="a4"), 203)[0]
    (seen,) = zxingcpp.read_barcodes(page, formats=zxingcpp.BarcodeFormat.QRCode)
    corners = seen.position
    wide = math.dist((corners.top_left.x, corners.top_left.y), (corners.top_right.x, corners.top_right.y))
    squares = 25  # version 2 holds up to 38 capitals and figures (ISO/IEC 18004); the address has 35
    assert (wide + 1) / squares >= dots


@both
@papers
def test_pages_have_the_exact_size(kind, paper):
    for page in pdfium.PdfDocument(MAKERS[kind](some(40), paper=paper)):
        assert page.get_size() == pytest.approx([mm / 25.4 * 72 for mm in SIZES[paper]], abs=0.01)


@both
@papers
def test_nothing_is_printed_where_printers_cannot(kind, paper):
    """6 mm from every edge: what ordinary printers hold. [common practice]"""
    labels = some(PLACES[kind], variety="‘" + "Extraordinarily " * 8 + "Long’", species="long " * 20)
    page = drawn(MAKERS[kind](labels, paper=paper), 100)[0]
    edge = int(6 / 25.4 * 100)
    wide, tall = page.size
    for strip in [
        (0, 0, wide, edge),
        (0, tall - edge, wide, tall),
        (0, 0, edge, tall),
        (wide - edge, 0, wide, tall),
    ]:
        assert page.crop(strip).getextrema() == (255, 255)


@both
@papers
def test_places_used_up_are_skipped(kind, paper):
    places = PLACES[kind]
    make, labels = MAKERS[kind], some(3)
    whole = make(some(places), paper=paper)
    assert len(pdfium.PdfDocument(whole)) == 1
    last = make(labels, paper=paper, skip=places - 1)
    assert len(pdfium.PdfDocument(last)) == 2
    assert read(last, 203) == [label.address.upper() for label in labels]
    page = drawn(last, 203)[0]
    (seen,) = zxingcpp.read_barcodes(page)
    assert seen.position.top_left.x > page.width / 2 and seen.position.top_left.y > page.height * 0.8


@both
@papers
def test_more_places_skipped_than_a_sheet_has_are_refused(kind, paper):
    places = PLACES[kind]
    for skip in (-1, places, places + 5):
        with pytest.raises(ValueError, match=f"skip 0 to {places - 1}"):
            MAKERS[kind](some(1), paper=paper, skip=skip)


@both
def test_no_labels_and_no_such_paper_are_refused(kind):
    with pytest.raises(ValueError, match="name at least one lot"):
        MAKERS[kind]([], paper="a4")
    with pytest.raises(ValueError, match="say a4 or letter"):
        MAKERS[kind](some(1), paper="a5")


@both
@pytest.mark.parametrize("name", NAMES)
def test_names_are_printed_as_they_are_written(kind, name):
    text = words(
        MAKERS[kind](some(1, variety=name, species=name, grade=name, note=name, day=name), paper="a4")
    )
    assert text.count(" ".join(name.split())) >= 3, text


@both
def test_a_label_carries_its_words(kind):
    label = some(1, variety="‘Quiet Harbour’", count=48)[0]
    text = words(MAKERS[kind]([label], paper="letter"))
    for word in (label.variety, label.code, label.species, label.day, label.grade):
        assert word in text
    if kind == "bag":
        assert "48" in text and "A1" in text
    else:
        assert text.count(label.code) >= 4  # the flag, and three times round the stem


@both
def test_what_is_not_known_leaves_no_trace(kind):
    text = words(
        MAKERS[kind](
            some(1, variety="‘Quiet Harbour’", count=None, grade="", note="", species=""), paper="a4"
        )
    )
    assert "cuttings" not in text and "grade" not in text and "None" not in text and "none" not in text


@both
@pytest.mark.parametrize("name", ["‘" + "Wolkenfelder" * 10 + "’", "‘" + "A Very Long Winded " * 7 + "’"])
def test_a_long_name_is_printed_whole(kind, name):
    assert name.replace(" ", "") in words(MAKERS[kind](some(1, variety=name), paper="a4")).replace(" ", "")


@both
def test_the_same_labels_give_the_same_bytes(kind):
    one, again = (MAKERS[kind](some(5), paper="a4") for _ in range(2))
    assert one == again
    assert set(re.findall(rb"D:\d+|Date>[\dT:-]+", one)) == {b"D:20000101000000", b"Date>2000-01-01T00:00:00"}


@both
def test_letters_are_the_shipped_ones(kind):
    """So that a sheet looks alike on every machine."""
    pdf = MAKERS[kind](some(8), paper="a4")
    names = set(re.findall(rb"/BaseFont\s*/[A-Z]{6}\+(\w+)", pdf))
    assert names and all(b"Hyperlegible" in name for name in names)
