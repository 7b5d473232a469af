"""Cards for the bench, drawn as a printer would and measured on the sheet."""

import numpy as np
import pypdfium2 as pdfium
import pytest

from ortet.paper.rule_card import Gauge, PrintedRule, rule_cards
from ortet.paper.typeset import PAPERS

SIZES = {
    "a6": (105, 148),
    "a4": (210, 297),
    "letter": (8.5 * 25.4, 11 * 25.4),
}  # ISO 216; 8.5 by 11 inches [mm]
DPI = 508  # 20 dots a millimetre
papers = pytest.mark.parametrize("paper", SIZES)


def card(**said):
    usual = {
        "variety": "‘Larkfield Amber’",
        "nursery": "Hill Nursery",
        "day": "2026-11-25",
        "steps": ("Cut off the top where it is thinner than 4.5 mm: waste.", "Count 5 nodes up: rooting.", "Stop where too little is left."),
        "gauges": (Gauge(8.0, "8 mm or more: rooting"), Gauge(4.5, "4.5 mm: thinner is waste")),
        "gives": ("A shoot gives 2.2 rooting.", "Gives up 2.2 % of the best that could be cut."),
        "basis": "Found on 25 shoots.",
        "cautions": ("Cut away from your hand.",),
        "ruler": "Print at 100 %: this line is 50 mm long.",
    }  # fmt: skip
    return PrintedRule(**usual | said)


def page(pdf, number=0):
    with pdfium.PdfDocument(pdf) as sheets:
        return sheets[number].render(scale=DPI / 72).to_numpy().max(axis=2)


def words(pdf):
    with pdfium.PdfDocument(pdf) as sheets:
        return " ".join(" ".join(one.get_textpage().get_text_bounded().split()) for one in sheets)


@papers
def test_all_words_stand_on_one_sheet_of_the_right_size(paper):
    pdf = rule_cards([card()], paper=paper)
    with pdfium.PdfDocument(pdf) as sheets:
        assert len(sheets) == 1
        assert sheets[0].get_size() == pytest.approx([mm / 25.4 * 72 for mm in SIZES[paper]], abs=0.01)
    for said in (
        "‘Larkfield Amber’",
        "Count 5 nodes up",
        "8 mm or more: rooting",
        "Gives up 2.2 %",
        "Hill Nursery",
        "Cut away",
    ):
        assert said in words(pdf)


@papers
def test_gauges_are_as_thick_as_they_say_on_every_paper(paper):
    """Measured on the sheet at 20 dots a millimetre; a dot either way."""
    dark = page(rule_cards([card()], paper=paper)) < 120
    edge = int((8 if paper == "a6" else 18) * DPI / 25.4) + 60
    column = dark[:, edge : edge + 200].all(axis=1)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], column.astype(int), [0]])))
    thick = [(stop - start) * 25.4 / DPI for start, stop in zip(edges[::2], edges[1::2], strict=True)]
    assert [mm for mm in thick if mm > 2] == pytest.approx([8.0, 4.5], abs=0.06)


@papers
def test_the_checking_line_is_fifty_millimetres(paper):
    dark = page(rule_cards([card()], paper=paper)) < 120
    foot = dark[-int((19 if paper == "a6" else 27) * DPI / 25.4) :]
    longest = max(int(row.sum()) for row in foot)
    assert longest * 25.4 / DPI == pytest.approx(50, abs=0.1)


@papers
def test_nothing_is_printed_where_printers_cannot(paper):
    """6 mm from every edge: what ordinary printers hold. [common practice]"""
    long = card(
        steps=tuple(f"Step {n} of a rule that goes on and on and on." for n in range(9)),
        variety="‘" + "Very " * 12 + "Long’",
    )
    sheet = page(rule_cards([long], paper=paper))
    edge = int(6 / 25.4 * DPI)
    for strip in (sheet[:edge], sheet[-edge:], sheet[:, :edge], sheet[:, -edge:]):
        assert strip.min() == 255


def test_a_long_rule_is_printed_whole_on_the_smallest():
    long = card(steps=tuple(f"Step {n} of a rule that goes on and on and on." for n in range(9)))
    assert all(f"Step {n} of a rule" in words(rule_cards([long], paper="a6")) for n in range(9))


def test_a_page_for_each_variety_and_names_as_written():
    pdf = rule_cards([card(variety='‘#import "x"’'), card(variety="")])
    with pdfium.PdfDocument(pdf) as sheets:
        assert len(sheets) == 2
    assert "#import" in words(pdf) and "Rule for cutting" in words(pdf)


def test_the_same_card_gives_the_same_bytes():
    assert rule_cards([card()]) == rule_cards([card()])


def test_no_card_and_no_such_paper_are_refused():
    with pytest.raises(ValueError, match="no rule"):
        rule_cards([])
    with pytest.raises(ValueError, match="say a6, a4, letter"):
        rule_cards([card()], paper="a9")
    assert set(PAPERS) == set(SIZES)
