"""Costs carried by cuttings: losses leave theirs to what lives, and nothing is lost or made on the way.

The small sums are worked by hand beside each check; invented data prove only that the program agrees with itself.
"""

import io
from contextlib import redirect_stdout
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ortet.decisions.costs import PARTS, Charge, Flow, Form, Part, Reckoned, Stage, reckon
from ortet.wood.money import unit

DAY = date(2027, 2, 1)
STAGES = {
    "mother": Stage.SOURCE,
    "became": Stage.BECAME,
    "bench": Stage.WOOD,
    "bag": Stage.WOOD,
    "batch": Stage.GROWING,
    "yard": Stage.PLANT,
    "box": Stage.PACKED,
    "sold": Stage.SOLD,
    "dead": Stage.GONE,
}


def flows(text: str) -> list[Flow]:
    """Read movements, such as `L1 40 mother bench`; `of=L1+L2` names the lots a lot was made from."""
    read = []
    for number, line in enumerate(filter(None, map(str.strip, text.splitlines())), 1):
        lot, count, here, there, *more = line.split()
        parents = tuple(more[0].removeprefix("of=").split("+")) if more else ()
        variety = "Dusk" if lot.startswith("L") else "Latch"
        ends = (here, STAGES[here], there, STAGES[there])
        read.append(Flow(number, lot, variety, 2027, *ends, int(count), DAY, parents))
    return read


def charge(amount: str, *on: int, part: Part = Part.OWN) -> Charge:
    return Charge(Decimal(amount), part, {number: Decimal(1) for number in on})


def all_of(found: Reckoned, part: Part) -> Decimal:
    heaps = sum((heap.cost[part] for heap in (*found.on_hand, *found.sold)), Decimal())
    dead = sum((cost[part] for cost in found.dead.values()), Decimal())
    return heaps + dead + found.unplaced[part]


def test_the_dead_leave_their_cost_to_those_that_lived():
    """20 taken for 10.00, 14 potted and sold, 6 dead only afterwards: 10.00 over 14."""
    found = reckon(
        flows("L1 20 mother bench\nL1 20 bench batch\nL1 14 batch yard\nL1 14 yard sold\nL1 6 batch dead"),
        [charge("10.00", 1)],
        "EUR",
    )
    (sold,) = found.sold
    assert (sold.count, sold.form, sold.total) == (14, Form.PLANT, Decimal("10.00"))
    assert sum(heap.total for heap in found.on_hand) == 0 and not found.dead


def test_what_moves_takes_its_share_and_no_more():
    """40 for 8.00; 10 sold as cuttings take 2.00, 30 struck keep 6.00 and cost 3.00 more."""
    found = reckon(
        flows("L1 40 mother bench\nL1 10 bench sold\nL1 30 bench batch"),
        [charge("8.00", 1), charge("3.00", 3, part=Part.BENCH)],
        "EUR",
    )
    assert [(heap.form, heap.total) for heap in found.sold] == [(Form.CUTTING, Decimal("2.00"))]
    growing = [heap for heap in found.on_hand if heap.count]
    assert [(heap.form, heap.cost[Part.OWN], heap.cost[Part.BENCH]) for heap in growing] == [
        (Form.GROWING, Decimal("6.00"), Decimal("3.00"))
    ]


def test_a_whole_batch_that_died_falls_on_what_lives_of_its_season():
    """10 of 20 struck and all dead: their 5.00 and the 2.00 of the batch fall on the 10 left in the bag."""
    found = reckon(
        flows("L1 20 mother bag\nL1 10 bag batch\nL1 10 batch dead"),
        [charge("10.00", 1), charge("2.00", 2)],
        "EUR",
    )
    assert [(heap.count, heap.total) for heap in found.on_hand if heap.count] == [(10, Decimal("12.00"))]
    assert not found.dead


def test_where_nothing_lived_the_cost_is_told_apart():
    found = reckon(flows("L1 20 mother bag\nL1 20 bag dead"), [charge("10.00", 1)], "EUR")
    assert sum(found.dead["Dusk"].values()) == Decimal("10.00")


def test_a_graft_carries_scion_and_stock():
    found = reckon(
        flows(
            "L1 10 mother bench\nT1 10 mother bench\nT1 5 bench became\nL1 5 bench became\nL3 5 became batch of=L1+T1"
        ),
        [charge("4.00", 1), charge("6.00", 2), charge("1.00", 5)],
        "EUR",
    )
    (graft,) = [heap for heap in found.on_hand if heap.lot == "L3"]
    assert graft.total == Decimal("6.00")  # half of 4, half of 6, and 1


