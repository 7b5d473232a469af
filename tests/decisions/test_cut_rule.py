"""Rules of thumb: followed anew by hand, against the optimum, and against all rules of a small kind."""

import itertools

import pytest

from ortet.decisions.cut import cut_shoots
from ortet.decisions.cut_rule import best_rule, likely_shoots, rule_steps
from ortet.wood.cutting import Cutting
from ortet.wood.grade import COMMON, Grade
from ortet.wood.piece import Knife
from ortet.wood.shoot import Shoot
from tests.decisions.test_cut import ends_of
from tests.decisions.test_cut_many import GRADES, some

SAMPLES = {"even": likely_shoots(1200, 11, 3, 30), "uneven": some(40, 9)}


def followed(rule, shoots, grades, knife):
    """Follow a card as it is written: what pieces it gives that are of the grade they were cut for."""
    named, worth, cut = {one.name: one for one in grades}, 0.0, 0
    for shoot in shoots:
        base, top = ends_of(shoot, knife)
        stop = len(base) - rule.drop
        while stop > 0 and shoot.diameters_mm[stop - 1] < rule.thin_mm:
            stop -= 1
        start = rule.skip
        while start < stop:
            thick = shoot.diameter_at(base[start])
            run = next(run for run in rule.runs if thick >= run.least_mm - 1e-9 or run is rule.runs[-1])
            ends = [
                end
                for end in range(start + run.nodes, stop + 1)
                if not run.length_mm
                or top[end - 1] is None
                or top[end - 1] - base[start] >= run.length_mm - 1e-6
            ]
            if not ends:
                break
            last = ends[0] - 1
            own = top[last] is None
            to, tip = (shoot.length_mm, shoot.tip_mm) if own else (top[last], shoot.diameter_at(top[last]))
            piece = Cutting(to - base[start], thick, min(tip, thick), last - start + 1)
            cut += 1
            worth += 0 if named[run.grade].misfit(piece, has_tip=own) else named[run.grade].value
            start = last + 1
    return worth, cut


@pytest.mark.parametrize("sample", SAMPLES)
@pytest.mark.parametrize("grades", [COMMON, GRADES], ids=["common", "own"])
def test_a_card_followed_by_hand_gives_what_it_says(sample, grades):
    shoots = SAMPLES[sample]
    card = best_rule(shoots, grades)
    worth, cut = followed(card.rule, shoots, grades, Knife())
    best = sum(one.value for one in cut_shoots(shoots, grades))
    assert card.value * len(shoots) == pytest.approx(worth)
    assert card.pieces * len(shoots) == pytest.approx(cut)
    assert card.best * len(shoots) == pytest.approx(best)
    assert card.loses == pytest.approx(1 - worth / best) and 0 <= card.loses < 0.25
    assert card.misfits >= -1e-9


def test_no_rule_of_one_grade_is_better():
    """All rules of one grade, counted by nodes or by length, followed one by one; each instruction must earn 0.5 %."""
    from ortet.decisions.cut_rule import DROPS, MOST_NODES, SKIPS, TAX, Rule, Run

    shoots, one = some(6, 4), Grade("A", least_nodes=2, most_nodes=5, least_mm=90, least_base_mm=5)
    card = best_rule(shoots, [one])
    best, rules = card.best * len(shoots), []
    for skip, drop, nodes in itertools.product(
        range(SKIPS + 1), range(DROPS + 1), range(2, min(5, MOST_NODES) + 1)
    ):
        rules.append(Rule(skip, drop, 0.0, (Run(0.0, nodes, "A"),)))
        rules.append(Rule(skip, drop, 0.0, (Run(0.0, 2, "A", 90.0),)))

    def net(rule):
        said = (rule.skip > 0) + (rule.drop > 0) + (rule.thin_mm > 0) + len(rule.runs) - 1
        return followed(rule, shoots, [one], Knife())[0] - TAX * best * said

    assert net(card.rule) >= max(map(net, rules)) - 1e-9


def test_shoots_it_has_not_seen_are_told_apart():
    card = best_rule(some(40, 9), GRADES)
    assert card.loses_unseen is not None and card.loses_unseen >= card.loses - 0.02
    assert best_rule(some(4, 9), GRADES).loses_unseen is None


def test_the_steps_in_words():
    card = best_rule(SAMPLES["even"], COMMON)
    steps = rule_steps(card)
    assert steps[0] == "Leave the lowest node for waste: cut 5 mm below the next one."
    assert "8 mm or more, count 5 nodes: rooting; thinner, count 3 nodes: grafting" in steps[1]
    assert "0.197 in below" in rule_steps(card, "US")[0]


def test_thin_tops_are_cut_off_first():
    """Wood under 6 mm makes no piece, but without an instruction the rule would cut misfits of it, not more pieces of grade."""
    shoots = [Shoot.even(600, 9, 3, 12)] * 3
    card = best_rule(shoots, [Grade("A", least_nodes=2, most_nodes=2, least_tip_mm=6)])
    worth, cut = followed(
        card.rule, shoots, [Grade("A", least_nodes=2, most_nodes=2, least_tip_mm=6)], Knife()
    )
    assert worth == pytest.approx(card.value * 3) and cut == pytest.approx(card.pieces * 3)


def test_a_usual_shoot_is_spread():
    shoots = likely_shoots(1000, 10, 4, 20)
    lengths = {round(shoot.length_mm) for shoot in shoots}
    assert len(shoots) == 25 and min(lengths) == 750 and max(lengths) == 1250
    assert {round(shoot.length_mm / len(shoot.nodes_mm)) for shoot in shoots} == {50}


def test_what_cannot_be_is_refused():
    with pytest.raises(ValueError, match="no rule cuts a piece"):
        best_rule([Shoot.even(300, 4, 3, 6)], COMMON)
    with pytest.raises(ValueError, match="no shoot"):
        best_rule([], COMMON)
