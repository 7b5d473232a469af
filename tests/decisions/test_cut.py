"""One shoot cut: against every way there is to cut it, worked out anew and plainly."""

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ortet.decisions.cut import cut_shoot, cut_shoots
from ortet.wood.grade import COMMON, Grade, grade
from ortet.wood.piece import Knife
from ortet.wood.shoot import Shoot

WHOLE = st.integers(0, 60)


@st.composite
def shoots(draw, most=7):
    gaps = draw(st.lists(st.integers(1, 60), min_size=1, max_size=most))
    nodes = [*itertools.accumulate(gaps)]
    thick = draw(st.lists(st.integers(30, 120), min_size=len(nodes), max_size=len(nodes)))
    thick = [mm / 10 for mm in sorted(thick, reverse=True)]
    length = nodes[-1] + draw(st.integers(0, 40))
    return Shoot(
        tuple(map(float, nodes)),
        tuple(thick),
        float(length),
        thick[0] + 0.5,
        thick[-1] - 0.4,
        draw(st.booleans()),
    )


@st.composite
def grades(draw):
    few, more = sorted(draw(st.tuples(st.integers(1, 4), st.integers(1, 5))))
    short, long = sorted(draw(st.tuples(st.integers(0, 120), st.integers(20, 300))))
    thin, thick = sorted(draw(st.tuples(st.integers(3, 8), st.integers(5, 14))))
    return Grade(
        "A", "", few, more, short, long, thin, thick, draw(st.integers(2, 6)), math.inf,
        draw(st.sampled_from(["no", "may", "must"])), draw(st.integers(1, 9)),
    )  # fmt: skip


@st.composite
def wishes(draw):
    several = draw(st.lists(grades(), min_size=1, max_size=3))
    named = [
        Grade(**{f: getattr(one, f) for f in Grade.__slots__} | {"name": f"G{n}"})
        for n, one in enumerate(several)
    ]
    return (
        draw(shoots()),
        named,
        Knife(*draw(st.tuples(st.integers(0, 4), st.integers(0, 12), st.integers(0, 25)))),
    )


def ends_of(shoot, knife):
    """Where the cut below each node and the cut above it fall, from the words in docs/why/cut.md; None for nowhere."""
    base, top = [], []
    for k, node in enumerate(shoot.nodes_mm):
        below, above = knife.below_mm, knife.above_mm
        if k == 0:
            base.append(max(node - below, 0.0))
        else:
            room = node - shoot.nodes_mm[k - 1] - knife.kerf_mm
            part = min(1.0, room / (below + above)) if below + above else 1.0
            base.append(node - below * part if room > 0 else None)
        if k == len(shoot.nodes_mm) - 1:
            left = shoot.length_mm - node
            top.append(
                node + above
                if above < left - knife.kerf_mm - 1e-6
                else None
                if shoot.has_tip
                else shoot.length_mm
            )
        else:
            room = shoot.nodes_mm[k + 1] - node - knife.kerf_mm
            part = min(1.0, room / (below + above)) if below + above else 1.0
            top.append(node + above * part if room > 0 else None)
    return base, top


def every_piece(shoot, known, knife):
    """All pieces that fit a grade: first node, last node, value."""
    base, top = ends_of(shoot, knife)
    for first, last in itertools.combinations_with_replacement(range(len(shoot.nodes_mm)), 2):
        own_end = [(shoot.length_mm, shoot.tip_mm, True)] if last == len(base) - 1 and shoot.has_tip else []
        cut_end = [(top[last], shoot.diameter_at(top[last]), False)] if top[last] is not None else []
        for to, tip, with_tip in own_end + cut_end:
            if base[first] is None or to - base[first] <= 1e-6:
                continue
            thick, size = shoot.diameter_at(base[first]), last - first + 1
            for one in known:
                if (
                    one.least_nodes <= size <= one.most_nodes
                    and one.least_mm - 1e-6 <= to - base[first] <= one.most_mm + 1e-6
                    and one.least_base_mm - 1e-6 <= thick <= one.most_base_mm + 1e-6
                    and one.least_tip_mm - 1e-6 <= min(tip, thick) <= one.most_tip_mm + 1e-6
                    and (one.tip != "no" if with_tip else one.tip != "must")
                ):
                    yield first, last, one.value


