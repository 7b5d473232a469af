"""Random books: whatever was done, a trace finds every cutting of a mother plant once, and back and forward agree.

Drawn with Hypothesis; the account's own recount (`ortet.ledger.rules`) is what the sums are compared with.
"""

from datetime import UTC, datetime, timedelta

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ortet import work
from ortet.ledger import rules
from ortet.ledger.models import Balance, Kind, Lot, MotherPlant, Movement, Place, Sale
from ortet.ledger.places import GROWING, ON_HAND, WOOD
from ortet.work.trace import recall, trace

START = datetime(2027, 1, 1, tzinfo=UTC)
STEP = st.tuples(
    st.sampled_from(
        ["take", "split", "strike", "graft", "pot", "sell", "give-up", "lose", "move", "bag", "correct"]
    ),
    st.integers(0, 2**16),
    st.integers(0, 2**16),
    st.integers(1, 9),
    st.booleans(),  # whether an hour passes
)


class Season:
    """Deeds picked by numbers among those that can be done."""

    def __init__(self, by):
        self.by, self.at, self.number = by, START, 0
        for accession, variety in (("M1", "Dusk"), ("M2", "Dusk"), ("M3", "Lantern")):
            work.add_mother(accession, variety, "blackcurrant")
            work.take(accession, 12, by=by, at=self.at)
        for kind, name in (("bench", "Shelf"), ("ground", "Yard"), ("ground", "Lane"), ("store", "North")):
            work.add_place(name, kind)

    def lying(self, *kinds):
        rows = Balance.objects.filter(count__gt=0, place__kind__in=kinds).select_related("lot", "place")
        return list(rows.order_by("lot_id", "place_id"))

    def do(self, deed, pick, other, count, passes):
        self.number += 1
        if passes:
            self.at += timedelta(hours=1)
        who = {"by": self.by, "at": self.at}
        if deed == "take":
            work.take(f"M{1 + pick % 3}", count, **who)
            return
        if deed == "correct":
            last = Movement.objects.count()
            work.correct(1 + pick % last, note="mistaken", **who)
            return
        kinds = {"pot": (Kind.BATCH,), "sell": ON_HAND, "give-up": ON_HAND, "lose": ON_HAND}.get(deed, WOOD)
        rows = self.lying(*kinds)
        if not rows:
            return
        row = rows[pick % len(rows)]
        lot, here, count = row.lot.code, row.place.code, min(count, row.count)
        match deed:
            case "split":
                work.split(lot, count, from_place=here, **who)
            case "strike":
                work.strike(lot, count, from_place=here, bench="Shelf", **who)
            case "graft":
                stock = rows[other % len(rows)]
                work.graft(
                    lot, stock.lot.code, min(count, stock.count), scion_from=here, stock_from=stock.place.code,
                    bench="Shelf", **who,
                )  # fmt: skip
            case "pot":
                work.pot_on(here, count, to=("Yard", "Lane")[other % 2], **who)
            case "sell":
                work.sell(lot, count, from_place=here, buyer=("Hedge", "Moor", "Fell")[other % 3], **who)
            case "give-up" | "lose":
                work.give_up(lot, count, from_place=here, not_found=deed == "lose", **who)
            case "move":
                work.move(lot, count, from_place=here, to_place=("Shelf", "Bench")[other % 2], **who)
            case "bag":
                work.bag([(lot, count, here)], store="North", **who)


def sums_hold() -> None:
    """Of each mother plant, site and lot: taken is on hand, joined, sold, given up and lost."""
    for plant in MotherPlant.objects.all():
        tally = trace(f"mother {plant.accession}").tally
        taken = -sum(Balance.objects.filter(place=plant.place).values_list("count", flat=True))
        assert tally and tally.holds and tally.taken == taken, (plant, tally)
    for lot in Lot.objects.all():
        tally = trace(lot.code).tally
        assert tally and tally.holds, (lot, tally)


def back_and_forward_agree() -> None:
    """A lot leads forward to another exactly if that one leads back to it."""
    ahead, behind = set(), set()
    for lot in Lot.objects.all():
        nodes = trace(lot.code).nodes.values()
        ahead |= {(lot.code, node.code) for node in nodes if node.kind == "lot" and node.role == "after"}
        behind |= {(node.code, lot.code) for node in nodes if node.kind == "lot" and node.role == "before"}
    assert ahead == behind


def recalls_reach_everyone() -> None:
    """What all mother plants' recalls list is what was sold and not taken back; the parts of a place never exceed the whole."""
    sold = Sale.objects.filter(movement__reversed_by=None)
    rows = sold.values_list("movement__number", "buyer__name", "movement__count")
    found = set()
    for plant in MotherPlant.objects.all():
        for buyer in recall(f"mother {plant.accession}").buyers:
            found |= {(one.movement, buyer.name, one.count) for one in buyer.bought}
    assert found == set(rows)
    for place in Place.objects.filter(kind__in=(*GROWING, Kind.BAG)):
        traced = trace(place.code)
        left = Movement.objects.filter(from_place=place, reversed_by=None, reverses=None)
        assert {move.number for move in left} <= {step.number for step in traced.steps}
        there = sum(Balance.objects.filter(place=place, count__gt=0).values_list("count", flat=True))
        assert there == sum(row.count for row in traced.here if row.place == place.pk)


@pytest.mark.django_db
@settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
@given(steps=st.lists(STEP, min_size=8, max_size=22))
def test_every_cutting_is_found_once_and_back_and_forward_agree(ada, steps):
    with transaction.atomic():
        season = Season(ada)
        for step in steps:
            try:
                with transaction.atomic():
                    season.do(*step)
            except work.Refused:
                continue
        assert rules.check() == []
        sums_hold()
        back_and_forward_agree()
        recalls_reach_everyone()
        transaction.set_rollback(True)
