"""The season's plan on paper, read back from the sheet as a reader would."""

import numpy as np
import pypdfium2 as pdfium
import pytest

from ortet.paper.season_sheet import (
    Bar,
    Mark,
    PickWeek,
    SeasonSheet,
    Short,
    ToPick,
    ToPost,
    ToSet,
    ToTake,
    season_sheet,
)
from ortet.paper.typeset import SHEETS

SIZES = {"a4": (210, 297), "letter": (8.5 * 25.4, 11 * 25.4)}  # ISO 216; 8.5 by 11 inches [mm]
LONG = "Himmelsschlüsselblumenwiesenrandgehölzsammlung"
papers = pytest.mark.parametrize("paper", SIZES)


def sheet(lines=2, name="Soot Lantern", **said):
    numbers = range(1, lines + 1)
    usual = {
        "nursery": "Hill Nursery",
        "planned": "12 February 2027, 08:00",
        "summary": ("Take 12 cuttings from 1 plant.",),
        "take": (ToTake("V-01", name, "rooting", 12, "Fri 12 Feb"),),
        "weeks": (
            PickWeek(
                "week of 15 February 2027",
                tuple(ToPick(f"A{n}", "Cellar fridge", f"26-{n:03}", name, n, name, f"order {n}/1") for n in numbers),
            ),
        ),
        "sets": (ToSet("Mon 22 Feb", "26-001", "A1", name, 30, "Warm bench", "21 °C", "14 Mar", "3 %"),),
        "bars": (Bar("Warm bench", "26-001 × 30", 0.1, 0.7, 0.5),),
        "marks": (Mark(0.0, "22 Feb"), Mark(0.5, "15 Mar")),
        "posts": (ToPost("Mon 1 Mar", "3", name, 20, "a warm pack", "1.2 %"),),
        "short": (Short("order 2/1", name, name, "3 of 5", "Two are taken by order 1."),),
        "binds": ("The mother plants may give 20.",),
        "assumed": ("No forecast is loaded.",),
        "cautions": ("Cut away from your hand.",),
    }  # fmt: skip
    return SeasonSheet(**usual | said)


def pages(pdf):
    """Return the text of each page, words parted by one blank."""
    with pdfium.PdfDocument(pdf) as sheets:
        return [" ".join(one.get_textpage().get_text_bounded().split()) for one in sheets]


@papers
def test_everything_stands_on_the_right_paper(paper):
    pdf = season_sheet(sheet(), paper=paper)
    with pdfium.PdfDocument(pdf) as sheets:
        for one in sheets:
            assert one.get_size() == pytest.approx([mm / 25.4 * 72 for mm in SIZES[paper]], abs=0.01)
    text = " ".join(pages(pdf))
    for words in (
        "Hill Nursery",
        "V-01",
        "Pick in the week of 15 February 2027",
        "26-002",
        "order 2/1",
        "21 °C",
        "26-001 × 30",
        "Mon 1 Mar",
        "a warm pack",
        "3 of 5 Two are taken by order 1.",
        "The mother plants may give 20.",
        "No forecast is loaded.",
        "Cut away from your hand.",
    ):
        assert words in text
    assert set(SHEETS) == set(SIZES)


@papers
def test_a_long_season_runs_over_pages_with_its_headings_and_numbers(paper):
    found = pages(season_sheet(sheet(lines=300, short=()), paper=paper))
    for n in range(1, 301):
        assert sum(f"order {n}/1 " in page for page in found) == 1
    picking = [page for page in found if " bag lot " in page]
    assert len(picking) > 9 and all("Pick in the week of 15 February 2027" in page for page in picking)
    for number, page in enumerate(found, 1):
        assert page.endswith(f"Page {number} of {len(found)}")


@pytest.mark.parametrize("name", ["Ørsted × ‘Vår’", "Сад и лоза", "Hill’s № 3 — #1 *x* $y$ @z \\a [b]"])
def test_letters_come_through_and_nothing_is_read_as_markup(name):
    text = " ".join(pages(season_sheet(sheet(name=name))))
    assert text.count(" ".join(name.split())) >= 6


@papers
def test_a_name_too_long_for_its_column_is_whole_and_stays_off_the_margins(paper):
    pdf = season_sheet(sheet(lines=3, name=LONG), paper=paper)
    with pdfium.PdfDocument(pdf) as sheets:
        letters = "".join(one.get_textpage().get_text_bounded() for one in sheets)
        assert letters.replace("\r\n", "").replace("\u200b", "").count(LONG) >= 6
        for one in sheets:
            dark = one.render(scale=2).to_numpy().max(axis=2) < 200
            edge = int(13 / 25.4 * 144)
            assert not dark[:, :edge].any() and not dark[:, -edge:].any()


def test_each_thing_to_be_done_has_a_box_to_tick():
    """Boxes of 4.4 mm stand in the first column: their left edges are upright strokes of that height."""
    with pdfium.PdfDocument(season_sheet(sheet(lines=4))) as sheets:
        dark = sheets[0].render(scale=508 / 72).to_numpy().max(axis=2) < 128
    strip = dark[:, (14 * 20) : (20 * 20)]
    tall = [run for column in strip.T for run in runs(column) if 80 <= run <= 100]
    # each edge is some dots wide; both edges of 1 taken, 4 picked, 1 set, 1 posted
    assert len(tall) >= 2 * 7


def runs(column):
    edges = np.flatnonzero(np.diff(np.concatenate([[0], column.astype(int), [0]])))
    return (edges[1::2] - edges[::2]).tolist()


def test_a_bar_stands_where_its_weeks_are():
    """A bar from 0.25 to 0.75 of the drawing is half as wide as it; grey, measured on the sheet."""
    only = sheet(
        bars=(Bar("Warm bench", "", 0.25, 0.75, None),), take=(), weeks=(), sets=(), posts=(), short=()
    )
    with pdfium.PdfDocument(season_sheet(only)) as sheets:
        grey = sheets[0].render(scale=4).to_numpy().max(axis=2)
    row = next(line for line in grey if (line == 215).sum() > 100)
    width = (210 - 28 - 30 - 2 * 0.8) / 25.4 * 72 * 4
    assert (row == 215).sum() == pytest.approx(width / 2, rel=0.02)


def test_an_empty_plan_says_so_section_by_section():
    text = " ".join(pages(season_sheet(SeasonSheet("Hill", "12 February 2027"))))
    assert "The wood in store is enough." in text and "Nothing is to be posted." in text


def test_the_same_plan_gives_the_same_bytes():
    assert season_sheet(sheet()) == season_sheet(sheet())


def test_what_cannot_be_printed_is_refused_in_one_sentence():
    with pytest.raises(ValueError, match="say a4 or letter"):
        season_sheet(sheet(), paper="a9")
    with pytest.raises(ValueError, match="Write the name in other letters"):
        season_sheet(sheet(name="\U000e0041\u0ed7\U0001f9ff\ue000"))