def test_what_comes_in_after_does_not_bear_the_losses_before():
    """10 in a batch lose 5 before 10 more come: the first five live ones carry 10.00, the later ten 10.00."""
    found = reckon(
        flows("L1 20 mother bag\nL1 10 bag batch\nL1 5 batch dead\nL1 5 batch yard\nL1 10 bag batch"),
        [charge("20.00", 1)],
        "EUR",
    )
    assert {heap.place: heap.total for heap in found.on_hand if heap.count} == {
        "yard": Decimal("10.00"),
        "batch": Decimal("10.00"),
    }


def test_an_expense_that_nothing_can_bear_is_told_apart():
    found = reckon([], [charge("3.00")], "EUR")
    assert found.unplaced[Part.OWN] == Decimal("3.00") == found.spent[Part.OWN]


PLACES = ("bench", "bag", "batch", "yard", "box")


@st.composite
def seasons(draw: st.DrawFn) -> list[Flow]:
    """Draw a season of one to three lots: wood goes about, is sold, dies, becomes another lot; none is made of nothing."""
    held: dict[tuple[str, str], int] = {}
    made: list[Flow] = []

    def flow(lot: str, here: str, there: str, count: int, parents: tuple[str, ...] = ()) -> None:
        if (lot, here) in held:
            held[lot, here] -= count
        if there in PLACES:
            held[lot, there] = held.get((lot, there), 0) + count
        variety = "Dusk" if lot.startswith("L") else "Latch"
        ends = (here, STAGES[here], there, STAGES[there])
        made.append(Flow(len(made) + 1, lot, variety, 2027, *ends, count, DAY, parents))

    for lot in draw(st.sampled_from((("L1",), ("L1", "T1"), ("L1", "L2", "T1")))):
        flow(lot, "mother", "bench", draw(st.integers(1, 60)))
    for step in range(draw(st.integers(0, 14))):
        here = [key for key, count in held.items() if count]
        if not here:
            break
        lot, place = draw(st.sampled_from(here))
        count = draw(st.integers(1, held[lot, place]))
        there = draw(st.sampled_from([*PLACES, "sold", "dead", "became"]))
        if there == place:
            continue
        flow(lot, place, there, count)
        if there == "became":
            child = f"{lot[0]}x{step}"
            flow(child, "became", draw(st.sampled_from(("bench", "batch"))), count, (lot,))
    return made


@st.composite
def charged(draw: st.DrawFn) -> tuple[list[Flow], list[Charge]]:
    drawn = draw(seasons())
    numbers = [flow.number for flow in drawn]
    weights = st.dictionaries(st.sampled_from(numbers), st.decimals("0.01", 99, places=2), max_size=6)
    amounts = st.decimals("0.01", 5000, places=4)
    made = st.builds(Charge, amounts, st.sampled_from(PARTS), weights)
    return drawn, draw(st.lists(made, max_size=8))


@settings(max_examples=70)
@given(charged(), st.sampled_from(("EUR", "JPY", "KWD")))
def test_what_is_spread_adds_up_to_what_was_spent(drawn, currency):
    """Part by part and to the last minor unit, whatever was moved, sold, lost or split."""
    movements, charges = drawn
    found = reckon(movements, charges, currency)
    for part in PARTS:
        spent = sum((one.amount for one in charges if one.part is part), Decimal())
        assert all_of(found, part) == found.spent[part]
        assert abs(found.spent[part] - spent) <= unit(currency) / 2
    assert all(amount >= 0 for heap in (*found.on_hand, *found.sold) for amount in heap.cost.values())


@settings(max_examples=40)
@given(seasons())
def test_what_died_in_part_carries_nothing(drawn):
    """Whatever the order, one euro on every cutting taken ends with the living, if any of its variety and season lives."""
    taken = [flow for flow in drawn if flow.from_stage is Stage.SOURCE]
    found = reckon(drawn, [charge("100.00", *(flow.number for flow in taken))], "EUR")
    living = {heap.variety for heap in (*found.on_hand, *found.sold) if heap.count}
    assert not living & found.dead.keys()


def test_the_example_in_the_docs_runs_and_says_what_is_printed_there():
    page = (Path(__file__).parents[2] / "docs/science/cost-of-a-plant.md").read_text()
    example = page.partition("```python\n")[2].partition("```")[0]
    code, said = example.rsplit("# ", 1)
    with redirect_stdout(io.StringIO()) as out:
        exec(compile(code, "cost-of-a-plant.md", "exec"), {})
    assert out.getvalue() == said


@pytest.mark.parametrize("currency", ["EUR", "JPY"])
def test_a_third_each_adds_up(currency):
    """100 over three: 33.34, 33.33, 33.33; in yen 34, 33, 33."""
    found = reckon(
        flows("L1 3 mother bench\nL1 1 bench sold\nL1 1 bench sold\nL1 1 bench sold"),
        [charge("100", 1)],
        currency,
    )
    assert sorted(heap.total for heap in found.sold) == (
        [Decimal("33.33"), Decimal("33.33"), Decimal("33.34")] if currency == "EUR" else [33, 33, 34]
    )
