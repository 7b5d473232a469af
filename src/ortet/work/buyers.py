"""Buyers: who orders, where they are reached, what passed between them and the nursery, and what is owed."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db.models import Max, QuerySet
from django.utils import timezone

from ortet.ledger.booking import Refused, Unknown, created, refuse_no_letter, turn
from ortet.ledger.models import (
    Arrival,
    Buyer,
    Complaint,
    Movement,
    Order,
    OrderLine,
    Payment,
    Sale,
    StrikeReport,
)
from ortet.ledger.packed import sold
from ortet.wood.naming import fold

from .owed import Sums, sums_of

__all__ = ["BuyerView", "Dealt", "buyer", "dealt_with", "find_buyer", "view"]


def find_buyer(who: str) -> Buyer:
    """Return a buyer by name, or by number: "buyer 3".

    Raises
    ------
    Unknown
        If there is none; it says which are near.
    """
    key = fold(who)
    if found := Buyer.objects.filter(name_key=key).first():
        return found
    number = key.removeprefix("buyer").strip()
    if number.isdecimal() and len(number) < 18 and (found := Buyer.objects.filter(pk=int(number)).first()):
        return found
    near = Buyer.objects.filter(name_key__contains=key[:4], erased_at=None)[:3] if key else []
    hint = f" Is it {', '.join(map(str, near))}?" if near else ""
    raise Unknown(f"No buyer is called {who.strip()!r}.{hint} Nothing was booked.")


def buyer(
    name: str,
    *,
    address: str | None = None,
    email: str | None = None,
    country: str | None = None,
    is_trade: bool | None = None,
    tax_number: str | None = None,
    note: str | None = None,
    rename: str | None = None,
) -> Buyer:
    """Note who a buyer is and where reached, making the buyer where the name is new; what is None stays as it is.

    Parameters
    ----------
    country : str, optional
        Where parcels usually go, in two letters.
    is_trade : bool, optional
        A nursery or a shop, not a private person.
    rename : str, optional
        What the buyer is called from now on.

    Raises
    ------
    Refused
        If there is no name, the email address is none, another buyer is called so, or the buyer was erased.
    """
    if not name.strip():
        raise Refused("A buyer has a name. Nothing was booked.")
    with turn():
        who = Buyer.objects.filter(name_key=fold(name)).first() or created(Buyer, name=name.strip())
        if who.erased_at:
            raise Refused(f"{who}: nothing is noted of somebody who was erased. Nothing was booked.")
        if rename is not None and rename.strip():
            if Buyer.objects.filter(name_key=fold(rename)).exclude(pk=who.pk).exists():
                raise Refused(f"Another buyer is called {rename.strip()} already. Nothing was booked.")
            who.name = rename.strip()
        if country:
            country = country.strip().upper()
            if not (len(country) == 2 and country.isascii() and country.isalpha()):
                raise Refused(
                    f"{country!r}: write the country as two letters, such as DE. Nothing was booked."
                )
        said = {
            "address": address,
            "email": email,
            "country": country,
            "tax_number": tax_number,
            "note": note,
        }
        for field, value in said.items():
            if value is not None:
                refuse_no_letter(field, value)
                setattr(who, field, value.strip())
        if is_trade is not None:
            who.is_trade = is_trade
        try:
            who.clean_fields(exclude=["name_key"])
        except ValidationError as error:
            told = "; ".join(
                f"{field.capitalize().replace('_', ' ')}: {' '.join(words)}"
                for field, words in error.message_dict.items()
            )
            raise Refused(f"{told} Nothing was booked.") from None
        who.save()
        return who


@dataclass(frozen=True, slots=True)
class Dealt:
    """What stands between the nursery and a buyer."""

    orders: int
    open: int  # orders of which a line is still wanted and not filled
    owed: Decimal  # over all orders; below nothing: more was paid than is due
    unsettled: int  # orders that are not paid to the cent
    last: date | None  # the day on which something last passed between them


def _last_days(keys: Sequence[int]) -> dict[int, date]:
    """Return the last day on which something was ordered, sold, paid or told, by the buyer's key."""
    asked: tuple[tuple[QuerySet[Any], str, str], ...] = (
        (Order.objects.all(), "buyer", "at"),
        (Sale.objects.all(), "buyer", "movement__at"),
        (Payment.objects.all(), "order__buyer", "at"),
        (Complaint.objects.all(), "line__order__buyer", "at"),
        (Arrival.objects.all(), "parcel__order__buyer", "at"),
        (StrikeReport.objects.all(), "movement__sale__buyer", "at"),
    )
    last: dict[int, datetime] = {}
    for rows, whose, when in asked:
        found = rows.order_by().filter(**{f"{whose}__in": keys}).values_list(whose).annotate(last=Max(when))
        for key, at in found:
            last[key] = max(at, last.get(key, at))
    return {key: timezone.localdate(at) for key, at in last.items()}


def dealt_with(buyers: Sequence[Buyer]) -> dict[int, Dealt]:
    """Return what stands between the nursery and buyers, by their keys."""
    keys = [who.pk for who in buyers]
    orders = list(Order.objects.filter(buyer__in=keys))
    lines = list(OrderLine.objects.filter(order__buyer__in=keys, ended_at=None))
    gone = sold(lines)
    wanting = {line.order_id for line in lines if line.count > gone[line.pk]}
    owed = sums_of(orders)
    of: dict[int, list[Order]] = defaultdict(list)
    for order in orders:
        of[order.buyer_id].append(order)
    last = _last_days(keys)
    return {
        key: Dealt(
            len(of[key]),
            sum(order.pk in wanting for order in of[key]),
            sum((owed[order.pk].owed for order in of[key]), Decimal()),
            sum(owed[order.pk].owed != 0 for order in of[key]),
            last.get(key),
        )
        for key in keys
    }


@dataclass(frozen=True, slots=True)
class BuyerView:
    """A buyer whole."""

    buyer: Buyer
    dealt: Dealt
    orders: Sequence[tuple[Order, Sums]]  # the latest first
    sales: Sequence[Movement]  # what went to the buyer, the latest first


def view(buyer: int) -> BuyerView:
    """Return a buyer whole, by number.

    Raises
    ------
    Unknown
        If there is none.
    """
    who = find_buyer(f"buyer {buyer}")
    orders = list(who.orders.order_by("-number").prefetch_related("lines__variety"))
    owed = sums_of(orders)
    gone = Movement.objects.filter(sale__buyer=who, reversed_by=None)
    sales = gone.select_related("lot__variety", "sale__line__order").order_by("-number")
    return BuyerView(who, dealt_with([who])[who.pk], [(one, owed[one.pk]) for one in orders], list(sales))
