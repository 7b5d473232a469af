"""The whole reckoning: charges spread over movements, carried to where the cuttings are, and rounded so that nothing is lost."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from decimal import Decimal, localcontext

from ortet.wood.money import rounded, shared

from .carry import Carried, Cost, carry
from .values import PARTS, Charge, Flow, Form, Heap, Part, Reckoned

__all__ = ["reckon"]

FIGURES = 60  # to which is reckoned before the last rounding

Owner = tuple[str, object]  # whose share it is: a heap on hand, a sale, the dead of a variety, or nobody's


def reckon(flows: Sequence[Flow], charges: Sequence[Charge], currency: str) -> Reckoned:
    """Return what is on hand, what was sold and what died, each with its cost; part by part they add up to what was spent.

    Parameters
    ----------
    flows : sequence of Flow
        Movements in the order in which they happened, without those that were corrected and their corrections.
    charges : sequence of Charge
        What was spent or reckoned, each with the movements that bear it.
    currency : str
        ISO 4217: amounts in the answer are in its minor units.
    """
    with localcontext() as context:
        context.prec = FIGURES
        spent, put_on, unplaced = _spread(flows, charges)
        carried = carry(flows, put_on)
        dead = _to_survivors(flows, carried)
        exact: dict[Owner, Cost] = {("hand", key): cost for key, cost in carried.held.items()}
        exact |= {("sold", number): cost for number, (_, _, cost) in carried.sold.items()}
        exact |= {("dead", variety): cost for variety, cost in dead.items()}
        exact["nobody", None] = unplaced
        whole = {part: rounded(amount, currency) for part, amount in spent.items()}
        cents = _in_cents(exact, whole, currency)
    return Reckoned(
        on_hand=tuple(_on_hand(flows, carried, cents)),
        sold=tuple(
            Heap(
                flow.lot,
                flow.variety,
                form,
                flow.count,
                day=flow.day,
                cost=cents["sold", number],
            )
            for number, (flow, form, _) in carried.sold.items()
        ),
        dead={variety: cents["dead", variety] for variety in dead if any(cents["dead", variety].values())},
        unplaced=cents["nobody", None],
        spent=whole,
    )


def _spread(flows: Sequence[Flow], charges: Sequence[Charge]) -> tuple[Cost, dict[int, Cost], Cost]:
    """Return what was spent in all, what each movement bears of it, and what none bears."""
    known = {flow.number for flow in flows}
    spent: Cost = dict.fromkeys(PARTS, Decimal())
    unplaced: Cost = dict.fromkeys(PARTS, Decimal())
    put_on: dict[int, Cost] = defaultdict(lambda: defaultdict(Decimal))
    alike: dict[tuple[Part, int], tuple[Mapping[int, Decimal], list[Decimal]]] = {}
    for charge in charges:  # those that the very same movements bear are spread in one go
        alike.setdefault((charge.part, id(charge.on)), (charge.on, []))[1].append(charge.amount)
    for (part, _), (weights, amounts) in alike.items():
        amount = sum(amounts, Decimal())
        spent[part] += amount
        on = {number: weight for number, weight in weights.items() if number in known and weight > 0}
        if not (total := sum(on.values(), Decimal())):
            unplaced[part] += amount
            continue
        left = amount
        for number, weight in on.items():
            share = amount * weight / total
            put_on[number][part] += share
            left -= share
        put_on[number][part] += left  # what the last figure of the division lost
    return spent, put_on, unplaced


def _to_survivors(flows: Sequence[Flow], carried: Carried) -> dict[str, Cost]:
    """Give what places without a survivor carried to what lived of the same variety and season; return what nothing took."""
    of = {flow.lot: (flow.variety, flow.season) for flow in flows}
    alive: dict[tuple[str, int], list[tuple[int, Cost]]] = defaultdict(list)
    for (lot, place), count in carried.counts.items():
        if count:
            alive[of[lot]].append((count, carried.held[lot, place]))
    for flow, _, cost in carried.sold.values():
        alive[flow.variety, flow.season].append((flow.count, cost))
    for key, cost in carried.held.items():  # what an empty place still carries
        if not carried.counts[key] and any(cost.values()):
            for part, amount in cost.items():
                carried.stranded[of[key[0]]][part] += amount
                cost[part] = Decimal()
    dead: dict[str, Cost] = defaultdict(lambda: defaultdict(Decimal))
    for (variety, season), cost in carried.stranded.items():
        living = alive.get((variety, season), [])
        total = sum(count for count, _ in living)
        for part, amount in cost.items():
            left = amount
            for count, theirs in living:
                theirs[part] += (share := amount * count / total)
                left -= share
            if living:
                living[-1][1][part] += left
            else:
                dead[variety][part] += amount
    return dead


def _in_cents(
    exact: Mapping[Owner, Mapping[Part, Decimal]], whole: Mapping[Part, Decimal], currency: str
) -> dict[Owner, Cost]:
    """Round every share, part by part, so that they add up to what was spent."""
    cents: dict[Owner, Cost] = {owner: {} for owner in exact}
    for part in PARTS:
        amounts = [max(cost.get(part, Decimal()), Decimal()) for cost in exact.values()]
        for owner, amount in zip(exact, shared(amounts, currency, whole[part]), strict=True):
            cents[owner][part] = amount
    return cents


def _on_hand(flows: Sequence[Flow], carried: Carried, cents: Mapping[Owner, Cost]) -> list[Heap]:
    of = {flow.lot: flow.variety for flow in flows}
    return [
        Heap(lot, of[lot], carried.forms.get((lot, place), Form.CUTTING), count, place, cost=cost)
        for (lot, place), count in carried.counts.items()
        if count or any(cents.get(("hand", (lot, place)), {}).values())
        for cost in [cents.get(("hand", (lot, place)), dict.fromkeys(PARTS, Decimal()))]
    ]
