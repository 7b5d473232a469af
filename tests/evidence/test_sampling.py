"""Which cuttings are pulled, and what a sample is refused for."""

from collections import Counter

import pytest

from ortet.evidence.sampling import allowed, bad_ones, chance_unseen, pull, sample_size

BAGS = [("B1", 40), ("B2", 25), ("B3", 6), ("B4", 1)]


def test_the_same_seed_pulls_the_same_cuttings_and_another_others():
    assert pull(BAGS, 12, 7) == pull(BAGS, 12, 7) != pull(BAGS, 12, 8)


def test_each_bag_gives_in_proportion_to_within_one():
    for seed in range(50):
        drawn = {one.bag: len(one.places) for one in pull(BAGS, 18, seed)}
        assert sum(drawn.values()) == 18
        for bag, count in BAGS:
            assert abs(drawn.get(bag, 0) - 18 * count / 72) < 1


def test_a_place_is_named_once_from_the_top():
    for one in pull(BAGS, 60, 3):
        assert list(one.places) == sorted(set(one.places))
        assert one.places[0] >= 1 and one.places[-1] <= one.count


def test_every_cutting_has_the_same_chance():
    """4,000 draws of 9 of 72: each cutting is meant 500 times, sd 21; none may lie 4.5 sd off."""
    seen = Counter(
        (one.bag, place) for seed in range(4000) for one in pull(BAGS, 9, seed) for place in one.places
    )
    assert len(seen) == 72 and all(abs(times - 500) < 95 for times in seen.values())


def test_the_whole_lot_and_none_of_it():
    assert [one.places for one in pull(BAGS, 72, 1)] == [tuple(range(1, count + 1)) for _, count in BAGS]
    assert pull(BAGS, 0, 1) == []


def test_drawing_by_bags_misses_no_more_than_drawing_from_all_where_the_bad_ones_lie_at_random():
    """Over all ways in which bad ones may lie, a draw by bags misses as often as the hypergeometric says."""
    missed = tried = 0
    for seed in range(6000):
        bad = {(one.bag, place) for one in pull(BAGS, 5, seed + 10**6) for place in one.places}
        drawn = {(one.bag, place) for one in pull(BAGS, 20, seed) for place in one.places}
        missed, tried = missed + (not bad & drawn), tried + 1
    assert missed / tried == pytest.approx(chance_unseen(72, 5, 20), abs=0.02)


def test_a_share_that_is_whole_but_for_rounding_counts_whole():
    assert [bad_ones(100, share) for share in (0.29, 0.57, 0.58)] == [29, 57, 58]


def test_eyes_that_miss_some_need_more_and_may_need_all():
    assert sample_size(100, 0.05, 0.95, 0.8) > sample_size(100, 0.05, 0.95)
    assert sample_size(100, 0.01, 0.95, 0.8) == 100
    assert allowed(100, 45, 0, 0.95, 0.8).most > allowed(100, 45, 0, 0.95).most == 4


@pytest.mark.parametrize(
    ("ask", "says"),
    [
        (lambda: sample_size(0, 0.05, 0.95), "whole number from 1"),
        (lambda: sample_size(10.5, 0.05, 0.95), "whole number"),
        (lambda: sample_size(100, 5, 0.95), "as a share 5 % is 0.05"),
        (lambda: sample_size(100, 0.05, 95), "as a share 95 % is 0.95"),
        (lambda: sample_size(100, 0.05, 1.0), "below 1"),
        (lambda: sample_size(100, float("nan"), 0.9), "above 0"),
        (lambda: sample_size(100, 0.05, 0.95, 0.0), "above 0"),
        (lambda: allowed(100, 101, 0, 0.95), "Looked at 101"),
        (lambda: allowed(100, 20, 21, 0.95), "Found 21"),
        (lambda: pull(BAGS, 73, 1), "Sample of 73"),
        (lambda: pull([("B1", 0)], 0, 1), "Cuttings in B1"),
        (lambda: chance_unseen(10, 11, 2), "Bad ones 11"),
    ],
)
def test_what_cannot_be_is_refused(ask, says):
    with pytest.raises(ValueError, match=says):
        ask()
