"""Sentences said in English and in another language."""

from datetime import date

import pytest
from django.utils import translation

from ortet.science.film import CLOSURES, PACKINGS
from ortet.science.species import known_species, species
from ortet.wood import speech


def test_in_english_a_sentence_is_said_as_it_is_written():
    assert speech.say("{count:,} of {what}: braces {{}}", count=1200, what="L1") == "1,200 of L1: braces {}"
    assert speech.say("nothing to fill {in}") == "nothing to fill {in}"
    assert speech.say("") == ""
    assert speech.counted(1, "batch") == "1 batch"
    assert speech.counted(1200, "batch") == "1,200 batches"


@pytest.mark.parametrize(("day", "said"), [(date(2027, 5, 1), "Sat Saturday May May"), (date(2027, 12, 31), "Fri Friday Dec December")])  # fmt: skip
def test_days_are_said_as_by_strftime(day, said):
    ways = (speech.short_weekday, speech.weekday, speech.short_month, speech.month)
    assert " ".join(way(day) for way in ways) == said == f"{day:%a %A %b %B}"
    assert (
        speech.say_day(day) == f"{day.day} {day:%b %Y}" and speech.say_short_day(day) == f"{day.day} {day:%b}"
    )


@pytest.mark.parametrize("language", ["en", "nl"])
def test_a_space_stands_before_percent(language):
    """As the SI Brochure (9th edition, 5.4.7) asks. [published]"""
    with translation.override(language):
        assert speech.say("{share:.1%}", share=0.125) == "12.5 %" == speech.say_number(0.125, ".1%")
        assert speech.say_many("{count}, {share:.0%}", "", 1, share=0.5) == "1, 50 %"


def test_all_that_science_names_is_marked():
    assert set(speech.KINDS) == {species(key).name for key in known_species()}
    assert set(speech.CLOSURES) == set(CLOSURES) and set(speech.PACKINGS) == set(PACKINGS)


def test_in_dutch_numbers_hold_no_comma_that_reads_as_a_decimal_sign():
    with translation.override("nl"):
        assert speech.said_in() == "nl"
        assert speech.say("{count:,}, so", count=1200.5) == "1\N{NARROW NO-BREAK SPACE}200.5, so"
        assert (
            speech.say_number(1200) == "1\N{NARROW NO-BREAK SPACE}200"
            and speech.say_number(1200, ".0f") == "1200"
        )
        assert speech.say("") == ""
        assert speech.weekday(date(2027, 12, 31)) == "vrijdag"
        assert speech.counted(2, "lot") == "2 partijen"
