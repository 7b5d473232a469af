"""Lists that a grower looks things up in: lots, places, mother plants, movements, and what is wanted."""

from collections.abc import Iterator
from typing import Any, Generic, TypeAlias, TypeVar

from django.db.models import Count, F, Model, OuterRef, Q, QuerySet, Subquery, Sum, Value
from django.db.models.expressions import Combinable
from django.db.models.functions import Coalesce

from ortet.ledger.booking import Refused
from ortet.ledger.models import (
    Balance,
    Batch,
    Buyer,
    Kind,
    Lot,
    MotherPlant,
    Movement,
    Order,
    OrderLine,
    Place,
    Standing,
    Target,
    Variety,
    Why,
)
from ortet.ledger.places import ON_HAND
from ortet.ledger.slices import in_slices
from ortet.wood import code as codes
from ortet.wood.naming import by_number
from ortet.wood.speech import say

__all__ = [
    "SORTS", "Found", "batches", "buyers", "lines_of", "lots", "mothers", "movements", "orders", "places", "targets", "varieties",
]  # fmt: skip

Row = TypeVar("Row", bound=Model)

OF_A_CODE = 4  # letters of a lot code that are enough to look it up by: what is printed before its hyphen

ON_HAND_SUM = Sum("balances__count", filter=Q(balances__place__kind__in=ON_HAND), default=0)

# For each list the words it may be sorted by; '-' before one turns it round.
SORTS = {
    "lots": {"day": "made_at", "variety": "variety__name", "count": "on_hand", "lot": "code"},
    "places": {"name": "name", "kind": "kind", "count": "on_hand"},
    "batches": {
        "day": "struck_at",
        "name": "place__name",
        "variety": "lot__variety__name",
        "bench": "bench",
        "struck": "struck",
        "here": "here",
    },
    "mothers": {"accession": "accession", "variety": "variety__name", "taken": "taken"},
    "orders": {
        "number": "order__number",
        "buyer": "order__buyer__name",
        "variety": "variety__name",
        "count": "count",
        "window": "first_day",
        "price": "price",
        "priority": "priority",
    },
    "varieties": {"name": "name", "species": "species"},
    "buyers": {"name": "name", "country": "country"},
    "targets": {
        "variety": "variety__name",
        "number": "number",
        "purpose": "purpose",
        "count": "count",
        "day": "wanted_by",
        "worth": "worth",
        "priority": "priority",
    },
}


def _of_own(rows: "QuerySet[Any]", sum_up: Combinable) -> Coalesce:
    """Return an aggregate over rows of their own, so that two of them do not multiply each other."""
    return Coalesce(Subquery(rows.order_by().values_list(Value(1)).annotate(sum=sum_up).values("sum")), 0)


class Numbered(Generic[Row]):
    """Rows by the numbers in their names, A2 before A10, which databases do not do; each is read once it is looked at."""

    def __init__(self, rows: "QuerySet[Row]", field: str, turned: bool) -> None:
        self._rows = rows.order_by()
        named = sorted(
            self._rows.values_list("pk", field), key=lambda one: (by_number(one[1]), one[0]), reverse=turned
        )
        self._keys = [key for key, _ in named]

    def __len__(self) -> int:
        return len(self._keys)

    def count(self) -> int:
        """Return how many there are."""
        return len(self)

    def __getitem__(self, some: slice) -> list[Row]:
        keys = self._keys[some]
        found = {row.pk: row for row in in_slices(self._rows, "pk", keys)}
        return [found[key] for key in keys if key in found]  # another may have left the list meanwhile

    def __iter__(self) -> Iterator[Row]:
        return iter(self[:])


Found: TypeAlias = QuerySet[Row] | Numbered[Row]


