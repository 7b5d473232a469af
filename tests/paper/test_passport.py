"""Plant passports against the Union's own words for them, and the flag against its construction."""

import math

import numpy as np
import pypdfium2 as pdfium
import pytest

from ortet.paper.passport import LANGUAGES, OWN_LANGUAGE, ZONES, heading, passport, passport_labels
from ortet.wood.countries import EU
from tests.paper.reading import LONG, SIZES, codes, is_clear, pages, sizes

APPLE = {"botanical": "Malus domestica ‘Blauschwanz’", "code": "7K3Q-9M2D"}


def dutch(**said):
    return passport(**APPLE | {"country": "NL", "operator": "123456789", "origin": "NL"} | said)


def test_the_four_rows_of_the_union():
    """Regulation (EU) 2016/2031, Annex VII, part A (1): A name, B member state, hyphen, number, C code, D origin. [published]"""
    one = dutch()
    assert one.flag and one.heading == "Plant Passport" and not one.pests
    assert one.rows == (
        ("A", "Malus domestica ‘Blauschwanz’"),
        ("B", "NL-123456789"),
        ("C", "7K3Q-9M2D"),
        ("D", "NL"),
    )
    assert dutch(operator="NL-123456789").rows[1] == ("B", "NL-123456789")


def test_the_words_in_another_language_come_before_the_english_ones():
    """Annex VII, part A (1)(a): one official language and, if different, English, parted by a slash. [published; spacing memory]"""
    assert heading("DE", "de") == "Pflanzenpass / Plant Passport"
    assert heading("IE", "en") == "Plant Passport"
    with pytest.raises(ValueError, match="Language 'xx'"):
        heading("DE", "xx")
    assert set(OWN_LANGUAGE) == EU and set(OWN_LANGUAGE.values()) <= set(LANGUAGES)


@pytest.mark.parametrize(
    ("language", "words"),
    [
        ("de", "Pflanzenpass - Schutzgebiet / Plant Passport - PZ"),
        ("nl", "Plantenpaspoort - PZ / Plant Passport - PZ"),
        ("it", "Passaporto delle piante - ZP / Plant Passport - PZ"),
        ("fr", "Passeport phytosanitaire - ZP / Plant Passport - PZ"),
        ("lv", "Augu pase - AZ / Plant Passport - PZ"),
        ("pl", "Plant Passport - PZ"),
        ("en", "Plant Passport - PZ"),
    ],
)
def test_a_protected_zone_has_each_languages_own_words_or_english_alone(language, words):
    """Annex VII, part B (1)(a): the German version's own words; the models of Naktuinbouw (nl) and Emilia-Romagna (it). [published]
    French and Latvian from labels in use. [common practice] Implementing Regulation (EU) 2017/2313, Annex, note 1: in English, and
    in another official language where wanted. [published]"""
    assert heading("XI", language, zone=True) == words


def test_a_protected_zone_is_named_by_its_pest():
    """Part B: PZ, and under it the pest's scientific name or EPPO code; ERWIAM, as Emilia-Romagna and the NVWA print it. [published]"""
    one = dutch(pests=("ERWIAM",))
    assert one.heading == "Plant Passport - PZ" and one.pests == ("ERWIAM",)


def test_great_britain_has_its_own():
    """Regulation 2016/2031 as retained: UK Plant Passport, no flag, B without a country, D GB; 2019/2072, Art. 14: PFA. [published]"""
    one = passport(**APPLE, country="GB", operator="123456", origin="GB")
    assert (one.heading, one.flag) == ("UK Plant Passport", False)
    assert one.rows[1:] == (("B", "123456"), ("C", "7K3Q-9M2D"), ("D", "GB"))
    assert heading("GB", zone=True) == "UK Plant Passport - PFA"


@pytest.mark.parametrize(
    ("lacks", "words"),
    [
        ({"code": " "}, "without C"),  # the leave of Art. 83(2) is not for plants to be grown on [published; reading ours]
        ({"origin": ""}, "without D"),
        ({"botanical": ""}, "without A"),
        ({"operator": ""}, "authorised"),
        ({"country": "US"}, "European Union and in Great Britain"),
        ({"country": ""}, "No country"),
    ],
)  # fmt: skip
def test_what_lacks_a_part_is_not_printed(lacks, words):
    with pytest.raises(ValueError, match=words):
        dutch(**lacks)


def corner(colour, country="NL"):
    """Return the drawing of one passport's upper left part, 400 dots to the inch, and the dots of a millimetre."""
    one = dutch() if country == "NL" else passport(**APPLE, country="GB", operator="1", origin="GB")
    with pdfium.PdfDocument(passport_labels([one], colour=colour)) as sheets:
        picture = sheets[0].render(scale=400 / 72).to_numpy()[:, :, 2::-1]  # to red, green, blue
    scale = 400 / 25.4
    across, down = (210 - 2 * 92) / 2 + 3, (297 - 6 * 42) / 2 + 3  # the border's corner [mm]
    left, top = int((across + 2.2) * scale), int((down + 2.2) * scale)
    return picture[top : top + int(7 * scale), left : left + int(10.5 * scale)], scale


