"""A season's taking: targets together, mother plants, what gives way, and what one more shoot would bring."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from itertools import product

import pytest

from ortet.decisions.take import (
    USES,
    Ask,
    Beta,
    Contradiction,
    Limit,
    Mother,
    Step,
    Target,
    chance_to_reach,
    cuttings_to_take,
    plan_taking,
    share_among,
    usual_steps,
)
from ortet.decisions.take.ways import levels
from ortet.science.species import known_species

ROOTING = (Step("store", 0.95), Step("strike", Beta(12, 8)))


def target(key="T", count=10, *, variety="Amsel", use="rooting", kind="own", **more):
    return Target(key, kind, variety, use, count, **more)


def ask(targets, mothers=None, **more):
    targets = tuple(targets)
    names = sorted({one.variety for one in targets})
    mothers = [Mother(f"{n} 1", n, cuttings=500) for n in names] if mothers is None else mothers
    steps = more.pop("steps", {(one.variety, one.use): ROOTING for one in targets})
    return Ask(targets, tuple(mothers), steps, **more)


def given(plan):
    return {line.target.key: line.planned for line in plan.targets}


def test_targets_of_a_variety_need_less_together_than_one_by_one():
    wishes = [target(f"T{k}", 8, priority=k) for k in (1, 2, 3)]
    plan = plan_taking(ask(wishes))
    shares = [step.share for step in ROOTING]
    assert plan.cuttings == cuttings_to_take(24, shares, 0.9) < 3 * cuttings_to_take(8, shares, 0.9)
    assert [line.chance for line in plan.targets] == sorted(
        (line.chance for line in plan.targets), reverse=True
    )
    assert plan.targets[-1].chance == pytest.approx(chance_to_reach(24, plan.cuttings, shares))
    assert not plan.gives_way
    assert not plan.shortages


def test_a_target_with_its_own_confidence_may_set_the_number():
    shares = [step.share for step in ROOTING]
    plan = plan_taking(
        ask([target("Sure", 10, confidence=0.999), target("Rest", 2, priority=2, confidence=0.5)])
    )
    assert plan.cuttings == cuttings_to_take(10, shares, 0.999) > cuttings_to_take(12, shares, 0.5)


def test_the_later_priority_gives_way_and_says_why():
    plan = plan_taking(
        ask(
            [target("First", 10), target("Second", 10, priority=2, worth=100.0)],
            [Mother("M", "Amsel", shoots=9, per_shoot=3)],
        )
    )
    assert given(plan)["First"] == 10
    assert given(plan)["Second"] < 10
    assert "27 to be had" in plan.gives_way[0].reason
    (short,) = plan.shortages
    assert short.may_give == 27
    assert short.wanted == cuttings_to_take(20, [step.share for step in ROOTING], 0.9)
    assert f"{short.shoots_lacking} more shoots would meet every target" in plan.would_change[0]


def test_within_a_priority_the_greater_worth_is_kept():
    plan = plan_taking(
        ask(
            [target("Cheap", 10, worth=4.0, least=10), target("Dear", 10, worth=9.0, least=10)],
            [Mother("M", "Amsel", cuttings=26)],
        )
    )
    assert given(plan) == {"Dear": 10, "Cheap": 0}


def test_one_more_shoot_is_worth_what_planning_anew_with_it_brings():
    wishes = [target("A", 12, worth=5.0), target("B", 9, worth=7.0, use="grafting", priority=2)]
    for shoots in range(3, 14):
        now = plan_taking(ask(wishes, [Mother("M", "Amsel", shoots=shoots, per_shoot=3)]))
        then = plan_taking(ask(wishes, [Mother("M", "Amsel", shoots=shoots + 1, per_shoot=3)]))
        gain = sum((given(then)[one.key] - given(now)[one.key]) * one.worth for one in wishes)
        if now.shortages:
            assert now.shortages[0].one_more == pytest.approx(gain)
            assert dict(now.shortages[0].more) == {
                key: count - given(now)[key] for key, count in given(then).items() if count != given(now)[key]
            }


@cache
def alone(total: int, shares: tuple, confidence: float) -> int:
    return cuttings_to_take(total, shares, confidence)


def every_count(one: Target) -> list[int]:
    return [0] * (not one.must) + list(range(one.least, one.count + 1))


def by_trying_all(wish: Ask, offers: Callable[[Target], list[int]] = levels) -> list[float]:
    """Return the best worth by priority over all promises on offer, each weighed by its own definition."""
    priorities = sorted({one.priority for one in wish.targets})
    order = [one for targets in wish.streams.values() for one in targets]
    top: list[float] = []
    for counts in product(*map(offers, order)):
        promised = dict(zip((one.key for one in order), counts, strict=True))
        taken = {}
        for stream, targets in wish.streams.items():
            total, wood = 0, 0
            for one in targets:
                total += promised[one.key]
                if promised[one.key]:
                    wood = max(wood, alone(total, tuple(wish.shares(stream)), wish.sure(one)))
            taken[stream] = wood
        if any(sum(taken[s] for s in wish.of(v)) > wish.most(v) for v in wish.varieties):
            continue
        if any(sum(n for (_, use), n in taken.items() if lim.counts(use)) > lim.most for lim in wish.limits):
            continue
        worth = [sum(promised[o.key] * o.worth for o in order if o.priority == p) for p in priorities]
        top = max(top, worth)
    return top


@pytest.mark.parametrize("seed", range(8))
def test_no_other_promises_are_worth_more(seed):
    rng = random.Random(seed)
    wishes = [
        target(
            f"T{k}",
            rng.randint(2, 9),
            variety=rng.choice(("Amsel", "Drossel")),
            use=rng.choice(("rooting", "grafting")),
            priority=rng.randint(1, 2),
            worth=rng.choice((1.0, 2.5, 4.0)),
            least=rng.choice((1, 2)),
            confidence=rng.choice((None, 0.7)),
        )
        for k in range(4)
    ]
    names = sorted({one.variety for one in wishes})
    wish = ask(wishes, [Mother(name, name, cuttings=rng.randint(6, 25)) for name in names])
    plan = plan_taking(wish)
    worth = [
        sum(line.planned * line.target.worth for line in plan.targets if line.target.priority == p)
        for p in sorted({one.priority for one in wishes})
    ]
    # between the best of the levels weighed, and the best of all whole numbers
    assert by_trying_all(wish) <= worth <= by_trying_all(wish, every_count)


@pytest.mark.parametrize("seed", range(6))
def test_a_shared_limit_is_kept_and_the_first_priority_has_all_it_can(seed):
    rng = random.Random(100 + seed)
    wishes = [
        target(
            f"T{k}",
            rng.randint(2, 8),
            variety=f"V{k % 3}",
            use=("rooting", "grafting")[k % 2],
            priority=1 + k // 3,
        )
        for k in range(5)
    ]
    free = plan_taking(ask(wishes))
    limits = (
        Limit("Room in the store", int(free.cuttings * 0.6)),
        Limit("Rootstocks", int(free.cuttings * 0.2), ("grafting",)),
    )
    wish = ask(wishes, limits=limits)
    plan = plan_taking(wish)
    assert all(line.used <= line.most for line in plan.limits)
    assert any(line.binds for line in plan.limits)
    assert any("Room in the store" in line for line in plan.binds)
    first = sum(line.planned * line.target.worth for line in plan.targets if line.target.priority == 1)
    assert first == pytest.approx(by_trying_all(wish)[0])


def test_a_limit_that_does_not_bind_changes_nothing():
    wishes = [target("A", 10), target("B", 5, variety="Drossel")]
    free = plan_taking(ask(wishes))
    assert plan_taking(ask(wishes, limits=(Limit("Room", free.cuttings),))).targets == free.targets


def test_mother_plants_share_by_what_they_may_give_in_whole_cuttings():
    mothers = [
        Mother("A", "X", cuttings=10),
        Mother("B", "X", shoots=5, per_shoot=4),
        Mother("C", "X", cuttings=3, shoots=9),
    ]
    assert [one.most for one in mothers] == [10, 20, 3]
    for count in range(34):
        parts = share_among(count, mothers)
        assert sum(parts) == count
        for part, mother in zip(parts, mothers, strict=True):
            assert abs(part - count * mother.most / 33) < 1
            assert part <= mother.most
    with pytest.raises(ValueError, match="34 cuttings of at most 33"):
        share_among(34, mothers)


def test_what_cannot_be_is_named_all_at_once():
    wishes = [
        target("A", 5, variety="Nowhere"),
        target("B", 5, variety="Bare"),
        target("C", 5, use="unknown"),
    ]
    wish = ask(wishes, [Mother("M1", "Bare", shoots=0), Mother("M2", "Amsel", cuttings=9)])
    wish = replace(wish, steps={k: v for k, v in wish.steps.items() if k[1] != "unknown"})
    with pytest.raises(Contradiction) as told:
        plan_taking(wish)
    text = str(told.value)
    assert "Nowhere: A wants wood, but no mother plant" in text
    assert "Bare: B wants wood, but M1 may give 0" in text
    assert "Amsel for unknown" in text
    assert text.endswith("Nothing was planned.")
    assert {"B", "M1"} <= set(told.value.conflicts[1].wishes) | set(told.value.conflicts[0].wishes)


def test_promises_beyond_the_wood_are_named_with_what_would_do():
    wishes = [target("A", 10, must=True, least=10), target("B", 6, must=True, least=6)]
    with pytest.raises(Contradiction, match="A, B must be met and need") as told:
        plan_taking(ask(wishes, [Mother("M", "Amsel", cuttings=20)]))
    (conflict,) = told.value.conflicts
    shares = [step.share for step in ROOTING]
    assert f"{cuttings_to_take(16, shares, 0.9) - 20} more cuttings" in conflict.relax
    assert f"{chance_to_reach(16, 20, shares):.2f}" in conflict.relax
    assert "instead of 16" in conflict.relax


def test_promises_beyond_a_shared_limit_are_named():
    wishes = [target("A", 10, must=True, least=10), target("B", 6, variety="Drossel")]
    with pytest.raises(Contradiction, match="Room: A must be met and need"):
        plan_taking(ask(wishes, limits=(Limit("Room", 12),)))


def test_a_rate_too_vague_gives_way_rather_than_stops_the_plan():
    wishes = [target("A", 900, confidence=0.99), target("B", 5, priority=2, use="scions")]
    steps = {
        ("Amsel", "rooting"): (Step("strike", Beta(0.3, 0.3)),),
        ("Amsel", "scions"): (Step("store", 0.9),),
    }
    plan = plan_taking(ask(wishes, steps=steps))
    assert given(plan)["B"] == 5
    assert "too vaguely" in plan.gives_way[0].reason
    assert "rates known better" in plan.would_change[0]


@pytest.mark.parametrize(
    ("make", "told"),
    [
        (lambda: target(count=0), "0 wanted"),
        (lambda: target(count=5, least=6), "at least 6 of 5"),
        (lambda: target(worth=0.0), "worth 0"),
        (lambda: target(priority=0), "priority 0"),
        (lambda: target(kind="wish"), "kind 'wish'"),
        (lambda: target(confidence=1.0), "confidence of 1"),
        (lambda: Mother("M", "Amsel"), "how many cuttings or how many shoots"),
        (lambda: Mother("M", "Amsel", cuttings=-1), "-1 cuttings"),
        (lambda: Limit("Room", -1), "-1 cuttings"),
    ],
)
def test_impossible_numbers_are_refused_at_birth(make, told):
    with pytest.raises(ValueError, match=told):
        make()


def test_every_species_has_usual_steps_with_their_source_and_mark():
    for key, use in product(known_species(), USES):
        for step in usual_steps(key, use):
            assert "common practice" in step.why or "published" in step.why or "memory" in step.why
    with pytest.raises(ValueError, match="No usual steps for 'air'"):
        usual_steps("grape", "air")
    with pytest.raises(KeyError, match="no species"):
        usual_steps("moss", "rooting")


def test_short_wood_is_given_to_the_last_cutting():
    """40 wanted, each sure: 23 cuttings promise 23, not the nearest of a few levels."""
    wish = ask(
        [target("T", 40, use="rooting")],
        [Mother("M", "Amsel", cuttings=23)],
        steps={("Amsel", "rooting"): (Step("none", 1.0),)},
    )
    plan = plan_taking(wish)
    assert plan.targets[0].planned == 23 and plan.cuttings == 23
