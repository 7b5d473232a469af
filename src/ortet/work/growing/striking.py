"""Striking: cuttings of a lot become a batch on a bench."""

from datetime import datetime
from uuid import UUID

from django.contrib.auth.models import User
from django.db.models import OuterRef, Subquery, Sum

from ortet.ledger.booking import Move, Refused, book, booked_before, count_in, created, new_code, turn
from ortet.ledger.models import Balance, Batch, BenchSetup, Craft, Kind, Lot, Place, Standing, Trial, Why
from ortet.ledger.places import WOOD
from ortet.wood.speech import say
from ortet.work import find
from ortet.work.benches import COLDEST_C, WARMEST_C
from ortet.work.plants import free_name

from .plots import laid_plot

__all__ = ["crowding", "make_batch", "next_batch_name", "on_bench", "room_on", "strike"]

LETTER = {Craft.STRIKE: "S", Craft.GRAFT: "G"}


def next_batch_name(craft: Craft = Craft.STRIKE) -> str:
    """Return a short name that no batch bears: S1, S2, … for what is struck, G1, G2, … for what is grafted."""
    letter = LETTER[craft]
    taken = set(Place.objects.filter(name_key__startswith=letter.lower()).values_list("name_key", flat=True))
    number = Batch.objects.filter(craft=craft, trial=None).count() + 1  # a trial's go by its plots
    while f"{letter}{number}".lower() in taken:
        number += 1
    return f"{letter}{number}"


def make_batch(
    lot: Lot,
    craft: Craft,
    *,
    bench: str,
    by: User,
    at: datetime,
    name: str = "",
    tray: str = "",
    medium: str = "",
    treatment: str = "",
    wounded: bool = False,
    base_c: float | None = None,
    plot: tuple[Trial, int] | None = None,
    note: str = "",
) -> Batch:
    """Make a batch, empty yet, and stand it on a bench; only within a turn.

    Raises
    ------
    Refused
        If its name is taken, or its base would be colder or warmer than cuttings bear.
    """
    where = find.place(bench, Kind.BENCH)
    if base_c is not None and not COLDEST_C <= base_c <= WARMEST_C:
        raise Refused(
            say(
                "A base of {base_c:g} °C: give degrees Celsius from {coldest_c:g} to {warmest_c:g}. Nothing was booked.",
                base_c=base_c,
                coldest_c=COLDEST_C,
                warmest_c=WARMEST_C,
            )
        )
    name = free_name(name.strip() or next_batch_name(craft))
    place = created(Place, kind=Kind.BATCH, name=name, note=note, code=new_code(Place))
    batch = created(
        Batch,
        place=place,
        lot=lot,
        craft=craft,
        tray=tray.strip(),
        medium=medium.strip(),
        treatment=treatment.strip(),
        is_wounded=wounded,
        base_c=base_c,
        struck_at=at,
        trial=plot[0] if plot else None,
        plot=plot[1] if plot else None,
    )
    Standing.objects.create(bag=place, store=where, since=at, by=by)
    return batch


def strike(
    lot: str,
    count: int | None,
    *,
    bench: str,
    by: User,
    at: datetime,
    from_place: str | None = None,
    name: str = "",
    tray: str = "",
    medium: str = "",
    treatment: str = "",
    wounded: bool = False,
    base_c: float | None = None,
    trial: int | None = None,
    plot: int | None = None,
    note: str = "",
    id: UUID | None = None,
) -> Batch:
    """Strike cuttings of a lot (None: all that lie there) as a batch on a bench; return the batch.

    Parameters
    ----------
    name
        What the batch is called; the next free S number if empty.
    tray
        What is written on its tray; several batches may share one.
    treatment
        Of the base, in the grower's words.
    base_c
        What the mat is set to; None: not noted. [°C]
    trial, plot
        The plot of a trial that this batch is; its treatment and tray are then the plot's.

    Raises
    ------
    Refused
        If too few lie there, the name is taken, no cutting bears that base, or it is not what the trial has in that plot.
    """
    with turn():
        if before := booked_before(id, Why.STRUCK, count):
            return before.to_place.batch
        what = find.lot(lot)
        here = find.where_lot_is(what, from_place, rather=Kind.BENCH, among=WOOD)
        laid = None if trial is None and plot is None else laid_plot(trial, plot, what, count, treatment)
        if laid:
            count, name, tray, treatment = laid.count, name or laid.name, tray or laid.tray, laid.treatment
        count = count_in(what, here) if count is None else count
        batch = make_batch(
            what,
            Craft.STRIKE,
            bench=bench,
            by=by,
            at=at,
            name=name,
            tray=tray,
            medium=medium,
            treatment=treatment,
            wounded=wounded,
            base_c=base_c,
            plot=(laid.trial, laid.number) if laid else None,
            note=note,
        )
        book([Move(what, here, batch.place, count, Why.STRUCK, note, id)], by=by, at=at)
        return batch


def on_bench(bench: Place) -> int:
    """Return how many cuttings are on a bench now, those of its batches included."""
    last = Standing.objects.filter(bag=OuterRef("pk")).order_by("-since").values("store")[:1]
    batches = Place.objects.filter(kind=Kind.BATCH, standings__store=bench)
    standing = batches.annotate(last=Subquery(last)).filter(last=bench.pk).values("pk")
    there = Balance.objects.filter(place__in=[*standing.values_list("pk", flat=True), bench.pk], count__gt=0)
    return there.aggregate(sum=Sum("count"))["sum"] or 0


def _full(bench: Place) -> tuple[int, int] | None:
    """Return how many are on a bench and how many fit; None where nobody said what fits."""
    setup = BenchSetup.objects.filter(place=bench).order_by("-at", "-id").first()
    return (on_bench(bench), setup.cells) if setup else None


def room_on(bench: Place) -> str:
    """Return how much of a bench is taken, in words; nothing where nobody said what fits."""
    full = _full(bench)
    if full is None:
        return ""
    return say("{bench}: {taken:,} of {cells:,} cells are taken.", bench=bench, taken=full[0], cells=full[1])


def crowding(bench: Place) -> str:
    """Return a sentence if more is on a bench than fits, else nothing."""
    full = _full(bench)
    if full is None or full[0] <= full[1]:
        return ""
    return say(
        "{bench} is fuller than full: {cuttings:,} cuttings where {cells:,} fit. Stand some on another bench.",
        bench=bench,
        cuttings=full[0],
        cells=full[1],
    )
