"""Every number of every species has a source and says how sure it is."""

import copy
import re
import tomllib
from pathlib import Path

import pytest

import ortet.science.species as room
from ortet.science.species import MARKS, SPECIES, UNITS, Known, known_species, read_species, species

FILE = Path(room.__file__).with_name("species.toml")

WOOD = {
    "any": {number: {"of": 1, "low": 1, "high": 2, "mark": "memory", "source": "a book"} for number in UNITS},
    "group": {"vine": {"name": "vines"}},
    "species": {"grape": {"name": "grape", "latin": "Vitis", "group": "vine"}},
}


def test_the_kinds_of_wood_that_the_program_speaks_of():
    asked = "grape fig pomegranate mulberry blackcurrant redcurrant gooseberry elder quince apple plum pear cherry"
    more = "hazel kiwi olive rose willow poplar peach"
    assert set(f"{asked} {more}".split()) == set(known_species()) == set(SPECIES)
    assert species("grape").latin == "Vitis vinifera"
    assert SPECIES["grape"] is species("grape")


@pytest.mark.parametrize("key", known_species())
def test_every_number_has_a_source_a_mark_and_a_sane_range(key):
    wood = species(key)
    for number in UNITS:
        known = wood.known(number)
        assert known.source and known.mark in MARKS[:3]
        low, high = wood.range(number)
        assert low <= wood.value(number) <= high
        assert known.mark in wood.why(number)
    for what in ("callus", "roots"):
        least, best, most = (wood.value(f"{what}_t_{end}") for end in ("min", "opt", "max"))
        assert least < best < most
    assert wood.value("heat_t_base") < wood.value("heat_t_opt") < wood.value("heat_t_crit")
    assert wood.value("leaf_heat") <= wood.value("leaf_heat_unchilled")
    for share in ("water_content", "dry_limit", "reserve_share", "usable_share", "strike"):
        assert wood.range(share)[0] > 0 and wood.range(share)[1] < 1


def test_published_means_someone_published_it():
    """A published value names an author and a year, or the table it was read in."""
    for wood in SPECIES.values():
        for number in UNITS:
            known = wood.known(number)
            if known.mark == "published":
                assert re.search(r"\b(19|20)\d\d\b|UC ANR table", known.source), known


def test_bark_defaults_to_the_middle_of_what_was_measured():
    """Wolfe 2020, Biol. Lett. 16:20200263: 0.86 to 12.98 mmol m-2 s-1; 2 is the project's choice."""
    grape = species("grape")
    assert grape.value("bark_conductance") == 2.0
    assert grape.range("bark_conductance") == (0.86, 12.98)
    assert "common practice; not known for grape, so the value for dormant one-year wood" in grape.why(
        "bark_conductance"
    )


def test_unknown_falls_back_to_the_group_and_says_so():
    table = copy.deepcopy(WOOD)
    table["group"]["vine"]["q10"] = {
        "of": 3,
        "low": 2,
        "high": 4,
        "mark": "published",
        "source": "Someone 1999",
    }
    table["species"]["grape"]["q10"] = {"mark": "unknown"}
    grape = read_species(table)["grape"]
    assert grape.value("q10") == 3.0
    assert grape.why("q10") == "Someone 1999 (published; not known for grape, so the value for vines)"


def _without(part):
    entry = {"of": 1, "low": 1, "high": 1, "mark": "memory", "source": "a book"}
    del entry[part]
    return entry


@pytest.mark.parametrize(
    ("entry", "message"),
    [
        (_without("mark"), "the mark is missing"),
        (_without("source"), "needs its source"),
        (_without("low"), "low"),
        (2.0, "the mark is missing"),
        ({"of": 1, "mark": "unknown"}, "cannot have a value"),
        ({"of": 1, "low": 1, "high": 1, "mark": "sure", "source": "a book"}, "must be one of"),
        ({"of": 5, "low": 1, "high": 2, "mark": "memory", "source": "a book"}, "in its own range"),
    ],
)
def test_a_number_that_does_not_say_what_it_rests_on_is_refused(entry, message):
    table = copy.deepcopy(WOOD)
    table["species"]["grape"]["q10"] = entry
    with pytest.raises(ValueError, match=rf"species\.grape\.q10: .*{message}"):
        read_species(table)


def test_misspelt_names_are_refused():
    table = copy.deepcopy(WOOD)
    table["species"]["grape"]["q_ten"] = {"mark": "unknown"}
    with pytest.raises(ValueError, match="no such number"):
        read_species(table)
    table = copy.deepcopy(WOOD)
    table["species"]["grape"]["group"] = "vines"
    with pytest.raises(ValueError, match="no group 'vines'"):
        read_species(table)
    table = copy.deepcopy(WOOD)
    del table["any"]["q10"]
    with pytest.raises(ValueError, match="q10 is known neither"):
        read_species(table)
    with pytest.raises(KeyError, match="Known: grape"):
        species("banana")
    with pytest.raises(KeyError, match="bark_conductance"):
        species("grape").value("bark")


def test_the_file_itself_marks_every_value():
    table = tomllib.loads(FILE.read_text(encoding="utf-8"))
    blocks = [table["any"], *table["group"].values(), *table["species"].values()]
    entries = [entry for block in blocks for entry in block.values() if isinstance(entry, dict)]
    assert len(entries) > 60
    assert all(entry["mark"] in MARKS for entry in entries)


def test_a_known_number_is_true_from_birth():
    with pytest.raises(ValueError, match="source"):
        Known(1.0, 0.5, 2.0, "memory", "  ")
