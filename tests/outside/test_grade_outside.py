"""Grades against the standards that print them."""

import pytest

from ortet.decisions.cut import cut_shoot
from ortet.wood.cutting import Cutting
from ortet.wood.grade import PUBLISHED, grade
from ortet.wood.piece import Knife
from ortet.wood.shoot import Shoot

STANDARDS = {standard.key: {one.name: one for one in standard.grades} for standard in PUBLISHED}


def test_vine_cuttings_by_the_directive(published):
    """Council Directive 68/193/EEC, Annex II: see the head of the file. Length and buds are left to the trade."""
    for row in published("grade_eu_vine"):
        cutting = Cutting(400, row["thick_mm"], row["thin_mm"], 4)
        for name in ("graftable", "nursery"):
            assert (STANDARDS["eu-vine"][name].misfit(cutting) == "") == bool(row[name]), (row, name)


def test_grape_cuttings_in_washington(published):
    """WAC 16-462-055 (2): see the head of the file."""
    for row in published("grade_wa_grape"):
        found = grade(
            Cutting(row["length_in"] * 25.4, 9, 8, int(row["nodes"])), list(STANDARDS["wa-grape"].values())
        )
        assert (found.grade is not None) == bool(row["passes"]), row


def test_the_lowest_bud_lies_within_half_an_inch_of_the_base():
    """WAC 16-462-055 (2): the basal bud within one-half inch, 12.7 mm, of the basal end, in every piece that is cut."""
    cut = cut_shoot(Shoot.even(1200, 12, 7, 20), list(STANDARDS["wa-grape"].values()), Knife())
    assert cut.pieces
    for piece in cut.pieces:
        assert cut.shoot.nodes_mm[piece.first_node - 1] - piece.from_mm <= 12.7


def test_a_fifteen_millimetre_stub_and_a_cut_close_below_a_bud_are_usual():
    """UC Cooperative Extension: base cut 0.6 cm (1/4 in) below a node, 2.5 to 5 cm left above; Iowa State: just under a node, 13 to
    25 mm above. The knife's usual 5 and 15 mm lie inside what the two advise."""
    knife = Knife()
    assert 0 < knife.below_mm <= 6.35
    assert 12.7 <= knife.above_mm <= 50


@pytest.mark.parametrize("standard", PUBLISHED, ids=lambda one: one.key)
def test_a_standard_can_be_cut_by(standard):
    assert cut_shoot(Shoot.even(1500, 13, 4, 25), standard.grades).pieces
