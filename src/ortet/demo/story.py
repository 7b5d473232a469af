"""What happened in the demo season besides taking and bagging: treatments, splits, moves, mistakes and their corrections."""

from datetime import datetime, timedelta
from functools import partial
from uuid import UUID, uuid5

from django.contrib.auth.models import User

from ortet import work
from ortet.work.taking import BENCH

from .climate import local
from .readings import GONE, MOVED, WIPED
from .wood import LOTS

__all__ = ["before_bagging", "since_bagging"]

DEEDS = UUID("0f4f1c0e-6a57-4f0e-8f0b-5a3d8d3c7e21")  # the ids of this tale's deeds are made from their names


def _id(name: str) -> UUID:
    return uuid5(DEEDS, name)


def before_bagging(by: User) -> None:
    """Clean and wax wood while it lies on the bench."""
    for lot in LOTS:
        if lot.accession in ("R-03", "C-03"):  # plants with something in their record
            _on_bench(by, lot.mark, lot.taken + timedelta(hours=1), "disinfect", "bleach, 0.5 % sodium hypochlorite", 8)
        elif lot.use == "grafting":
            _on_bench(by, lot.mark, lot.taken + timedelta(hours=1, minutes=30), "wax", "grafting wax, cut ends", None)
        elif lot.accession == "C-07":
            _on_bench(by, lot.mark, lot.taken + timedelta(minutes=40), "wash", "tap water", 5)


def _on_bench(by: User, lot: str, at: datetime, kind: str, agent: str, minutes: float | None) -> None:
    strength = agent.partition(", ")[2] if kind == "disinfect" else ""
    work.treat(
        BENCH, kind, lot=lot, agent=agent.partition(", ")[0], strength=strength, minutes=minutes, by=by, at=at, id=_id(f"{kind} {lot}")
    )  # fmt: skip


def since_bagging(by: User) -> None:
    """Book what was done to the bags, in order of time."""
    give_up = partial(work.give_up, by=by)
    gone = {(bag, lot): (local(when), count) for bag, when, lot, count in GONE}

    at, count = gone["A1", "26-001"]
    give_up("26-001", count, at=at, from_place="A1", note="grey mould at the tips", id=_id("mould A1"))

    for bag, when, store in MOVED:
        work.stand(bag, store, by=by, at=local(when))
    work.treat("A6", "air", minutes=10, by=by, at=local("2027-01-03 17:40"), note="smelled sour; seam sealed again", id=_id("air A6"))

    _mistyped_weight(by)
    _second_look(by, give_up, gone)
    _counted_again(by, give_up, gone)


def _mistyped_weight(by: User) -> None:
    at = local("2027-01-09 09:05")
    wrong = work.weigh("C4", 4211, by=by, at=at, id=_id("mistyped C4"))
    work.withdraw(wrong.pk, by=by, at=at + timedelta(minutes=3), note="typed without the decimal point")


def _second_look(by: User, give_up: "partial[object]", gone: dict[tuple[str, str], tuple[datetime, int]]) -> None:
    """Tell of 23 January, a long Saturday in the barn."""
    at, count = gone["A2", "26-003"]
    give_up("26-003", count, at=at, from_place="A2", note="shrivelled", id=_id("dry A2"))

    at, count = gone["B5", "26-013"]
    wrong = work.give_up("26-012", count, by=by, at=at, from_place="B5", note="snapped in the bundle", id=_id("wrong lot B5"))
    work.correct(wrong.number, by=by, at=at + timedelta(minutes=6), note="it was lot 26-013 beside it", id=_id("corrected B5"))
    give_up("26-013", count, at=at + timedelta(minutes=7), from_place="B5", note="snapped in the bundle", id=_id("right lot B5"))

    at, count = gone["C3", "26-017"]
    give_up("26-017", count, at=at, from_place="C3", note="mouldy base", id=_id("mould C3"))

    for bag, when in WIPED:
        work.treat(bag, "wipe", minutes=15, by=by, at=local(when), note="washed wood went in wet", id=_id(f"wipe {bag}"))

    at, count = gone["D1", "26-027"]
    split = partial(work.split, by=by, use="grafting")
    split("26-027", count, at=at, from_place="D1", mark="26-027G", grade="thick", note="kept for grafting", id=_id("split 26-027"))
    work.bag(
        [("26-027G", count, "D1")], store="Barn fridge", by=by, at=at + timedelta(minutes=10), name="D9", thickness_um=60, width_mm=250,
        height_mm=450, closure="zip", tare_g=12.5, id=_id("bag D9"),
    )  # fmt: skip
    split("27-001", 10, at=local("2027-01-23 12:40"), mark="27-001G", note="straightest, for grafting", id=_id("split 27-001"))


def _counted_again(by: User, give_up: "partial[object]", gone: dict[tuple[str, str], tuple[datetime, int]]) -> None:
    """Tell of 6 February, when all was counted."""
    at, count = gone["A5", "26-022"]
    give_up("26-022", count, at=at, from_place="A5", not_found=True, note="17 counted twice", id=_id("not found A5"))

    work.split(
        "26-010", 12, by=by, at=local("2027-02-06 11:30"), grade="thick", mark="26-010T", base_mm=9.5, tip_mm=8, length_mm=220, nodes=6,
        note="graded by the base", id=_id("split 26-010"),
    )  # fmt: skip
    at = local("2027-02-06 11:45")
    wrong = work.move("27-014", 6, to_place="C8", by=by, at=at, note="to even out the bags", id=_id("moved C9"))
    work.correct(wrong.number, by=by, at=at + timedelta(minutes=5), note="C8 was full; left in C9", id=_id("moved back C9"))


