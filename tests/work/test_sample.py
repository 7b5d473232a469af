"""A sample out of the book: the lot's own bags, the day's own draw, and the words."""

from datetime import date

import pytest

from ortet.work import Refused
from ortet.work.sample import Sampling, in_words, sample

DAY = date(2027, 2, 1)


def test_a_lot_is_sampled_over_all_the_places_it_lies_in(full_book):
    card = sample(Sampling("L1", share=0.2), DAY)
    assert card.on_hand == 31
    assert {one.bag for one in card.pulls} <= {"K1", "K2", "Bench"}
    assert card.size == sum(len(one.places) for one in card.pulls)
    assert card.shows >= 0.95 and card.bad == 6


def test_the_draw_is_the_days_own_and_may_be_named(full_book):
    assert sample(Sampling("L1", 0.2), DAY) == sample(Sampling("L1", 0.2), DAY)
    assert sample(Sampling("L1", 0.2), DAY).seed != sample(Sampling("L1", 0.2), date(2027, 2, 2)).seed
    assert sample(Sampling("L1", 0.2, seed=5), DAY).seed == 5


def test_it_is_told_in_words(full_book):
    before = in_words(sample(Sampling("L1", 0.2), DAY))
    assert "Look at 12 of 31" in before.how_many and "may still hold up to 5 bad ones" in before.means[0]
    assert "look at all 31" in in_words(sample(Sampling("L1", 0.01), DAY)).how_many
    clean = in_words(sample(Sampling("L1", 0.2, found=0), DAY))
    assert clean.means[0].startswith("None of 12 was bad")
    some = in_words(sample(Sampling("L1", 0.2, looked=10, found=2), DAY))
    assert some.means[0].startswith("2 of 10 were bad: of the whole lot of 31 about 6, between 2 and")
    everything = in_words(sample(Sampling("L1", 0.2, looked=31, found=2), DAY))
    assert "just so many" in everything.means[0]


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        (Sampling("L1", 5.0), "as a share 5 % is 0.05"),
        (Sampling("L1", found=3, looked=2), "Found 3"),
        (Sampling("L1", found=0, looked=99), "Looked at 99"),
        (Sampling("L9"), "no lot marked"),
    ],
)
def test_what_cannot_be_is_refused(full_book, asked, says):
    with pytest.raises(Refused, match=says):
        sample(asked, DAY)


def test_a_lot_that_is_gone_cannot_be_sampled(full_book, ada):
    from tests.writing import write

    write("2027-02-01 09:00  give-up L3 18 from Bench", ada)
    with pytest.raises(Refused, match="on hand"):
        sample(Sampling("L3"), DAY)
