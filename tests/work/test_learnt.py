"""What the counts in the book teach, and the plan that uses it."""

from datetime import UTC, datetime

import pytest

from ortet.decisions.take import Beta, usual_steps
from ortet.work.learnt import learnt, learnt_steps
from ortet.work.plan.desk import Desk
from tests.writing import write

pytestmark = pytest.mark.django_db

COUNTED = """
    2027-01-04 08:00  mother M1 Dusk blackcurrant
    2027-01-04 08:00  mother M2 Lantern gooseberry
    2027-01-04 08:00  place bench Mat
    2027-01-05 09:00  take M1 60 as L1
    2027-03-01 09:00  strike L1 40 from Bench as S1 on Mat
    2027-03-01 10:00  strike L1 20 from Bench as S2 on Mat
    2027-04-01 09:00  count S1 rooted=8 dead=32
"""


def test_an_empty_book_teaches_nothing(ada):
    assert learnt_steps({"Dusk": "blackcurrant"}) == {"Dusk": {}}


def test_a_finished_batch_teaches_and_an_open_one_does_not(ada):
    write(COUNTED, ada)
    rate = learnt().of("blackcurrant", "Dusk")
    assert (rate.batches, rate.struck, rate.rooted) == (1, 40, 8)


def test_what_was_counted_stands_for_the_usual_share(ada):
    write(COUNTED, ada)
    steps = learnt_steps({"Dusk": "blackcurrant", "Lantern": "gooseberry"})
    assert steps["Lantern"] == {}
    learnt, usual = steps["Dusk"]["strike"].share, usual_steps("blackcurrant", "rooting")[1].share
    assert isinstance(learnt, Beta) and isinstance(usual, Beta)
    assert 0.2 < learnt.mean < usual.mean
    assert "8 of 40 rooted" in steps["Dusk"]["strike"].why


def test_what_is_booked_later_is_learnt_at_once(ada):
    write(COUNTED, ada)
    before = learnt().of("blackcurrant", "Dusk").median
    write("2027-04-02 09:00  count S2 rooted=0 dead=20", ada)
    assert learnt().of("blackcurrant", "Dusk").median < before


def test_a_batch_fills_its_bench_until_it_is_potted(ada):
    from ortet.work.benches import set_up_bench

    write(COUNTED, ada)
    now = datetime(2027, 4, 3, tzinfo=UTC)
    set_up_bench("Mat", 100, air_c=15, by=ada, at=now)
    assert Desk(now).set_already == {"Mat": {"Dusk": 60}}


def test_plants_potted_and_cuttings_sold_are_wanted_no_more(ada):
    from ortet import work
    from ortet.work.orders import Line, order, want

    write(COUNTED, ada)
    write("2027-04-02 08:00  place ground Yard", ada)
    noted, day = datetime(2027, 1, 10, tzinfo=UTC), datetime(2027, 4, 5, tzinfo=UTC)
    want("Dusk", 10, purpose="plants", by=ada, at=noted)
    want("Dusk", 3, purpose="plants", by=ada, at=day)
    order("Hedge", [Line("Dusk", 12, day.date(), day.date())], by=ada, at=noted)
    write("2027-04-04 09:00  pot S1 8 to Yard", ada)
    work.sell("L1", 5, order="1", from_place="S2", by=ada, at=datetime(2027, 4, 4, 10, tzinfo=UTC))
    desk = Desk(day)
    assert [(target.number, target.count) for target in desk.targets] == [(1, 2), (2, 3)]
    assert [line.count for line in desk.lines] == [7]
