"""What is wanted: orders, targets, limits, benches, and the ways plans rest on."""

from datetime import UTC, date, datetime
from decimal import Decimal
from uuid import uuid4

import pytest

from ortet import work
from ortet.ledger.booking import how_far
from ortet.ledger.models import Buyer, MotherLimit, Nursery, Order, OrderLine, Target
from ortet.work.benches import set_up_bench
from ortet.work.nursery import plan_with
from ortet.work.orders import Line, cancel, limit, order, want

AT = datetime(2027, 1, 10, 9, tzinfo=UTC)
FROM, UNTIL = date(2027, 2, 15), date(2027, 3, 15)


@pytest.fixture
def asked(ada):
    work.add_mother("M1", "Dusk", "blackcurrant")
    work.add_mother("M2", "Dawn", "blackcurrant")
    return {"by": ada, "at": AT}


def test_an_order_is_noted_line_by_line(asked):
    lines = [
        Line("Dusk", 12, FROM, UNTIL, price=Decimal("1.20"), grades=("A", "B"), instead=("Dawn",)),
        Line("dawn", 5, FROM, UNTIL, use="grafting", least=5),
    ]
    noted = order("Tarn Mill", lines, country="de", **asked)
    assert (noted.number, noted.buyer.name, noted.country) == (1, "Tarn Mill", "DE")
    first, second = noted.lines.all()
    assert (str(first), first.variety.name, first.price, first.grades) == (
        "order 1/1",
        "Dusk",
        Decimal("1.20"),
        "A,B",
    )
    assert [other.variety.name for other in first.substitutes.all()] == ["Dawn"]
    assert (second.variety.name, second.least) == ("Dawn", 5)


def test_a_buyer_is_known_again_and_an_order_added_to(asked):
    order("Tarn Mill", [Line("Dusk", 1, FROM, UNTIL)], **asked)
    order("tarn mill", [Line("Dusk", 1, FROM, UNTIL)], **asked)
    order("", [Line("Dawn", 3, FROM, UNTIL)], add_to=2, **asked)
    assert Buyer.objects.count() == 1
    assert [line.position for line in Order.objects.get(number=2).lines.all()] == [1, 2]


def test_an_order_sent_twice_is_noted_once(asked):
    id = uuid4()
    assert order("A", [Line("Dusk", 1, FROM, UNTIL)], id=id, **asked) == order(
        "A", [Line("Dusk", 1, FROM, UNTIL)], id=id, **asked
    )
    assert OrderLine.objects.count() == 1
    more = uuid4()
    for _ in range(2):
        order("", [Line("Dawn", 2, FROM, UNTIL)], add_to=1, id=more, **asked)
    assert OrderLine.objects.count() == 2


def test_an_order_is_not_added_to_by_another_buyer_or_country(asked):
    order("A", [Line("Dusk", 1, FROM, UNTIL)], country="DE", **asked)
    for wrong in ({"buyer": "B"}, {"buyer": "A", "country": "AT"}):
        with pytest.raises(work.Refused, match="Order 1"):
            order(wrong.pop("buyer"), [Line("Dusk", 1, FROM, UNTIL)], add_to=1, **wrong, **asked)


@pytest.mark.parametrize(
    ("line", "says"),
    [
        (Line("Dusk", 0, FROM, UNTIL), "at least 1"),
        (Line("Dusk", 10**11, FROM, UNTIL), "at most 1,000,000"),
        (Line("Dusk", 5, UNTIL, FROM), "ends before it begins"),
        (Line("Dusk", 5, FROM, UNTIL, least=6), "from 1 to 5"),
        (Line("Dusk", 5, FROM, UNTIL, use="eating"), "rooting or grafting"),
        (Line("Dusk", 5, FROM, UNTIL, priority=9), "gives way last"),
        (Line("Noon", 5, FROM, UNTIL), "No variety is called 'Noon'"),
        (Line("Dusk", 5, FROM, UNTIL, instead=("Dusk",)), "no substitute for itself"),
    ],
)
def test_a_line_that_makes_no_sense_books_nothing_at_all(asked, line, says):
    with pytest.raises(work.Refused, match=says):
        order("Tarn Mill", [Line("Dusk", 1, FROM, UNTIL), line], **asked)
    assert not Order.objects.exists() and not Buyer.objects.exists()


