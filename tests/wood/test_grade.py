"""Grades: limits, which one a cutting is, and the reason given."""

import pytest

from ortet.wood.cutting import Cutting
from ortet.wood.grade import COMMON, PUBLISHED, Grade, grade


def cutting(nodes=4, length=200, base=9, tip=7):
    return Cutting(length, base, tip, nodes)


@pytest.mark.parametrize(
    ("said", "name"),
    [
        ({}, "rooting"),
        ({"base": 8}, "rooting"),
        ({"base": 7.9, "tip": 6}, "grafting"),
        ({"nodes": 3, "length": 100, "base": 6.5, "tip": 5}, "grafting"),
        ({"nodes": 2}, None),
        ({"base": 5, "tip": 4}, None),
    ],
)
def test_common_practice(said, name):
    """Common practice: three nodes, a pencil's thickness, thicker for rooting, thinner for grafting."""
    found = grade(cutting(**said), COMMON).grade
    assert (found.name if found else None) == name
    assert {one.source for one in COMMON} == {"common practice"}


def test_limits_are_included():
    one = Grade("A", least_nodes=2, most_nodes=3, least_mm=100, most_mm=200, least_base_mm=6, most_base_mm=9)
    for said in ({"nodes": 2, "length": 100, "base": 6, "tip": 5}, {"nodes": 3, "length": 200, "base": 9}):
        assert one.misfit(cutting(**said)) == ""


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ({"nodes": 7}, "7 nodes, takes 3 to 6"),
        ({"length": 140}, "140.0 mm long, takes 150 to 300 mm"),
        ({"base": 21}, "21.0 mm thick at the base, takes 8 to 20 mm"),
        ({"tip": 5}, "5.0 mm thick at the thin end, takes 6 or more mm"),
    ],
)
def test_why_it_is_not(said, why):
    assert COMMON[0].misfit(cutting(**said)) == why


def test_the_tip():
    for rule, bare, tipped in (("no", True, False), ("may", True, True), ("must", False, True)):
        one = Grade("A", tip=rule)
        assert (not one.misfit(cutting()), not one.misfit(cutting(), has_tip=True)) == (bare, tipped)


def test_the_most_valuable_of_those_that_fit_and_why_not_the_others():
    found = grade(
        cutting(nodes=3, length=100),
        [Grade("plain"), Grade("long", least_mm=150, value=3), Grade("thick", value=2)],
    )
    assert found.grade.name == "thick"
    assert (
        found.reason
        == "3 nodes, 100 mm long, 9.0 mm at the base, 7.0 mm at the thin end: thick; not long: 100.0 mm long, takes 150 or more mm."
    )


def test_none_fits():
    found = grade(cutting(nodes=1), COMMON)
    assert found.grade is None and found.reason.startswith("No grade fits. not rooting: 1 node, takes 3 to 6")
    assert grade(cutting(), []).reason == "There is no grade."


@pytest.mark.parametrize(
    "said",
    [
        {"name": " "},
        {"name": "x" * 21},
        {"use": "firewood"},
        {"tip": "perhaps"},
        {"value": 0},
        {"value": float("inf")},
        {"least_nodes": 0},
        {"least_nodes": 4, "most_nodes": 3},
        {"least_mm": 200, "most_mm": 100},
        {"least_base_mm": -1},
        {"least_tip_mm": float("nan")},
    ],
)
def test_what_is_no_grade_is_refused(said):
    with pytest.raises(ValueError, match=r"give|say"):
        Grade(**{"name": "A"} | said)


def test_every_published_grade_names_its_source():
    for standard in PUBLISHED:
        assert standard.citation and all(one.source == standard.citation for one in standard.grades)
