"""Random seasons, with crashes at any statement: no cutting is lost or invented, no variety mixed, nothing below nothing."""

from contextlib import contextmanager
from datetime import UTC, datetime, timedelta

import pytest
from django.contrib.auth.models import User
from django.db import connection, transaction
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from ortet import work
from ortet.ledger import rules
from ortet.ledger.models import Balance, Derivation, Kind, Lot, Movement, Parcel, Place
from ortet.ledger.places import ON_HAND
from ortet.work import orders, packing

START = datetime(2027, 1, 1, tzinfo=UTC)


class Crash(Exception):
    """The lights went out."""


@contextmanager
def crash_at(statement: int):
    """Let so many statements through, then fail as a lost connection would."""
    left = [statement]

    def pull_the_plug(execute, sql, params, many, context):
        if left[0] <= 0:
            raise Crash
        left[0] -= 1
        return execute(sql, params, many, context)

    with connection.execute_wrapper(pull_the_plug):
        yield


class Season(RuleBasedStateMachine):
    """The book beside a plain dictionary of what should be where."""

    def __init__(self):
        super().__init__()
        self.whole = transaction.atomic()
        self.whole.__enter__()
        self.by = User.objects.create(username="hypothesis", is_superuser=True)
        self.clock = START
        self.held: dict[tuple[str, str], int] = {}  # (mark, place) to count
        self.variety: dict[str, str] = {}
        self.taken = 0
        self.lots = 0
        self.bags = 0
        self.batches = 0
        self.joined = 0  # pieces that are one with another since they were grafted

    def teardown(self):
        transaction.set_rollback(True)
        self.whole.__exit__(None, None, None)

    @initialize()
    def plants(self):
        for accession, variety, species in (("M1", "Dusk", "blackcurrant"), ("M2", "Lantern", "gooseberry")):
            work.add_mother(accession, variety, species)
        for kind, name in (("store", "North"), ("bench", "Bench"), ("bench", "Shelf"), ("ground", "Yard")):
            work.add_place(name, kind)
        first, last = START.date(), START.date() + timedelta(days=90)
        lines = [orders.Line(variety, 25, first, last) for variety in ("Dusk", "Lantern")]
        orders.order("Hedge", lines, by=self.by, at=START)

    def tick(self) -> datetime:
        self.clock += timedelta(hours=1)
        return self.clock

    def attempt(self, deed, crash: int | None) -> object | None:
        """Do a deed, or crash inside it; return what it returned, or None where it was refused or crashed."""
        try:
            with transaction.atomic():
                if crash is None:
                    return deed()
                with crash_at(crash):
                    return deed()
        except (work.Refused, Crash):
            return None

    crashes = st.one_of(st.none(), st.none(), st.integers(0, 25))

    @rule(accession=st.sampled_from(["M1", "M2"]), count=st.integers(-1, 60), crash=crashes)
    def take(self, accession, count, crash):
        mark = f"L{self.lots}"
        at = self.tick()
        if self.attempt(lambda: work.take(accession, count, mark=mark, by=self.by, at=at), crash):
            self.lots += 1
            self.taken += count
            self.held[mark, "Bench"] = count
            self.variety[mark] = {"M1": "Dusk", "M2": "Lantern"}[accession]

    def pick(self, data) -> tuple[str, str, int]:
        places = sorted(key for key, count in self.held.items() if count)
        if not places:
            return "L0", "Bench", 1
        mark, place = data.draw(st.sampled_from(places))
        return mark, place, data.draw(st.integers(0, self.held[mark, place] + 2))

    def shift(self, mark: str, here: str, there: str, count: int) -> None:
        self.held[mark, here] -= count
        self.held[mark, there] = self.held.get((mark, there), 0) + count

    @rule(data=st.data(), crash=crashes)
    def bag(self, data, crash):
        mark, here, count = self.pick(data)
        name = f"K{self.bags}"
        at = self.tick()
        if self.attempt(
            lambda: work.bag([(mark, count, here)], name=name, store="North", by=self.by, at=at), crash
        ):
            self.bags += 1
            self.shift(mark, here, name, count)

    @rule(data=st.data(), there=st.sampled_from(["Bench", "Shelf", "K0", "K1"]), crash=crashes)
    def move(self, data, there, crash):
        mark, here, count = self.pick(data)
        at = self.tick()
        if self.attempt(
            lambda: work.move(mark, count, from_place=here, to_place=there, by=self.by, at=at), crash
        ):
            self.shift(mark, here, there, count)

    @rule(data=st.data(), crash=crashes)
    def split(self, data, crash):
        mark, here, count = self.pick(data)
        child = f"L{self.lots}"
        at = self.tick()
        if self.attempt(
            lambda: work.split(mark, count, from_place=here, mark=child, by=self.by, at=at), crash
        ):
            self.lots += 1
            self.shift(mark, here, "became", count)
            self.held[child, here] = count
            self.variety[child] = self.variety[mark]

    @rule(data=st.data(), not_found=st.booleans(), crash=crashes)
    def give_up(self, data, not_found, crash):
        mark, here, count = self.pick(data)
        at = self.tick()
        deed = lambda: work.give_up(mark, count, from_place=here, not_found=not_found, by=self.by, at=at)  # noqa: E731
        if self.attempt(deed, crash):
            self.shift(mark, here, "gone", count)

    @rule(data=st.data(), crash=crashes)
    def strike(self, data, crash):
        mark, here, count = self.pick(data)
        name = f"S{self.batches}"
        at = self.tick()
        deed = lambda: work.strike(mark, count, from_place=here, name=name, bench="Shelf", by=self.by, at=at)  # noqa: E731
        if self.attempt(deed, crash):
            self.batches += 1
            self.shift(mark, here, name, count)

    @rule(data=st.data(), crash=crashes)
    def graft(self, data, crash):
        scion, scion_lies, count = self.pick(data)
        stock, stock_lies, _ = self.pick(data)
        name, child = f"S{self.batches}", f"L{self.lots}"
        at = self.tick()
        deed = lambda: work.graft(  # noqa: E731
            scion,
            stock,
            count,
            scion_from=scion_lies,
            stock_from=stock_lies,
            name=name,
            mark=child,
            bench="Shelf",
            by=self.by,
            at=at,
        )
        if self.attempt(deed, crash):
            self.batches += 1
            self.lots += 1
            self.joined += count
            self.shift(scion, scion_lies, "became", count)
            self.shift(stock, stock_lies, "became", count)
            self.held[child, name] = count
            self.variety[child] = self.variety[scion]

    @rule(data=st.data(), rooted=st.integers(0, 40), dead=st.integers(0, 3), crash=crashes)
    def count(self, data, rooted, dead, crash):
        mark, here, _ = self.pick(data)
        at = self.tick()
        deed = lambda: work.count(  # noqa: E731
            here, lot=mark, rooted=rooted, dead=dead, give_up_dead=True, by=self.by, at=at
        )
        if self.attempt(deed, crash):
            self.shift(mark, here, "gone", dead)

    @rule(data=st.data(), crash=crashes)
    def pot(self, data, crash):
        mark, here, count = self.pick(data)
        at = self.tick()
        if self.attempt(lambda: work.pot_on(here, count, to="Yard", by=self.by, at=at), crash):
            self.shift(mark, here, "Yard", count)

    @rule(data=st.data(), crash=crashes)
    def sell(self, data, crash):
        mark, here, count = self.pick(data)
        at = self.tick()
        deed = lambda: work.sell(mark, count, from_place=here, buyer="Hedge", by=self.by, at=at)  # noqa: E731
        if self.attempt(deed, crash):
            self.shift(mark, here, "gone", count)

    def loose(self) -> list[tuple[str, str]]:
        """Return the wood that may be packed."""
        closed = ("gone", "became", "parcel", "S")
        return sorted(key for key, count in self.held.items() if count and not key[1].startswith(closed))

    @precondition(lambda self: self.loose())
    @rule(data=st.data(), crash=st.one_of(st.none(), st.none(), st.none(), st.integers(0, 60)))
    def pack(self, data, crash):
        mark, here = data.draw(st.sampled_from(self.loose()))
        count = data.draw(st.integers(1, 9))
        line = "1/2" if self.variety.get(mark) == "Lantern" else "1/1"
        at = self.tick()
        deed = lambda: packing.pack(line, mark, count, lot=mark, from_place=here, by=self.by, at=at)  # noqa: E731
        if moved := self.attempt(deed, crash):
            self.shift(mark, here, moved.to_place.name, count)

    @precondition(lambda self: any(count and key[1].startswith("parcel") for key, count in self.held.items()))
    @rule(crash=st.one_of(st.none(), st.none(), st.integers(0, 60)))
    def send(self, crash):
        at = self.tick()
        for number in list(Parcel.objects.filter(sending=None).values_list("number", flat=True)):
            if self.attempt(lambda number=number: packing.send(number, by=self.by, at=at), crash):
                for mark, place in [key for key in self.held if key[1] == f"parcel {number}"]:
                    self.shift(mark, place, "gone", self.held[mark, place])

    @rule(data=st.data(), crash=crashes)
    def correct(self, data, crash):
        last = Movement.objects.count()
        if not last:
            return
        movement = Movement.objects.select_related("lot", "from_place", "to_place").get(
            number=data.draw(st.integers(1, last))
        )
        at = self.tick()
        if self.attempt(lambda: work.correct(movement.number, note="mistaken", by=self.by, at=at), crash):
            name = {Kind.GIVEN_UP: "gone", Kind.LOST: "gone", Kind.SOLD: "gone"}
            here = name.get(movement.to_place.kind, movement.to_place.name)
            self.held[movement.lot.mark, here] -= movement.count
            if movement.from_place.kind == Kind.MOTHER:
                self.taken -= movement.count
            else:
                key = movement.lot.mark, movement.from_place.name
                self.held[key] = self.held.get(key, 0) + movement.count

    @invariant()
    def the_book_is_as_it_should_be(self):
        there = {
            (row.lot.mark, row.place.name): row.count
            for row in Balance.objects.filter(count__gt=0, place__kind__in=ON_HAND).select_related(
                "lot", "place"
            )
        }
        ends = ("gone", "became")
        assert there == {key: count for key, count in self.held.items() if count and key[1] not in ends}
        gone = sum(count for (_, place), count in self.held.items() if place == "gone")
        assert self.taken == sum(there.values()) + gone + self.joined
        assert not Balance.objects.filter(count__lt=0, is_source=False).exists()
        assert {lot.mark: lot.variety.name for lot in Lot.objects.select_related("variety")} == self.variety
        assert Place.objects.filter(kind=Kind.BAG).count() == self.bags
        assert Place.objects.filter(kind=Kind.BATCH).count() == self.batches
        grafted = Derivation.objects.filter(part="stock").count()  # of these there are two
        assert Derivation.objects.count() - grafted == sum(
            lot.mother is not None and lot.made_at != lot.taken_at for lot in Lot.objects.all()
        )

    def check_all(self):
        assert rules.check() == []


@pytest.mark.django_db
def test_no_sequence_of_deeds_and_crashes_loses_or_invents_a_cutting():
    class Checked(Season):
        def teardown(self):
            self.check_all()
            super().teardown()

    run_state_machine_as_test(
        Checked,
        settings=settings(
            max_examples=25,
            stateful_step_count=25,
            deadline=None,
            derandomize=True,
            suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
        ),
    )
