"""A trial from the draw to the sentence: struck as drawn, counted plot by plot, read when whole, refused where it is not kept to."""

from datetime import UTC, datetime, timedelta

import pytest

from ortet import work
from ortet.ledger.booking import Refused, Unknown
from ortet.ledger.models import Batch, Movement, Trial
from ortet.work.trials import Wanted, design_trial, strike_trial
from ortet.work.trials.designing import laid_out
from ortet.work.trials.look import trial_view
from ortet.work.trials.suggest import hints
from tests.writing import write

pytestmark = pytest.mark.django_db
DAY = datetime(2027, 2, 1, 9, tzinfo=UTC)
BOOK = """
    2027-01-04 08:00  mother M1 Dusk blackcurrant
    2027-01-04 08:00  mother M2 Lantern gooseberry
    2027-01-04 08:00  place bench Warm
    2027-01-04 08:00  place ground Yard
    2027-01-05 09:00  take M1 60 as L1
    2027-01-05 09:05  take M2 40 as L2
"""
ASKED = Wanted(("none", "K-IBA"), ("Dusk",), rows=4, columns=10, plot_cuttings=5, blocks=4, looks=2, seed=3)


@pytest.fixture
def book(ada):
    return write(BOOK, ada)


@pytest.fixture
def trial(book, ada) -> Trial:
    return design_trial("Dip", "Does it pay?", ASKED, by=ada, at=DAY)


@pytest.fixture
def struck(trial, ada) -> list[Batch]:
    return strike_trial(1, ["L1"], bench="Warm", by=ada, at=DAY, base_c=22)


def count_all(by, on, gain=3):
    """Count every plot: one more rooted in some than in others, and so many more of what was dipped."""
    for one in trial_view(1).plots:
        rooted = 1 + (one.plot.block % 2) + gain * one.plot.treatment
        work.count(one.told.name, rooted=rooted, by=by, at=on)


def test_all_plots_are_struck_as_drawn(struck):
    view = trial_view(1)
    assert len(struck) == view.struck == 8 and Movement.objects.filter(why="struck").count() == 8
    for one in view.plots:
        assert one.told.treatment == one.treatment and one.told.struck == 5
        assert one.told.name == f"T1-{one.plot.number}" and one.told.tray == f"T1/{one.plot.tray}"
    assert view.now is None and not view.looks and "four times in five" in view.shows


def test_sent_twice_it_is_struck_once(trial, ada):
    from uuid_utils.compat import uuid7

    id = uuid7()
    first = strike_trial(1, ["L1"], bench="Warm", by=ada, at=DAY, id=id)
    again = strike_trial(1, ["L1"], bench="Warm", by=ada, at=DAY, id=id)
    assert [batch.pk for batch in again] == [batch.pk for batch in first] and Batch.objects.count() == 8
    with pytest.raises(Refused, match="All plots asked for"):
        strike_trial(1, ["L1"], bench="Warm", by=ada, at=DAY)