def _sorted(rows: QuerySet[Row], what: str, sort: str) -> QuerySet[Row]:
    word = sort.removeprefix("-")
    if word not in SORTS[what]:
        raise Refused(
            say(
                "{what} are not sorted by {word!r}: say {words}.",
                what=what,
                word=word,
                words=", ".join(SORTS[what]),
            )
        )
    field = F(SORTS[what][word])
    turned = field.desc(nulls_last=True) if sort.startswith("-") else field.asc(nulls_last=True)
    return rows.order_by(turned, "pk")


def _numbered(rows: QuerySet[Row], what: str, sort: str, word: str) -> Found[Row]:
    """Return rows sorted as asked; by their numbers where that is the word for their names."""
    if sort.removeprefix("-") == word:
        return Numbered(rows, SORTS[what][word], sort.startswith("-"))
    return _sorted(rows, what, sort)


def _word(search: str, *fields: str) -> Q:
    """Return the condition that each word of a search is found in one of the fields.

    Codes are drawn at random, so that a short word such as M4 stands in one of them by chance: it is not sought there.
    """
    condition = Q()
    for word in search.replace("\0", " ").split():  # PostgreSQL takes no NUL, and no text holds one
        either = Q()
        for field in fields:
            if field.endswith("code") and len(word) < OF_A_CODE:
                continue
            either |= Q(**{f"{field}__icontains": word})
        condition &= either
    return condition


def lots(search: str = "", *, sort: str = "-day", on_hand: bool = False) -> QuerySet[Lot]:
    """Return lots with what is on hand, found by code, mark, variety, species, accession, grade or place."""
    rows = Lot.objects.select_related("variety", "mother").annotate(on_hand=ON_HAND_SUM)
    search = search.replace("\0", " ")
    if search.strip():
        words = _word(
            search, "code", "mark", "variety__name", "variety__species", "mother__accession", "grade"
        )
        lying_in = Balance.objects.filter(_word(search, "place__name"), count__gt=0, place__kind__in=ON_HAND)
        words |= Q(pk__in=lying_in.values("lot"))
        compact = search.replace("-", "").replace(" ", "")
        if codes.is_code(compact):
            words |= Q(code=codes.read(compact))
        elif len(compact) >= OF_A_CODE:
            words |= Q(code__istartswith=compact)
        rows = rows.filter(words)
    if on_hand:
        rows = rows.filter(on_hand__gt=0)
    return _sorted(rows, "lots", sort)


def places(search: str = "", *, sort: str = "name", kind: str = "", here: bool = False) -> Found[Place]:
    """Return benches, cold places, bags, batches and standing grounds with what is in them.

    With `here` no bag, batch or parcel that was emptied.
    """
    kinds = [kind] if kind else [*ON_HAND, Kind.SITE]
    rows = Place.objects.filter(kind__in=kinds).annotate(
        on_hand=Sum("balances__count", filter=Q(balances__count__gt=0), default=0),
        lots=Count("balances", filter=Q(balances__count__gt=0)),
    )
    if search.strip():
        # Found apart from the sums: a second join over the balances would count each of them once more.
        found = Place.objects.filter(_word(search, "name", "code", "note", "balances__lot__variety__name"))
        rows = rows.filter(pk__in=found.values("pk"))
    if here:
        rows = rows.filter(Q(on_hand__gt=0) | ~Q(kind__in=(Kind.BAG, Kind.BATCH, Kind.PARCEL)))
    return _numbered(rows, "places", sort, "name")