def best_of_all(shoot, known, knife):
    """Try every set of pieces that share no node."""
    pieces = list(every_piece(shoot, known, knife))

    def best(after):
        return max((value + best(last) for first, last, value in pieces if first > after), default=0.0)

    return best(-1)


@given(wishes())
def test_no_other_way_to_cut_is_worth_more(asked):
    shoot, known, knife = asked
    cut = cut_shoot(shoot, known, knife)
    assert cut.value == pytest.approx(best_of_all(shoot, known, knife), abs=1e-9)


@given(wishes())
def test_every_piece_can_be_cut_and_is_of_its_grade(asked):
    shoot, known, knife = asked
    cut = cut_shoot(shoot, known, knife)
    base, top = ends_of(shoot, knife)
    named = {one.name: one for one in known}
    place, node = 0.0, 0
    for piece in cut.pieces:
        assert piece.from_mm == pytest.approx(base[piece.first_node - 1])
        assert piece.to_mm == pytest.approx(shoot.length_mm if piece.has_tip else top[piece.last_node - 1])
        assert piece.first_node > node and piece.from_mm >= place - 1e-9
        assert shoot.diameter_at(piece.from_mm) == pytest.approx(piece.base_mm)
        assert shoot.diameter_at(piece.to_mm) == pytest.approx(piece.tip_mm)
        assert named[piece.grade].misfit(piece.cutting(), has_tip=piece.has_tip) == ""
        place, node = piece.to_mm + knife.kerf_mm, piece.last_node
    assert node <= len(shoot.nodes_mm) and place <= shoot.length_mm + knife.kerf_mm + 1e-9


@given(wishes())
def test_every_node_is_in_a_piece_or_in_a_stretch_with_a_reason(asked):
    shoot, known, knife = asked
    cut = cut_shoot(shoot, known, knife)
    assert sum(piece.nodes for piece in cut.pieces) + sum(left.nodes for left in cut.dropped) == len(
        shoot.nodes_mm
    )
    for left in cut.dropped:
        assert left.nodes > 0 and left.reason and left.from_mm < left.to_mm + 1e-9


@given(st.lists(shoots(), min_size=1, max_size=5), grades())
def test_many_at_once_are_cut_as_each_alone(several, one):
    cuts = cut_shoots(several, [one])
    assert list(cuts) == cuts[:] == [cut_shoot(shoot, [one]) for shoot in several]
    assert cuts[-1].shoot is several[-1] and cuts.worth.sum() == pytest.approx(sum(cut.value for cut in cuts))


def test_worked_by_hand():
    """A shoot of ten nodes 50 mm apart, 12 mm at the base and 2 mm at the tip: 0.02 mm thinner a mm.

    Pieces of three nodes are 5 + 100 + 15 = 120 mm long. Cut below node k at 50 k - 30 mm, where it is 12.6 - k mm thick.
    Thick takes 8 mm and more at the base: nodes 1 to 3 (11.6) and 4 to 6 (8.6); thin 5 mm and more: nodes 7 to 9 (5.6).
    Node 10 is left, one node.
    """
    shoot = Shoot.even(500, 12, 2, 10)
    known = [
        Grade("thick", least_nodes=3, most_nodes=3, least_base_mm=8),
        Grade("thin", least_nodes=3, most_nodes=3, least_base_mm=5, most_base_mm=8),
    ]
    cut = cut_shoot(shoot, known, Knife(0, 5, 15))
    assert [(piece.grade, piece.first_node, piece.last_node) for piece in cut.pieces] == [
        ("thick", 1, 3), ("thick", 4, 6), ("thin", 7, 9),
    ]  # fmt: skip
    assert [piece.base_mm for piece in cut.pieces] == pytest.approx([11.6, 8.6, 5.6])
    assert [piece.length_mm for piece in cut.pieces] == pytest.approx([120, 120, 120])
    (left,) = cut.dropped
    assert (left.nodes, left.from_mm, left.reason) == (
        1,
        pytest.approx(440),
        "3.2 mm thick, and every grade takes 5 mm or more",
    )


