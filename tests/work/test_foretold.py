"""When batches will show their roots: on their pages, and on Today once it is time to count."""

from datetime import UTC, datetime

import pytest

from ortet.ledger.models import Batch
from ortet.work.benches import set_up_bench
from ortet.work.growing.foretold import foretold, to_count
from ortet.work.today import today
from tests.writing import write

pytestmark = pytest.mark.django_db

STRUCK = """
    2027-01-04 08:00  mother V1 Finch grape
    2027-01-04 08:00  place bench Mat
    2027-01-05 09:00  take V1 60 as L1
    2027-03-01 09:00  strike L1 30 from Bench as S1 on Mat base_c=27
    2027-03-01 10:00  strike L1 30 from Bench as S2 on Mat
"""


def code(name: str) -> str:
    return Batch.objects.get(place__name=name).place.code


def at(month: int, day: int) -> datetime:
    return datetime(2027, month, day, 8, tzinfo=UTC)


def test_a_warm_batch_is_foretold_and_one_of_unknown_warmth_is_not(ada):
    write(STRUCK, ada)
    told = foretold(code("S1"), at(3, 5))
    assert told and "Reckoned at 27 °C at the base, as its mat is set" in told.says
    assert foretold(code("S2"), at(3, 5)) is None


def test_the_usual_air_stands_for_a_mat_nobody_noted(ada):
    write(STRUCK, ada)
    set_up_bench("Mat", 200, air_c=20, by=ada, at=at(3, 1))
    told = foretold(code("S2"), at(3, 5))
    assert told and told.warmth == "at 20 °C, the usual air over Mat"
    warmer = foretold(code("S1"), at(3, 5))
    assert warmer and warmer.ahead.count_again().on < told.ahead.count_again().on


def test_today_asks_for_a_count_when_most_should_show_and_not_before(ada):
    write(STRUCK, ada)
    day = to_count(at(3, 5))[0].day
    assert day and day > at(3, 8).date()

    def kinds(now):
        return [task.kind for task in today(now).tasks if task.kind in ("count", "pot")]

    assert kinds(at(3, 5)) == []
    assert kinds(datetime(day.year, day.month, day.day, 12, tzinfo=UTC)) == ["count"]


def test_a_count_moves_the_next_one_and_says_when_waiting_is_over(ada):
    write(STRUCK, ada)
    before = foretold(code("S1"), at(4, 2)).ahead
    write("2027-04-01 09:00  count S1 rooted=24 dead=4", ada)
    after = foretold(code("S1"), at(4, 2)).ahead
    assert after.rooted_now == 24 > before.rooted_now == 0
    assert after.share[1][-1] >= 24 / 30
    task = next(task for task in today(at(5, 20)).tasks if task.kind == "pot")
    assert task.bags == ("S1",) and "24 are known to have rooted" in task.reason


def test_a_finished_batch_is_waited_for_no_more(ada):
    write(STRUCK, ada)
    write("2027-04-01 09:00  count S1 rooted=24 dead=6", ada)
    assert foretold(code("S1"), at(4, 2)) is None


def test_the_page_of_a_batch_shows_what_is_to_come(ada, client):
    write(STRUCK, ada)
    client.force_login(ada)
    from ortet.ledger.models import Nursery

    nursery = Nursery.get()
    nursery.fixed_now = at(3, 12)
    nursery.save()
    page = client.get(f"/batches/{code('S1')}").content.decode()
    assert "Rooted, counted and to come" in page and "should show roots" in page