def batches(search: str = "", *, sort: str = "-day", here: bool = True) -> Found[Batch]:
    """Return batches, found by name, code, tray, lot, variety, species, mother plant, bench, medium or treatment.

    With `here` only those in which something stands yet. A batch whose strike was taken back is none.
    """
    made = Movement.objects.filter(
        to_place=OuterRef("pk"), why__in=(Why.STRUCK, Why.GRAFTED), reversed_by=None
    )
    last = Standing.objects.filter(bag=OuterRef("pk")).order_by("-since")
    rows = Batch.objects.select_related("place", "lot__variety", "lot__mother").annotate(
        struck=_of_own(made, Sum("count")),
        here=_of_own(Balance.objects.filter(place=OuterRef("pk")), Sum("count")),
        bench=Subquery(last.values("store__name")[:1]),
        bench_code=Subquery(last.values("store__code")[:1]),
    )
    rows = rows.filter(here__gt=0) if here else rows.filter(struck__gt=0)
    if search.strip():
        fields = ("place__name", "place__code", "tray", "medium", "treatment", "bench", "lot__code", "lot__mark",
                  "lot__variety__name", "lot__variety__species", "lot__mother__accession")  # fmt: skip
        rows = rows.filter(_word(search, *fields))
    return _numbered(rows, "batches", sort, "name")


def mothers(search: str = "", *, sort: str = "accession") -> Found[MotherPlant]:
    """Return mother plants with how many cuttings were taken from each."""
    rows = MotherPlant.objects.select_related("variety", "site").annotate(
        taken=_of_own(Balance.objects.filter(place=OuterRef("place")), -Sum("count")),
        lot_count=_of_own(Lot.objects.filter(mother=OuterRef("pk")), Count("pk")),
    )
    if search.strip():
        rows = rows.filter(
            _word(search, "accession", "variety__name", "variety__species", "source", "site__name")
        )
    return _numbered(rows, "mothers", sort, "accession")


def varieties(search: str = "", *, sort: str = "name") -> QuerySet[Variety]:
    """Return varieties, found by name, selling name, Group or species."""
    rows = Variety.objects.all()
    if search.strip():
        rows = rows.filter(_word(search, "name", "selling_name", "group", "species", "as_received"))
    return _sorted(rows, "varieties", sort)


def buyers(search: str = "", *, sort: str = "name") -> QuerySet[Buyer]:
    """Return buyers whose names were not erased, found by name, address, email or country."""
    rows = Buyer.objects.filter(erased_at=None)
    if search.strip():
        rows = rows.filter(_word(search, "name", "address", "email", "country"))
    return _sorted(rows, "buyers", sort)


def orders(search: str = "", *, sort: str = "number", still: bool = True) -> QuerySet[OrderLine]:
    """Return lines of orders, found by order number, buyer, country, variety, species, grade, use or note.

    With `still` only those that are wanted yet, else those that were cancelled too.
    """
    rows = _lines()
    if search.strip():
        fields = ("order__number", "order__buyer__name", "order__country", "order__note", "note", "grades", "use",
                  "variety__name", "variety__species")  # fmt: skip
        rows = rows.filter(_word(search, *fields))
    if still:
        rows = rows.filter(ended_at=None)
    return _sorted(rows, "orders", sort)


def _lines() -> QuerySet[OrderLine]:
    return OrderLine.objects.select_related("order__buyer", "variety").prefetch_related(
        "substitutes__variety"
    )


def lines_of(order: Order) -> QuerySet[OrderLine]:
    """Return all lines of an order, first to last, cancelled or not."""
    return _lines().filter(order=order).order_by("position")


def targets(search: str = "", *, sort: str = "variety", still: bool = True) -> QuerySet[Target]:
    """Return own targets, found by number, variety, species, purpose or note.

    With `still` only those that are wanted yet, else those that were cancelled too.
    """
    rows = Target.objects.select_related("variety")
    if search.strip():
        rows = rows.filter(_word(search, "number", "variety__name", "variety__species", "purpose", "note"))
    if still:
        rows = rows.filter(ended_at=None)
    return _sorted(rows, "targets", sort)


def movements(lot: Lot | None = None) -> QuerySet[Movement]:
    """Return movements, latest first; of one lot if one is given."""
    rows = Movement.objects.select_related(
        "lot__variety", "from_place", "to_place", "by", "reverses", "reversed_by", "sale__buyer"
    )
    return (rows.filter(lot=lot) if lot else rows).order_by("-number")