def test_a_short_internode_is_divided():
    """Two nodes 12 mm apart with margins of 5 and 15 mm and a saw of 2 mm: 10 mm of room, 2.5 below and 7.5 above."""
    cut = cut_shoot(Shoot((20, 32), (8, 8), 60, 8, 8, False), [Grade("A", most_nodes=1)], Knife(2, 5, 15))
    assert [(piece.from_mm, piece.to_mm) for piece in cut.pieces] == [(15, 27.5), (29.5, 47)]


def test_nodes_closer_than_the_saw_are_not_parted():
    cut = cut_shoot(Shoot((20, 21), (8, 8), 60, 8, 8, False), [Grade("A")], Knife(2, 5, 15))
    assert [piece.nodes for piece in cut.pieces] == [2]


def test_of_ways_worth_the_same_the_one_that_uses_more_wood():
    cut = cut_shoot(Shoot.even(600, 9, 8, 6), [Grade("A", least_nodes=2, most_nodes=3)])
    assert [piece.nodes for piece in cut.pieces] == [2, 2, 2]
    assert [piece.nodes for piece in cut_shoot(Shoot.even(500, 9, 8, 5), [Grade("A", least_nodes=2, most_nodes=3)]).pieces] in (
        [2, 3], [3, 2],
    )  # fmt: skip


@pytest.mark.parametrize(
    ("shoot", "known", "reason"),
    [
        (Shoot.even(300, 4, 3, 6), COMMON, "4.0 mm thick, and every grade takes 5.5 mm or more"),
        (Shoot.even(200, 30, 28, 6), COMMON, "28.0 mm thick, and every grade takes 20 mm or less"),
        (Shoot.even(200, 9, 8, 2), COMMON, "2 nodes are left over, and every grade takes 3 or more"),
        (Shoot.even(60, 9, 8, 4), COMMON, "60 mm are left over, and every grade takes 90 mm or more"),
        (
            Shoot.even(200, 9, 8, 5, has_tip=True),
            [Grade("A", most_mm=100, least_nodes=4)],
            "no grade fits it",
        ),
    ],
)
def test_why_wood_is_left(shoot, known, reason):
    (left,) = cut_shoot(shoot, known).dropped
    assert left.reason.startswith(reason)


def test_the_tip_goes_with_the_grades_that_take_it():
    shoot = Shoot.even(300, 9, 6, 6)
    tips = {}
    for rule in ("no", "may", "must"):
        (piece, *_) = cut_shoot(shoot, [Grade("A", least_nodes=6, tip=rule)]).pieces
        tips[rule] = piece.has_tip
    assert tips == {"no": False, "may": True, "must": True}


def test_what_it_cuts_is_graded_the_same_by_the_caliper():
    cut = cut_shoot(Shoot.even(1500, 12, 4, 40), COMMON)
    for piece in cut.pieces:
        assert grade(piece.cutting(), [one for one in COMMON if one.name == piece.grade]).grade is not None


@pytest.mark.parametrize(
    ("known", "why"), [([], "no grade"), ([Grade("A"), Grade("A")], "two grades of one name, A")]
)
def test_grades_that_make_no_sense_are_refused(known, why):
    with pytest.raises(ValueError, match=why):
        cut_shoot(Shoot.even(500, 9, 8, 5), known)


def test_the_compiled_part_and_the_grades_allow_the_same_slack():
    from ortet.decisions.cut import knife_kernel
    from ortet.wood import grade as grades

    assert knife_kernel.SLACK_MM == grades.SLACK_MM
