"""Parcels that were packed here: the list, and one of them whole."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import F, Min, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from ortet.ledger.booking import Refused
from ortet.ledger.models import Movement, OrderLine, Packing, Parcel
from ortet.ledger.packed import Packed, contents, packed, sold
from ortet.science.species import species
from ortet.wood.speech import say

from .after import Aftermath, aftermath
from .reporting import Sold, link_made, sold_in
from .send import find_parcel

__all__ = ["Missing", "ParcelView", "parcels", "view"]

SORTS = {
    "number": "number",
    "order": "order__number",
    "buyer": "order__buyer__name",
    "count": "count",
    "sent": "sending__at",
}


@dataclass(frozen=True, slots=True)
class Missing:
    """A line of the order, and how far it is filled."""

    line: OrderLine
    here: int  # in this parcel
    elsewhere: int  # in other parcels, or sold
    left: int  # neither packed nor sold


@dataclass(frozen=True, slots=True)
class ParcelView:
    """A parcel and all that is known of it."""

    parcel: Parcel
    contents: Sequence[Packed]
    lines: Sequence[Missing]
    wood_g: float | None  # what its cuttings weighed when they were cut, reckoned from their size [g]
    sold: Sequence[Sold]
    after: Aftermath
    has_link: bool

    @property
    def count(self) -> int:
        """Cuttings in it, or that went with it."""
        return sum(one.count for one in self.contents)

    @property
    def is_sent(self) -> bool:
        """Whether it was given to the carrier."""
        return hasattr(self.parcel, "sending")

    @property
    def left(self) -> int:
        """Cuttings of the order that are still to be picked."""
        return sum(one.left for one in self.lines)


def parcels(search: str = "", *, sort: str = "-number", still: bool = False) -> QuerySet[Parcel]:
    """Return parcels with what was packed in them, found by number, order, buyer, variety, carrier or tracking number.

    With `still` only those that were not sent yet and hold something.

    Raises
    ------
    Refused
        If there is no such order of the list.
    """
    word = sort.removeprefix("-")
    if word not in SORTS:
        raise Refused(
            say("Parcels are not sorted by {word!r}: say {known}.", word=word, known=", ".join(SORTS))
        )
    inside = Packing.objects.filter(movement__to_place=OuterRef("pk"), movement__reversed_by=None).order_by()
    rows = Parcel.objects.select_related("order__buyer", "sending", "place").annotate(
        count=Coalesce(
            Subquery(inside.values("movement__to_place").annotate(sum=Sum("movement__count")).values("sum")),
            0,
        ),
        since=Subquery(
            inside.values("movement__to_place").annotate(first=Min("movement__at")).values("first")
        ),
    )
    for one in search.split():
        of = Movement.objects.filter(
            lot__variety__name__icontains=one, packing__isnull=False, reversed_by=None
        )
        rows = rows.filter(
            Q(number__iexact=one)
            | Q(order__number__iexact=one)
            | Q(order__buyer__name__icontains=one)
            | Q(sending__carrier__icontains=one)
            | Q(sending__tracking__icontains=one)
            | Q(pk__in=of.values("to_place"))
        )
    if still:
        rows = rows.filter(sending=None, count__gt=0)
    field = F(SORTS[word])
    turned = field.desc(nulls_first=True) if sort.startswith("-") else field.asc(nulls_last=True)
    return rows.order_by(turned, "number")


def view(number: int) -> ParcelView:
    """Return a parcel whole, by its number.

    Raises
    ------
    Unknown
        If there is none.
    """
    parcel = find_parcel(number)
    inside = contents(parcel)
    return ParcelView(
        parcel=parcel,
        contents=inside,
        lines=_lines(parcel, inside),
        wood_g=_grams(inside),
        sold=sold_in(parcel),
        after=aftermath(parcel.order),
        has_link=link_made(parcel),
    )


def _lines(parcel: Parcel, inside: Sequence[Packed]) -> list[Missing]:
    lines = list(parcel.order.lines.select_related("order", "variety").order_by("position"))
    keys = [line.pk for line in lines]
    held, gone = packed(keys), sold(keys)
    rows = []
    for line in lines:
        here = sum(one.count for one in inside if one.line == line)
        whole = held[line.pk] + gone[line.pk]
        left = 0 if line.ended_at else max(0, line.count - whole)
        rows.append(Missing(line, here, max(0, whole - here), left))
    return rows


def _grams(inside: Sequence[Packed]) -> float | None:
    if not inside:
        return None
    return sum(
        one.count * one.lot.cutting.mass_g(species(one.lot.variety.species).value("density"))
        for one in inside
    )
