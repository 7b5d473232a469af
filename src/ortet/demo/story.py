"""What happened in the demo season besides taking and bagging: treatments, splits, moves, mistakes and corrections."""

from datetime import datetime, timedelta
from uuid import UUID, uuid5

from django.contrib.auth.models import User

from ortet import work
from ortet.work.taking import BENCH

from .climate import BARN, local
from .readings import GONE, MOVED, WIPED
from .wood import LOTS, LotTaken

__all__ = ["before_bagging", "since_bagging"]

DEEDS = UUID("0f4f1c0e-6a57-4f0e-8f0b-5a3d8d3c7e21")  # the ids of these deeds are made from their names
LEFT = {(bag, lot): (local(when), count) for bag, when, lot, count in GONE}
SUSPECT = ("R-03", "C-03")  # mother plants with something in their health record
WASHED = ("C-07",)


def _id(name: str) -> UUID:
    return uuid5(DEEDS, name)


def before_bagging(by: User) -> None:
    """Clean and wax wood while it lies on the bench."""
    for lot in LOTS:
        if lot.accession in SUSPECT:
            _treat(lot, "disinfect", "sodium hypochlorite", 60, by, strength="0.5 %", minutes=8)
        elif lot.use == "grafting":
            _treat(lot, "wax", "grafting wax, ends only", 90, by)
        elif lot.accession in WASHED:
            _treat(lot, "wash", "tap water", 40, by, minutes=5)


def _treat(
    lot: LotTaken,
    kind: str,
    agent: str,
    after: int,
    by: User,
    strength: str = "",
    minutes: float | None = None,
) -> None:
    at, id = lot.taken + timedelta(minutes=after), _id(f"{kind} {lot.mark}")
    work.treat(
        BENCH, kind, lot=lot.mark, agent=agent, strength=strength, minutes=minutes, by=by, at=at, id=id
    )


def since_bagging(by: User) -> None:
    """Book what was done to the bags, in order of time."""
    _give_up("A1", "26-001", "grey mould at the tips", by)
    _twelfth_night(by)
    _mistyped_weight(by)
    _second_look(by)
    _counted_again(by)


def _give_up(bag: str, lot: str, note: str, by: User, *, not_found: bool = False, later: int = 0) -> None:
    at, count = LEFT[bag, lot]
    at += timedelta(minutes=later)
    work.give_up(
        lot,
        count,
        at=at,
        from_place=bag,
        note=note,
        not_found=not_found,
        by=by,
        id=_id(f"give up {lot} {bag}"),
    )


def _twelfth_night(by: User) -> None:
    """The thermostat is found wrong: two bags go to the other fridge, the tight one is aired."""
    for bag, when, store in MOVED:
        work.stand(bag, store, by=by, at=local(when))
    note = "smelled sour; seam sealed again"
    work.treat("A6", "air", minutes=10, by=by, at=local("2027-01-03 17:40"), note=note, id=_id("air A6"))


def _mistyped_weight(by: User) -> None:
    """A weight is typed wrong, and withdrawn as soon as it is seen."""
    at = local("2027-01-09 09:05")
    wrong = work.weigh("C4", 241.1, by=by, at=at, id=_id("mistyped C4"))
    work.withdraw(wrong.pk, by=by, at=at + timedelta(minutes=3), note="421.1, two figures swapped")


def _second_look(by: User) -> None:
    """23 January, a long Saturday: bags are sorted out, one wrong lot is named and put right, scions are set apart."""
    _give_up("A2", "26-003", "shrivelled", by)
    at, count = LEFT["B5", "26-013"]
    note = "snapped in the bundle"
    wrong = work.give_up("26-012", count, by=by, at=at, from_place="B5", note=note, id=_id("wrong lot B5"))
    _correct(wrong.number, "it was lot 26-013 beside it", at, by)
    _give_up("B5", "26-013", note, by, later=7)
    _give_up("C3", "26-017", "mouldy base", by)
    for bag, when in WIPED:
        note = "washed wood went in wet"
        work.treat(bag, "wipe", minutes=15, by=by, at=local(when), note=note, id=_id(f"wipe {bag}"))
    at, count = LEFT["D1", "26-027"]
    _split("26-027", count, "D1", "26-027G", "kept for grafting", at, by)
    work.bag(
        [("26-027G", count, "D1")],
        store=BARN,
        by=by,
        at=at + timedelta(minutes=10),
        name="D9",
        thickness_um=60,
        width_mm=250,
        height_mm=450,
        closure="zip",
        tare_g=12.5,
        id=_id("bag D9"),
    )
    _split("27-001", 10, "B8", "27-001G", "straightest, for grafting", at + timedelta(minutes=30), by)


def _split(lot: str, count: int, bag: str, mark: str, note: str, at: datetime, by: User) -> None:
    work.split(
        lot, count, from_place=bag, mark=mark, use="grafting", note=note, at=at, by=by, id=_id(f"split {lot}")
    )


def _correct(number: int, note: str, at: datetime, by: User) -> None:
    at += timedelta(minutes=6)
    work.correct(number, by=by, at=at, note=note, id=_id(f"correct {note}"))


def _counted_again(by: User) -> None:
    """6 February, when all was counted: one cutting is missing, one lot is graded, one move is taken back."""
    _give_up("A5", "26-022", "17 there, 18 in the book", by, not_found=True)
    _give_up("B3", "26-010", "grey mould at the base", by)
    work.split(
        "26-010",
        12,
        by=by,
        at=local("2027-02-06 11:30"),
        grade="thick",
        mark="26-010T",
        base_mm=9.5,
        tip_mm=8,
        length_mm=220,
        nodes=6,
        note="graded by the base",
        id=_id("split 26-010"),
    )
    at = local("2027-02-06 11:45")
    moved = work.move(
        "27-014", 6, to_place="C8", by=by, at=at, note="to even out the bags", id=_id("moved C9")
    )
    _correct(moved.number, "C8 was full: left in C9", at, by)