def test_a_target_is_noted(asked):
    target = want("Dusk", 30, purpose="grafts", priority=1, worth=Decimal("4.5"), **asked)
    assert (target.number, target.use, target.worth) == (1, "grafting", Decimal("4.5"))
    with pytest.raises(work.Refused, match="plants, grafts, reserve, backup"):
        want("Dusk", 30, purpose="fun", **asked)


def test_what_is_cancelled_is_no_longer_wanted_and_cannot_be_cancelled_twice(asked):
    order("A", [Line("Dusk", 1, FROM, UNTIL), Line("Dawn", 2, FROM, UNTIL)], **asked)
    want("Dusk", 3, **asked)
    before = how_far()
    with pytest.raises(work.Refused, match="write 3 for order 3"):
        cancel("1/", at=AT)  # a line was meant, not the whole order
    assert [line.position for line in cancel("order 1/2", at=AT)] == [2]
    assert how_far() != before
    assert [line.position for line in cancel("1", at=AT)] == [1]
    assert cancel("target 1", at=AT).ended_at == AT
    for again in ("1", "1/2", "target 1"):
        with pytest.raises(work.Refused, match=r"no such line|already"):
            cancel(again, at=AT)
    for unknown in ("7", "target 7"):
        with pytest.raises(work.Unknown):
            cancel(unknown, at=AT)
    with pytest.raises(work.Refused, match="write 3 for order 3"):
        cancel("all", at=AT)
    assert not Target.objects.filter(ended_at=None).exists()


def test_the_latest_limit_of_a_mother_plant_counts(asked):
    limit("M1", 20, **asked)
    limit("M1", 0, **asked)
    assert MotherLimit.objects.filter(mother__accession="M1").last().cuttings == 0
    for wrong, says in ((-1, "0 to spare"), (10**11, "at most 1,000,000")):
        with pytest.raises(work.Refused, match=says):
            limit("M1", wrong, **asked)


def test_a_bench_is_set_up(asked):
    work.add_place("Warm bench", "bench")
    setup = set_up_bench("Warm bench", 120, air_c=12, heats=(24, 18), watts_per_k=15, **asked)
    assert (setup.cells, setup.heats) == (120, [18, 24])
    for wrong, says in (
        ({"cells": 0, "air_c": 12}, "at least 1"),
        ({"cells": 10**11, "air_c": 12}, "at most 1,000,000"),
        ({"cells": 9, "air_c": 68}, "degrees Celsius"),
        ({"cells": 9, "air_c": 12, "watts_per_k": -1}, "W/K"),
        ({"cells": 9, "air_c": 12, "first_day": UNTIL, "last_day": FROM}, "ends before"),
    ):
        with pytest.raises(work.Refused, match=says):
            set_up_bench("Warm bench", **wrong, **asked)


def test_what_plans_rest_on(db):
    plan_with(country="de", region="by", last_frost="05-15", kwh_price=Decimal("0.31"), transit={1: 2, 3: 2})
    nursery = Nursery.get()
    assert (nursery.country, nursery.region, nursery.last_frost) == ("DE", "BY", "05-15")
    assert nursery.transit == {"1": 0.5, "3": 0.5}
    for wrong, says in (
        ({"country": "XX"}, "No calendar"),
        ({"region": "ZZ"}, "has no region"),
        ({"last_frost": "13-40"}, "MM-DD"),
        ({"transit": {}}, "shares"),
        ({"kwh_price": Decimal(-1)}, "0 or more"),
    ):
        with pytest.raises(work.Refused, match=says):
            plan_with(**wrong)
