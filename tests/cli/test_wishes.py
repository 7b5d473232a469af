"""The commands for what is wanted, as typed: what they print, what they book, how they refuse."""

import json
from datetime import date
from decimal import Decimal

import pytest

from ortet import work
from ortet.ledger.models import BenchSetup, Buyer, MotherLimit, Nursery, Order, OrderLine, Target

from .test_commands import ortet

pytestmark = pytest.mark.django_db
WINDOW = ("--from", "2027-03-05", "--until", "2027-04-10")


@pytest.fixture
def plants():
    work.add_mother("M1", "Dusk Latch", "blackcurrant")
    work.add_mother("M2", "Lantern", "gooseberry")
    work.add_place("Shelf", "bench")


def test_an_order_is_noted_added_to_listed_and_cancelled(plants):
    said = ortet("order", "Tarn Mill", "Dusk Latch=12", "lantern=5", *WINDOW, "--price", "1,20",
                 "--grades", "A, B", "--least", "5", "--country", "de", "--note", "a gift").output  # fmt: skip
    assert said.startswith("Order 1 of Tarn Mill: 12 Dusk Latch, 5 lantern noted.")
    more = ("Lantern=3", *WINDOW, "--add-to", "1", "--instead", "Dusk Latch", "--note", "thin")
    ortet("order", "tarn mill", *more)
    order = Order.objects.get()
    assert (order.country, order.note, Buyer.objects.count()) == ("DE", "a gift", 1)
    assert [(line.count, line.price, line.grades, line.note) for line in order.lines.all()] == [
        (12, Decimal("1.20"), "A,B", ""),
        (5, Decimal("1.20"), "A,B", ""),
        (3, None, "", "thin"),
    ]
    assert order.lines.last().last_day == date(2027, 4, 10)
    rows = json.loads(ortet("wanted", "--json").output)
    assert [(row["order"], row["count"], row["instead"], row["state"]) for row in rows] == [
        ("1/1", 12, "", "wanted"),
        ("1/2", 5, "", "wanted"),
        ("1/3", 3, "Dusk Latch", "wanted"),
    ]
    assert "No longer wanted: order 1/2." in ortet("cancel", "1/2").output
    assert "Lantern" in ortet("wanted", "lantern", "--sort", "-count").output
    assert len(json.loads(ortet("wanted", "--json").output)) == 2
    assert len(json.loads(ortet("wanted", "--json", "--all").output)) == 3
    assert "Nothing that is wanted fits." in ortet("wanted", "oak").output


def test_own_targets(plants):
    assert "ortet want VARIETY COUNT" in ortet("wanted", "--ourselves").output
    ortet(
        "want", "Lantern", "30", "--for", "grafts", "--by", "2027-05-15", "--worth", "4.5", "--priority", "1"
    )
    target = Target.objects.get()
    assert (target.use, target.wanted_by, target.worth, target.priority) == (
        "grafting",
        date(2027, 5, 15),
        Decimal("4.5"),
        1,
    )
    assert json.loads(ortet("wanted", "--ourselves", "--json").output)[0]["purpose"] == "grafts"
    assert "No longer wanted: target 1." in ortet("cancel", "target", "1").output
    assert json.loads(ortet("wanted", "--ourselves", "--all", "--json").output)[0]["state"] == "cancelled"


def test_what_mother_plants_and_benches_can_do(plants):
    assert "M1 ‘Dusk Latch’: no more than 60 cuttings" in ortet("limit", "M1", "60").output
    said = ortet(
        "set-up-bench", "shelf", "120", "--air", "12", "--heat", "21C", "--heat", "64.4F", "--watts", "7.5"
    )
    assert said.output == "Shelf: 120 cells, its mat holds 18.0 °C, 21.0 °C, air 12.0 °C.\n"
    assert BenchSetup.objects.get().heats == pytest.approx([18, 21])
    assert "no mat" in ortet("set-up-bench", "Shelf", "40", "--air", "9C", "--until", "2027-04-30").output


