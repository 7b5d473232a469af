"""The map of a trial and its labels, read back as a phone and an eye would."""

import pypdfium2
import pytest
import zxingcpp

from ortet.paper.tray_map import MapCell, MapPlot, TrayMap, TrialMap, tray_map

DOTS = 203 / 72  # the coarsest printer in use


def trial(**more):
    plots = tuple(
        MapPlot(n + 1, "AB"[n % 2], ("none", "K-IBA")[n % 2], "Dusk", n // 2 + 1, n % 2, tuple(MapCell(n // 2 + 1, 4 * (n % 2) + c) for c in range(1, 5)))
        for n in range(6)
    )  # fmt: skip
    said = {
        "title": "Trial 3, Dip", "question": "Does it pay?", "drawn": "drawn 1 Feb 2027 by ada, seed 7", "rows": 3, "columns": 8,
        "looks": 2, "key": (("A", "none"), ("B", "K-IBA")), "rules": ("Do not turn a tray.",), "trays": (TrayMap("T3/1", plots),),
        "address": "http://hill.example/t/3",
    }  # fmt: skip
    return TrialMap(**(said | more))


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_its_code_leads_to_the_trial_and_its_words_stand_on_it(paper):
    pdf = tray_map(trial(), paper=paper)
    assert pdf == tray_map(trial(), paper=paper)
    with pypdfium2.PdfDocument(pdf) as pages:
        codes = zxingcpp.read_barcodes(pages[0].render(scale=DOTS).to_pil())
        words = " ".join(" ".join(page.get_textpage().get_text_bounded().split()) for page in pages)
    assert [code.text for code in codes] == ["HTTP://HILL.EXAMPLE/T/3"]
    for said in (
        "Trial 3, Dip",
        "seed 7",
        "Does it pay?",
        "T3/1",
        "K-IBA",
        "rooted, look 2",
        "Do not turn a tray.",
    ):
        assert said in words
    assert words.count("Dusk") == 6


def test_large_trays_many_looks_and_odd_names_fit():
    plots = tuple(
        MapPlot(n, "A", "x" * 90, "[#strong] $1$ `", n, n, tuple(MapCell(n, c) for c in range(1, 41))) for n in range(1, 41)
    )  # fmt: skip
    pdf = tray_map(trial(rows=40, columns=40, looks=9, trays=(TrayMap("T3/1", plots),)))
    with pypdfium2.PdfDocument(pdf) as pages:
        words = " ".join(page.get_textpage().get_text_bounded() for page in pages)
    assert words.count("[#strong]") == 40


def test_what_cannot_be_printed_is_refused():
    with pytest.raises(ValueError, match="a4 or letter"):
        tray_map(trial(), paper="a5")
    with pytest.raises(ValueError, match="No font on this machine"):
        tray_map(trial(question="\U000f0000"))
