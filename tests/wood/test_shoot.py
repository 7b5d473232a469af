"""Shoots, pieces and the knife as values."""

import math

import pytest

from ortet.wood.piece import Knife, Piece
from ortet.wood.shoot import Shoot


def test_thickness_runs_in_straight_lines_between_nodes():
    shoot = Shoot((100, 300), (9, 7), 400, 10, 6)
    assert [shoot.diameter_at(mm) for mm in (0, 50, 100, 200, 300, 350, 400, 500)] == [
        10, 9.5, 9, 8, 7, 6.5, 6, 6,
    ]  # fmt: skip


def test_an_even_shoot():
    shoot = Shoot.even(1000, 10, 5, 10)
    assert shoot.nodes_mm == pytest.approx([50 + 100 * k for k in range(10)])
    for place, thick in zip(shoot.nodes_mm, shoot.diameters_mm, strict=True):
        assert thick == pytest.approx(10 - 5 * place / 1000)


def test_a_node_at_either_end():
    shoot = Shoot((0, 400), (10, 6), 400, 10, 6)
    assert (shoot.diameter_at(0), shoot.diameter_at(400)) == (10, 6)


@pytest.mark.parametrize(
    ("said", "why"),
    [
        (((100,), (9,), 0, 10, 6), "has a length"),
        (((100,), (9,), math.nan, 10, 6), "has a length"),
        (((100,), (9,), 400, 6, 10), "thick end"),
        (((100,), (9,), 400, math.inf, 6), "thick end"),
        (((), (), 400, 10, 6), "1 to 500"),
        (((100,), (9, 8), 400, 10, 6), "one each"),
        (((300, 100), (9, 8), 400, 10, 6), "nodes rise"),
        (((100, 500), (9, 8), 400, 10, 6), "nodes rise"),
        (((100,), (0,), 400, 10, 6), "has a thickness"),
    ],
)
def test_what_is_no_shoot_is_refused(said, why):
    with pytest.raises(ValueError, match=why):
        Shoot(*said)


def test_a_shoot_without_nodes_cannot_be_even():
    with pytest.raises(ValueError, match="1 to 500"):
        Shoot.even(1000, 10, 5, 0)


@pytest.mark.parametrize("knife", [{"kerf_mm": -1}, {"below_mm": math.nan}, {"above_mm": 500}])
def test_what_is_no_knife_is_refused(knife):
    with pytest.raises(ValueError, match="give 0 to 200"):
        Knife(**knife)


def test_a_piece_becomes_a_cutting():
    piece = Piece("rooting", 2, 4, 60, 260, 9, 7, False, 1.0)
    cutting = piece.cutting()
    assert (piece.nodes, piece.length_mm) == (3, 200)
    assert (cutting.nodes, cutting.length_mm, cutting.base_mm, cutting.tip_mm) == (3, 200, 9, 7)
    assert Piece("rooting", 1, 1, 0, 50, 7, 7.2, False, 1.0).cutting().tip_mm == 7


@pytest.mark.parametrize("said", [(0, 1, 0, 50), (3, 2, 0, 50), (1, 1, 50, 50), (1, 1, -1, 50)])
def test_what_is_no_piece_is_refused(said):
    with pytest.raises(ValueError, match="a piece has a"):
        Piece("rooting", *said, 7, 7, False, 1.0)