def test_what_plans_rest_on():
    said = ortet("nursery", "--country", "de", "--region", "by", "--last-frost", "05-12",
                 "--kwh-price", "0,31", "--transit", "1:2 3:2").output  # fmt: skip
    for line in ("country    DE BY", "last frost 05-12", "kWh price  0.31", "transit    1:50 3:50"):
        assert line in said
    assert Nursery.get().transit == {"1": 0.5, "3": 0.5}
    ortet("nursery", "--name", "Hill")
    assert Nursery.get().country == "DE"  # what is not said stays


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["order", "A", "Dusk Latch", *WINDOW], "VARIETY=COUNT"),
        (["order", "A", "Dusk Latch=few", *WINDOW], "VARIETY=COUNT"),
        (["order", "A", "Dusk Latch=3", "--from", "soon", "--until", "2027-03-01"], "--from 'soon': write a day"),
        (["order", "A", "Dusk Latch=3", "--from", "2027-03-02", "--until", "2027-03-01"], "ends before it begins"),
        (["order", "A", "Dusk Latch=3", "--from", "", "--until", ""], "give both days"),
        (["order", "A", "Dusk Latch=3", "Noon=3", *WINDOW], "No variety is called 'Noon'"),
        (["order", "A", "Dusk Latch=3", *WINDOW, "--price", "nan"], "--price 'nan': write an amount"),
        (["order", "A", "Dusk Latch=3", *WINDOW, "--price", "1.234"], "write an amount"),
        (["order", "A", "Dusk Latch=3", *WINDOW, "--price", "1,250"], "write an amount"),
        (["order", "A", "Dusk Latch=3", *WINDOW, "--add-to", "9"], "There is no order 9"),
        (["order", "Sedge", "Dusk Latch=3", *WINDOW, "--add-to", "1"], "Order 1 is of Tarn Mill, not of Sedge"),
        (["want", "Lantern", "0"], "Ask for at least 1"),
        (["want", "Lantern", "3", "--for", "luck"], "say plants, grafts, reserve, backup"),
        (["want", "Lantern", "3", "--by", "May"], "--by 'May': write a day"),
        (["cancel", "all"], "write 3 for order 3"),
        (["cancel", "target", "4"], "There is no target 4"),
        (["limit", "M9", "3"], "no mother plant 'M9'"),
        (["set-up-bench", "Roof", "3", "--air", "12C"], "There is no"),
        (["set-up-bench", "Shelf", "3", "--air", "warm"], "is not a temperature"),
        (["set-up-bench", "Shelf", "3", "--air", ""], "--air: give the usual air"),
        (["set-up-bench", "Shelf", "3", "--air", "12C", "--heat", "90C"], "from 0 to 40"),
        (["wanted", "--sort", "luck"], "say number, buyer"),
        (["wanted", "--ourselves", "--sort", "buyer"], "say variety, number"),
        (["nursery", "--country", "XX"], "No calendar of public holidays"),
        (["nursery", "--name", "Lost", "--last-frost", "May"], "MM-DD"),
        (["nursery", "--name", "Lost", "--transit", "1-50"], "--transit '1-50': write days and share"),
        (["nursery", "--name", "Lost", "--kwh-price", "dear"], "--kwh-price 'dear'"),
    ],
)  # fmt: skip
def test_a_refusal_is_one_sentence_and_nothing_is_booked(plants, words, said):
    ortet("order", "Tarn Mill", "Lantern=2", *WINDOW)
    result = ortet(*words, ends=1)
    assert result.output.startswith("Refused: ") and said in result.output
    assert (Order.objects.count(), OrderLine.objects.count(), Buyer.objects.count()) == (1, 1, 1)
    assert (
        not Target.objects.exists() and not MotherLimit.objects.exists() and not BenchSetup.objects.exists()
    )
    assert Nursery.get().name != "Lost"
