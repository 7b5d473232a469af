"""What a phone must know where there is no signal: codes, names, places, counts. Plain values, short as they travel."""

from typing import Any

from ortet.ledger import stock
from ortet.ledger.models import Bag, Kind, Place, Standing, Weighing
from ortet.ledger.places import GROWING
from ortet.ledger.readings import readings_that_count
from ortet.ledger.slices import in_slices
from ortet.science.species import species
from ortet.wood.speech import say

__all__ = ["snapshot"]

ALWAYS = (Kind.STORE, Kind.BENCH, Kind.GROUND)  # where something may be moved, empty or not


def snapshot() -> dict[str, list[list[Any]]]:
    """Return what is on hand, and where something can be moved.

    Returns
    -------
    dict
        `lots`: code, mark, variety, species, grade. `places`: code, kind, name, number of the place it stands in or on, last
        weight and empty weight of a bag [g], trial and plot of a batch. `holds`: number of the lot, number of the place, count.
    """
    rows = list(stock.balances())
    lots = {row.lot_id: row.lot for row in rows}
    places = {place.pk: place for place in Place.objects.filter(kind__in=ALWAYS).order_by("name")}
    places |= {row.place_id: row.place for row in rows}
    lot_number = {pk: number for number, pk in enumerate(lots)}
    place_number = {pk: number for number, pk in enumerate(places)}
    stands, weights, plots = _stands(places), _weights(places), _plots(places)
    return {
        "lots": [
            [lot.code, lot.mark or "", str(lot.variety), say(species(lot.variety.species).name), lot.grade]
            for lot in lots.values()
        ],
        "places": [
            [
                place.code,
                place.kind,
                place.name,
                place_number.get(stands.get(pk, 0)),
                *weights.get(pk, (None, None)),
                plots.get(pk, ""),
            ]
            for pk, place in places.items()
        ],
        "holds": [[lot_number[row.lot_id], place_number[row.place_id], row.count] for row in rows],
    }


def _stands(places: dict[int, Place]) -> dict[int, int]:
    """Return where each bag or batch stands now."""
    moving = [pk for pk, place in places.items() if place.kind in (Kind.BAG, Kind.BATCH)]
    rows = Standing.objects.order_by("since").values_list("bag_id", "store_id")
    return dict(in_slices(rows, "bag", moving))


def _weights(places: dict[int, Place]) -> dict[int, tuple[float | None, float | None]]:
    """Return what each bag weighed last, and empty. [g]"""
    bags = [pk for pk, place in places.items() if place.kind == Kind.BAG]
    weighed = readings_that_count(Weighing).order_by("at", "id").values_list("place_id", "gross_g")
    last = dict(in_slices(weighed, "place", bags))
    empty = in_slices(Bag.objects.values_list("place_id", "tare_g"), "place", bags)
    return {pk: (last.get(pk), tare) for pk, tare in empty}


def _plots(places: dict[int, Place]) -> dict[int, str]:
    """Return the plot that each batch of a trial is, as its label says it."""
    from ortet.ledger.models import Batch

    batches = [pk for pk, place in places.items() if place.kind in GROWING]
    rows = Batch.objects.filter(trial__isnull=False).values_list("place_id", "trial__number", "plot")
    return {pk: f"{trial}/{plot}" for pk, trial, plot in in_slices(rows, "place", batches)}
