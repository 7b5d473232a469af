"""Carrying costs along with cuttings: what moves takes its share, and what is lost leaves its share to what lives."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

from .values import Flow, Form, Part, Stage

__all__ = ["Carried", "Cost", "carry"]

Cost = dict[Part, Decimal]
Key = tuple[str, str]  # a lot and a place

FORMS = {Stage.WOOD: Form.CUTTING, Stage.GROWING: Form.GROWING, Stage.PLANT: Form.PLANT}


@dataclass
class Carried:
    """Where the costs came to lie, exactly."""

    held: dict[Key, Cost] = field(default_factory=lambda: defaultdict(lambda: defaultdict(Decimal)))
    counts: dict[Key, int] = field(default_factory=lambda: defaultdict(int))
    forms: dict[Key, Form] = field(default_factory=dict)
    sold: dict[int, tuple[Flow, Form, Cost]] = field(default_factory=dict)
    stranded: dict[tuple[str, int], Cost] = field(
        default_factory=lambda: defaultdict(lambda: defaultdict(Decimal))
    )  # by variety and season: of places where nothing lived


def carry(flows: Sequence[Flow], put_on: Mapping[int, Cost]) -> Carried:
    """Carry what was put on each movement to where its cuttings are now, or were sold.

    Parameters
    ----------
    flows : sequence of Flow
        In the order in which they happened.
    put_on : mapping of int to mapping of Part to Decimal
        What each movement's cuttings bear from it on, by the movement's number.
    """
    lost_later = _losses_to_come(flows)
    done = Carried()
    between: dict[str, Cost] = defaultdict(lambda: defaultdict(Decimal))  # of a lot, on its way to another
    for flow in flows:
        moved = _taken_from(done, flow, lost_later, between)
        for part, amount in put_on.get(flow.number, {}).items():
            moved[part] += amount
        _put_down(done, flow, moved, between)
    for lot, cost in between.items():  # a lot on its way that never came: nothing is lost of its cost
        flow = next(one for one in flows if one.lot == lot)
        _add(done.stranded[flow.variety, flow.season], cost)
    return done


def _taken_from(
    done: Carried, flow: Flow, lost_later: Mapping[int, Fraction], between: dict[str, Cost]
) -> Cost:
    """Return what a movement's cuttings take along, taken off the place they leave."""
    moved: Cost = defaultdict(Decimal)
    if flow.from_stage is Stage.SOURCE:
        return moved
    if flow.from_stage is Stage.BECAME:
        for parent in flow.parents:
            _add(moved, between.pop(parent, {}))
        return moved
    key = flow.lot, flow.from_place
    held = max(done.counts[key], flow.count)
    done.counts[key] = held - flow.count
    after = lost_later[flow.number]
    if flow.to_stage is Stage.GONE:  # goes without its cost, unless nothing is left that could live
        share = Fraction(int(held - flow.count - after <= 0))
    else:
        dies = min(after, Fraction(held - flow.count))
        share = min(Fraction(1), flow.count / (held - dies))
    for part, amount in done.held[key].items():
        take = amount if share == 1 else amount * share.numerator / share.denominator
        moved[part] += take
        done.held[key][part] = amount - take
    return moved


def _put_down(done: Carried, flow: Flow, moved: Cost, between: dict[str, Cost]) -> None:
    came_as = done.forms.get((flow.lot, flow.from_place)) or FORMS.get(flow.from_stage, Form.CUTTING)
    if flow.to_stage is Stage.BECAME:
        _add(between[flow.lot], moved)
    elif flow.to_stage is Stage.SOLD:
        # what leaves a batch for a buyer has roots, or is sold as if it had
        done.sold[flow.number] = (flow, Form.PLANT if came_as is Form.GROWING else came_as, moved)
    elif flow.to_stage is Stage.GONE or flow.to_stage is Stage.SOURCE:
        _add(done.stranded[flow.variety, flow.season], moved)
    else:
        key = flow.lot, flow.to_place
        done.counts[key] += flow.count
        packed_as = Form.PLANT if came_as is Form.GROWING else came_as
        done.forms[key] = FORMS.get(flow.to_stage, packed_as)
        _add(done.held[key], moved)


def _add(to: Cost, more: Mapping[Part, Decimal]) -> None:
    for part, amount in more.items():
        to[part] += amount


def _losses_to_come(flows: Sequence[Flow]) -> dict[int, Fraction]:
    """Return for each movement how many of those it leaves behind are lost from that place later.

    Gone through backwards: a loss adds to what is to be lost; where cuttings came in, those that were there before bear
    the losses after it in proportion to their number.
    """
    steps: dict[Key, list[tuple[Flow, bool, int]]] = defaultdict(list)
    held: dict[Key, int] = defaultdict(int)
    for flow in flows:
        if flow.from_stage not in (Stage.SOURCE, Stage.BECAME):
            key = flow.lot, flow.from_place
            held[key] = max(held[key], flow.count) - flow.count
            steps[key].append((flow, False, held[key]))
        if flow.to_stage not in (Stage.SOURCE, Stage.BECAME, Stage.SOLD, Stage.GONE):
            key = flow.lot, flow.to_place
            held[key] += flow.count
            steps[key].append((flow, True, held[key]))
    to_come: dict[int, Fraction] = {}
    for row in steps.values():
        later = Fraction(0)
        for flow, is_in, after in reversed(row):
            if is_in:
                later = later * max(after - flow.count, 0) / after if after else later
            else:
                to_come[flow.number] = later
                if flow.to_stage is Stage.GONE:
                    later += flow.count
    return to_come
