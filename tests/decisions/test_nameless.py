"""Whose is a bundle without a name: count, thickness, kind and place each speak, and none of them alone decides."""

import pytest

from ortet.decisions.mixup.nameless import Nameless, Owner, whose

HERE = [
    Owner("blackcurrant", 8.0, 30, "here"),
    Owner("blackcurrant", 8.0, 24, "here"),
    Owner("gooseberry", 6.0, 30, "here"),
    Owner("blackcurrant", 8.0, 30, "elsewhere"),
]


def test_the_chances_are_of_one_whole():
    told = whose(Nameless(30, "blackcurrant", 8.0), HERE)
    assert sum(told.chances) + told.none == pytest.approx(1.0)


def test_the_lot_whose_count_agrees_comes_first_and_one_that_lies_elsewhere_far_behind():
    told = whose(Nameless(30, "blackcurrant"), HERE)
    assert told.chances[0] > 0.9 and told.chances[0] / told.chances[3] == pytest.approx(1 / 0.02)


def test_thickness_tells_lots_of_one_count_apart():
    thin = whose(Nameless(30, "", 6.1), HERE)
    assert thin.chances[2] > 0.7 > 0.3 > thin.chances[0]
    assert whose(Nameless(30), HERE).chances[0] == whose(Nameless(30), HERE).chances[2]


def test_a_count_that_fits_nothing_leaves_it_open():
    told = whose(Nameless(77, "blackcurrant"), HERE)
    assert told.none > 0.5
    assert whose(Nameless(77), []).none == 1.0


@pytest.mark.parametrize(
    ("found", "says"), [(Nameless(0), "at least one"), (Nameless(5, "", 0.0), "no cutting's thickness")]
)
def test_what_cannot_be_is_refused(found, says):
    with pytest.raises(ValueError, match=says):
        whose(found, HERE)
