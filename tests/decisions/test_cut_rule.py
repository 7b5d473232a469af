"""Rules of thumb: followed anew by hand, against the optimum, and against all rules of a small kind."""

import itertools
from dataclasses import replace

import pytest

from ortet.decisions.cut import Rule, Run, best_rule, cut_shoots, likely_shoots, rule_steps
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
            if thick < rule.stop_mm - 1e-9:
                break
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
    """All rules of one grade, counted by nodes or by length, followed one by one; each instruction must earn 0.5 %,
    each piece cut for nothing costs a tenth."""
    from ortet.decisions.cut.rule import DROPS, MISFIT, MOST_NODES, SKIPS, TAX

    shoots, one = some(6, 4), Grade("A", least_nodes=2, most_nodes=5, least_mm=90, least_base_mm=5)
    card = best_rule(shoots, [one])
    best, rules = card.best * len(shoots), []
    for skip, drop, nodes in itertools.product(
        range(SKIPS + 1), range(DROPS + 1), range(2, min(5, MOST_NODES) + 1)
    ):
        rules.append(Rule(skip, drop, 0.0, 0.0, (Run(0.0, nodes, "A"),)))
        rules.append(Rule(skip, drop, 0.0, 0.0, (Run(0.0, 2, "A", 90.0),)))

    def net(rule):
        said = (
            (rule.skip > 0) + (rule.drop > 0) + (rule.thin_mm > 0) + (rule.stop_mm > 0) + len(rule.runs) - 1
        )
        worth, cut = followed(rule, shoots, [one], Knife())
        return worth - TAX * best * said - MISFIT * (cut - worth)

    assert net(card.rule) >= max(map(net, rules)) - 1e-9


def test_shoots_it_has_not_seen_are_told_apart():
    card = best_rule(some(40, 9), GRADES)
    assert card.loses_unseen is not None and card.loses_unseen >= card.loses - 0.02
    assert best_rule(some(4, 9), GRADES).loses_unseen is None


def test_the_steps_in_words():
    runs = (Run(8.0, 5, "rooting"), Run(0.0, 3, "grafting", 90.0))
    card = best_rule(SAMPLES["even"], COMMON)
    assert rule_steps(replace(card, rule=Rule(1, 0, 4.5, 5.5, runs))) == (
        "Cut off the top where it is thinner than 4.5 mm: waste.",
        "Leave the lowest node for waste: cut 5 mm below the next one.",
        "Gauge the wood where the piece begins. 8 mm or more, count 5 nodes: rooting; thinner, count 3 nodes and on to 90 mm: grafting.",
        "Cut 15 mm above the last node counted, trim 5 mm below the next, and count on from there.",
        "Stop where too little is left for a piece, or where a piece would begin thinner than 5.5 mm: waste.",
    )
    few = rule_steps(
        replace(card, rule=Rule(0, 6, 0.0, 0.0, (Run(0.0, 1, "rooting"),)), knife=Knife(0, 0, 0))
    )
    assert few[0] == "Cut the top 6 nodes off: waste." and few[1] == "Begin with the lowest node: cut at it."
    assert few[2] == "Count 1 node up: rooting."
    assert "0.197 in below" in rule_steps(replace(card, rule=Rule(0, 0, 0.0, 0.0, runs)), "US")[0]


def test_each_run_is_of_a_thickness_its_grade_takes():
    for shoots in SAMPLES.values():
        for grades in (COMMON, GRADES):
            named, upper = {one.name: one for one in grades}, float("inf")
            for run in best_rule(shoots, grades).rule.runs:
                assert (
                    named[run.grade].least_base_mm < upper and named[run.grade].most_base_mm >= run.least_mm
                )
                upper = run.least_mm


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
