"""Countries by the letters of ISO 3166-1, against the tz database's list of them."""

from pathlib import Path

import pytest
import tzdata

from ortet.wood.countries import EU, GREAT_BRITAIN, country_name, is_country


def test_the_letters_are_the_standards():
    """ISO 3166-1 alpha-2 as the tz database lists it, iso3166.tab in the public domain. [published]"""
    lines = (
        (Path(tzdata.__file__).parent / "zoneinfo" / "iso3166.tab").read_text(encoding="utf-8").splitlines()
    )
    theirs = dict(line.split("\t") for line in lines if not line.startswith("#"))
    ours = {a + b for a in map(chr, range(65, 91)) for b in map(chr, range(65, 91)) if is_country(a + b)}
    assert ours == theirs.keys() | {"XI", "XK"}
    same = [letters for letters, name in theirs.items() if country_name(letters) == name]
    assert len(same) > 200, "the names, too, but for spelling"


@pytest.mark.parametrize("text", ["", "D", "UK", "EL", "EU", "DEU", "1X", "ß", "D E", " DE"])
def test_what_is_no_country_is_none(text):
    """UK and EL are in use, and are not the letters of Great Britain and Greece: a wrong rule of plant health would follow."""
    assert not is_country(text)


def test_countries_are_named_and_divided():
    assert is_country("fr") and country_name("fr") == "France"
    assert country_name("SG") == "Singapore", "what an address label says"
    assert all(map(is_country, EU | GREAT_BRITAIN))