def test_heat_is_a_treatment_of_whole_trays_struck_letter_by_letter(book, ada):
    asked = Wanted(
        ("cold", "22 C"), ("Dusk",), rows=2, columns=4, alike="trays", plot_cuttings=8, blocks=3, seed=3
    )
    design_trial("Heat", "Does bottom heat pay?", asked, by=ada, at=DAY)
    warm = strike_trial(1, ["L1"], only="b", bench="Warm", base_c=22, by=ada, at=DAY)
    assert {batch.treatment for batch in warm} == {"22 C"} and len({batch.tray for batch in warm}) == 3
    cold = strike_trial(1, ["L1"], only="A", bench="Bench", by=ada, at=DAY)
    assert len(cold) == 3 and trial_view(1).struck == 6
    assert {(plot.plot.tray, plot.plot.block) for plot in trial_view(1).plots} == {
        (n, (n + 1) // 2) for n in range(1, 7)
    }
    with pytest.raises(Refused, match="No treatment has the letter C"):
        strike_trial(1, ["L1"], only="C", bench="Warm", by=ada, at=DAY)


def test_too_little_wood_strikes_nothing(trial, ada):
    work.give_up("L1", 30, by=ada, at=DAY)
    with pytest.raises(Refused, match="10 more of Dusk"):
        strike_trial(1, ["L1"], bench="Warm", by=ada, at=DAY)
    with pytest.raises(Refused, match="40 more of Dusk"):
        strike_trial(1, ["L2"], bench="Warm", by=ada, at=DAY)
    assert not Batch.objects.exists()


def test_what_the_draw_did_not_give_a_plot_is_refused(trial, ada):
    for lot, count, said, why in (
        ("L2", 5, {"trial": 1, "plot": 1}, "is for Dusk"),
        ("L1", 6, {"trial": 1, "plot": 1}, "has 5 cells"),
        ("L1", 5, {"trial": 1, "plot": 1, "treatment": "talc"}, "the draw decides"),
        ("L1", 5, {"trial": 1, "plot": 9}, "no plot 9"),
        ("L1", 5, {"trial": 7, "plot": 1}, "no trial 7"),
        ("L1", 5, {"trial": 1}, "both the trial and the plot"),
        ("L1", 5, {"plot": 0}, "both the trial and the plot"),
    ):
        with pytest.raises(Refused, match=why):
            work.strike(lot, count, bench="Warm", by=ada, at=DAY, **said)
    assert not Batch.objects.exists()


def test_a_plot_is_struck_once_and_again_when_taken_back(trial, ada):
    work.strike("L1", None, bench="Warm", trial=1, plot=2, by=ada, at=DAY)
    with pytest.raises(Refused, match="was struck on"):
        work.strike("L1", None, bench="Warm", trial=1, plot=2, by=ada, at=DAY)
    work.correct(Movement.objects.latest("number").number, by=ada, at=DAY, note="wrong tray")
    again = work.strike("L1", None, bench="Warm", trial=1, plot=2, by=ada, at=DAY)
    assert again.plot == 2 and trial_view(1).struck == 1


def test_a_look_is_read_when_the_last_plot_is_counted(struck, ada):
    later = DAY + timedelta(days=30)
    plots = trial_view(1).plots
    for one in plots[:-1]:
        work.count(one.told.name, rooted=1, by=ada, at=later)
    view = trial_view(1)
    assert view.now.left == 1 and view.last is None and view.looks[0].sentences == ()
    work.count(plots[-1].told.name, rooted=1, by=ada, at=later)
    view = trial_view(1)
    assert (
        view.now is None and view.last.number == 1 and "do not tell K-IBA from none" in view.last.sentences[0]
    )


def test_counts_on_two_days_are_two_looks_and_what_was_potted_stays_rooted(struck, ada):
    count_all(ada, DAY + timedelta(days=30), gain=0)
    best = next(one for one in trial_view(1).plots if one.plot.treatment)
    work.pot_on(best.told.name, 1, to="Yard", by=ada, at=DAY + timedelta(days=31))
    for one in trial_view(1).plots:
        here = 1 + (one.plot.block % 2) + 3 * one.plot.treatment - (one.plot.number == best.plot.number)
        work.count(one.told.name, rooted=here, by=ada, at=DAY + timedelta(days=60))
    view = trial_view(1)
    assert [look.number for look in view.looks] == [1, 2]
    effect = view.last.verdict.effects[0]
    assert effect.difference == pytest.approx(0.6) and effect.says == "more"
    assert view.last.sentences[0].startswith(
        "By 2 Apr, of 100 cuttings about 60 more had rooted with K-IBA than with none"
    )


def test_a_count_withdrawn_no_longer_counts(struck, ada):
    count_all(ada, DAY + timedelta(days=30))
    plot = trial_view(1).plots[0]
    seen = plot.told and Batch.objects.get(trial__number=1, plot=1).place.counts.get()
    work.withdraw(seen.pk, by=ada, at=DAY + timedelta(days=31), note="miscounted")
    assert trial_view(1).last is None and trial_view(1).now.left == 1


def test_what_cannot_be_a_trial_is_refused(book, ada):
    dip = ("none", "K-IBA")
    for wanted, why in (
        (Wanted(("none",), ("Dusk",)), "two treatments or more"),
        (Wanted(("none", "dip"), ("Dusk",), blocks=0), "a variety, a block"),
        (Wanted(dip, ("Noon",)), "No variety is called 'Noon'"),
        (Wanted(dip, ("Dusk",), plot_cuttings=50), "has not so many"),
        (Wanted(dip, ("Dusk",), sought=0.0), "two different ones"),
        (Wanted(dip, ("Dusk",), sought=0.001), "seek a larger difference"),
        (Wanted(dip, ("Dusk",), seed=-1), "whole number"),
    ):
        with pytest.raises(Refused, match=why):
            design_trial("Dip", "Does it pay?", wanted, by=ada, at=DAY)
    assert not Trial.objects.exists()


def test_a_trial_without_a_question_is_refused(book, ada):
    with pytest.raises(Refused, match="a name and a question"):
        design_trial("Dip", " ", ASKED, by=ada, at=DAY)
    with pytest.raises(Unknown, match="no trial 1"):
        trial_view(1)


def test_where_nearly_all_root_the_difference_is_sought_downwards(book):
    _, size = laid_out(Wanted(("none", "hot"), ("Dusk",), check_share=0.9, sought=0.3))
    assert size.chance > 0.8


def test_ordinary_batches_hint_and_trials_are_left_out(struck, ada):
    assert hints() == []
    for k, dip in enumerate(["", "K-IBA", "", "K-IBA"]):
        batch = work.strike("L2", 10, bench="Warm", treatment=dip, by=ada, at=DAY + timedelta(hours=k))
        work.count(
            batch.place.name,
            rooted=9 if dip else 1,
            dead=1 if dip else 9,
            by=ada,
            at=DAY + timedelta(days=40),
        )
    (hint,) = hints()
    assert hint.suggestion.treatment == "K-IBA" and hint.suggestion.check == ""
    assert hint.suggestion.alike[1] == pytest.approx(0.8) and hint.suggestion.trial.varieties == ("Lantern",)
    assert "of 100" in hint.adjusted