@pytest.mark.parametrize("colour", [True, False])
def test_the_flag_is_built_as_published(colour):
    """Council of Europe, technical characteristics of the European flag (2005): 3 to 2, twelve stars like the hours of a clock on a
    circle of a third of the height, each in a circle of an eighteenth; blue 003399, yellow FFCC00; in black alone, black stars on
    white, outlined. [published]"""
    flag, scale = corner(colour)
    high = 7 * scale
    field, star = ((0, 0x33, 0x99), (0xFF, 0xCC, 0)) if colour else ((255, 255, 255), (0, 0, 0))
    middle = (0.75 * high, 0.5 * high)
    for hour in range(12):
        angle = math.radians(30 * hour)
        x, y = middle[0] + high / 3 * math.sin(angle), middle[1] - high / 3 * math.cos(angle)
        assert np.abs(flag[int(y), int(x)].astype(int) - star).max() < 40, hour
        between = math.radians(30 * hour + 15)
        x, y = middle[0] + high / 3 * math.sin(between), middle[1] - high / 3 * math.cos(between)
        assert np.abs(flag[int(y), int(x)].astype(int) - field).max() < 40, hour
    # each star is an upright pentagram in its circle: the share of it that is gold
    gold = (np.abs(flag.astype(int) - star).max(axis=2) < 100)[
        int(0.1 * high) : int(0.9 * high), int(0.2 * high) : int(1.3 * high)
    ]
    radius = high / 18
    inner = radius * math.cos(math.radians(72)) / math.cos(math.radians(36))
    area = 12 * 5 * radius * inner * math.sin(math.radians(36))
    assert gold.sum() == pytest.approx(area, rel=0.12)


def test_only_the_union_has_the_flag():
    flag, _ = corner(True, "GB")
    assert (np.abs(flag.astype(int) - (0, 0x33, 0x99)).max(axis=2) > 60).all()


def test_each_element_stands_in_its_corner_and_in_its_order():
    """Annex VII, part A (1)(a) and (b): words upper right, flag upper left; (c) to (f): A, B, C, D one under the other, as in the
    models of Implementing Regulation (EU) 2017/2313, Annex; part B (1)(c): the pest right under the words. [published]"""
    with pdfium.PdfDocument(passport_labels([dutch(language="nl", pests=("ERWIAM",))])) as sheets:
        page = sheets[0].get_textpage()

        def box(words: str) -> tuple[float, float, float, float]:
            """Return where words stand from the border's corner: left, top, right, bottom. [mm]"""
            at, many = page.search(words).get_next()
            found = [page.get_charbox(n) for n in range(at, at + many)]
            left, bottom = min(one[0] for one in found), min(one[1] for one in found)
            right, top = max(one[2] for one in found), max(one[3] for one in found)
            across, down = (210 - 2 * 92) / 2 + 3, (297 - 6 * 42) / 2 + 3
            point = 25.4 / 72
            return (
                left * point - across,
                297 - top * point - down,
                right * point - across,
                297 - bottom * point - down,
            )

        wide, high = 92 - 6, 42 - 6
        words, pest = box("Plantenpaspoort - PZ / Plant Passport - PZ"), box("ERWIAM")
        rows = [box(f"{letter}.") for letter in "ABCD"]
    assert words[0] > 2.2 + 10.5, "right of the flag"
    assert wide - 2.2 - words[2] < 1 and words[1] < 4, "in the upper right corner"
    assert words[3] < pest[1] < pest[3] < rows[0][1] and abs(pest[2] - words[2]) < 1
    assert [row[1] for row in rows] == sorted(row[1] for row in rows) and rows[0][1] > 2.2 + 7
    assert max(row[0] for row in rows) - min(row[0] for row in rows) < 0.5 and rows[-1][3] < high


@pytest.mark.parametrize("paper", SIZES)
def test_labels_read_back_within_their_borders(paper):
    """Art. 2 of Regulation (EU) 2017/2313: in a rectangle, legible, apart from other text by a border line. [published]"""
    one = dutch(language="nl", pests=("ERWIAM",), address="http://192.168.1.20:8137/l/7K3Q9M2D")
    pdf = passport_labels([one] * 13, paper=paper, skip=2)
    assert sizes(pdf) == [pytest.approx(SIZES[paper], abs=0.01)] * 2
    text = " ".join(pages(pdf))
    words = "A. Malus domestica ‘Blauschwanz’ B. NL-123456789 C. 7K3Q-9M2D D. NL"
    assert text.count("Plantenpaspoort - PZ / Plant Passport - PZ ERWIAM") == text.count(words) == 13
    assert codes(pdf) == ["HTTP://192.168.1.20:8137/L/7K3Q9M2D"] * 13
    assert passport_labels([one]) == passport_labels([one])


def test_long_names_and_every_language_stay_within():
    many = [
        passport(
            botanical=f"Ribes nigrum ‘{LONG}’",
            country="GR",
            operator="GR-1",
            code="7K3Q-9M2D",
            origin="GR",
            language=key,
            pests=pests,
        )
        for key in LANGUAGES
        for pests in ((), ("Erwinia amylovora", "Xylella fastidiosa"))
    ]
    pdf = passport_labels(many)
    assert is_clear(pdf, 6)
    text = " ".join(pages(pdf)).replace(" ", "")
    assert all(words.replace(" ", "") in text for words in (*LANGUAGES.values(), *ZONES.values()))
    assert text.count(LONG) == len(many)


def test_what_cannot_be_printed_is_refused():
    with pytest.raises(ValueError, match="at least one lot"):
        passport_labels([])
    with pytest.raises(ValueError, match="skip 0 to 11"):
        passport_labels([dutch()], skip=12)
    with pytest.raises(ValueError, match="say a4 or letter"):
        passport_labels([dutch()], paper="a9")
