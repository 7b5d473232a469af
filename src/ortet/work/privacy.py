"""What is held of a buyer: all of it as files, and taking it out of the book without breaking the account.

Ortet holds a name and addresses for as long as the grower says (`Nursery.holds_addresses`). How long they must and may be held
is for the law where the grower is.
"""

import calendar
import io
import json
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.contrib.auth.models import User
from django.db import connection
from django.db.models import Model, QuerySet
from django.utils import timezone
from uuid_utils.compat import uuid7

from ortet.ledger.booking import Refused, created, turn
from ortet.ledger.guard import erasing
from ortet.ledger.models import (
    Arrival,
    Buyer,
    Complaint,
    Erasure,
    Movement,
    Nursery,
    Order,
    OrderLine,
    Payment,
    Plan,
    Receipt,
    ReportLink,
    Sale,
    Sending,
    StrikeReport,
)
from ortet.tables.out import as_csv
from ortet.wood.naming import fold

from .buyers import Dealt, dealt_with, find_buyer

__all__ = ["Erased", "erasable", "erase_buyer", "export_buyer", "keeps", "kept_until"]

SHORT = 4  # letters: a shorter word of a name stands in a note by chance


def kept_until(dealt: Dealt, months: int) -> date | None:
    """Return the day from which a buyer may be erased, so many months after the last dealing; None: none passed."""
    if dealt.last is None:
        return None
    year, month = divmod(dealt.last.year * 12 + dealt.last.month - 1 + months, 12)
    return date(year, month + 1, min(dealt.last.day, calendar.monthrange(year, month + 1)[1]))


def keeps(dealt: Dealt, months: int, today: date) -> list[str]:
    """Return why a buyer is not erased yet; nothing where it may be."""
    why = []
    if dealt.open:
        why.append("1 order is open" if dealt.open == 1 else f"{dealt.open} orders are open")
    if dealt.unsettled:
        why.append(
            "1 order is not settled" if dealt.unsettled == 1 else f"{dealt.unsettled} orders are not settled"
        )
    until = kept_until(dealt, months)
    if until and until > today:
        why.append(f"the last dealing was on {dealt.last}: addresses are held {months} months, until {until}")
    return why


def erasable(today: date) -> list[Buyer]:
    """Return the buyers who may be erased now."""
    months = Nursery.get().holds_addresses
    there = list(Buyer.objects.filter(erased_at=None))
    dealt = dealt_with(there)
    return [who for who in there if not keeps(dealt[who.pk], months, today)]


def _rows(who: Buyer) -> dict[str, tuple[Sequence[str], list[Sequence[object]]]]:
    """Return all that is held of a buyer, as tables."""
    lines = OrderLine.objects.filter(order__buyer=who).select_related("order", "variety")
    sales = Movement.objects.filter(sale__buyer=who).select_related("lot__variety", "sale__line__order")
    payments = Payment.objects.filter(order__buyer=who).select_related("order")
    sendings = Sending.objects.filter(parcel__order__buyer=who).select_related("parcel__order")
    receipts = Receipt.objects.filter(order__buyer=who).select_related("order")
    told: list[Sequence[object]] = [
        (one.at, "arrival", str(one.parcel), one.get_state_display(), one.note)
        for one in Arrival.objects.filter(parcel__order__buyer=who).select_related("parcel")
    ]
    told += [
        (one.at, "complaint", str(one.line), f"{one.count} {one.get_what_display()}", one.note)
        for one in Complaint.objects.filter(line__order__buyer=who).select_related("line__order")
    ]
    told += [
        (one.at, "strike report", str(one.movement), f"{one.rooted} of {one.struck} rooted", one.note)
        for one in StrikeReport.objects.filter(movement__sale__buyer=who).select_related("movement")
    ]
    kind = "trade" if who.is_trade else "private"
    return {
        "buyer": (
            ("number", "name", "address", "email", "country", "kind", "tax number", "note"),
            [(who.pk, who.name, who.address, who.email, who.country, kind, who.tax_number, who.note)],
        ),
        "orders": (
            ("order", "line", "noted", "country", "variety", "use", "count", "price", "from", "until", "cancelled", "carriage",
             "in return", "note", "note of the order"),
            [(o.order.number, o.position, o.order.at, o.order.country, o.variety.name, o.use, o.count, o.price, o.first_day,
              o.last_day, o.ended_at, o.order.carriage, o.order.in_return, o.note, o.order.note) for o in lines],
        ),
        "sold": (
            ("movement", "at", "lot", "variety", "count", "price", "order", "note"),
            [(m.number, m.at, m.lot.code, m.lot.variety.name, m.count, m.sale.price,
              m.sale.line.order.number if m.sale.line else None, m.note) for m in sales],
        ),
        "parcels": (
            ("parcel", "order", "sent", "gross g", "carrier", "tracking", "note"),
            [(s.parcel.number, s.parcel.order.number, s.at, s.gross_g, s.carrier, s.tracking, s.note) for s in sendings],
        ),
        "payments": (
            ("order", "day", "amount", "deposit", "how", "note"),
            [(p.order.number, p.on, p.amount, p.is_deposit, p.how, p.note) for p in payments],
        ),
        "receipts": (
            ("receipt", "order", "at", "said", "note"),
            [(r.number, r.order.number, r.at, json.dumps(r.said, ensure_ascii=False), r.note) for r in receipts],
        ),
        "told": (("at", "what", "of", "said", "note"), told),
    }  # fmt: skip


def export_buyer(buyer: str) -> tuple[str, bytes]:
    """Return all that the book holds of one buyer, as a zip of one JSON file and a CSV for each table, and the zip's name.

    The name of the file holds none of the buyer's.

    Raises
    ------
    Unknown
        If there is no such buyer.
    """
    who = find_buyer(buyer)
    tables = _rows(who)
    whole = {
        name: [dict(zip(columns, row, strict=True)) for row in rows]
        for name, (columns, rows) in tables.items()
    }
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("buyer.json", json.dumps(whole, default=str, ensure_ascii=False, indent=1))
        for name, (columns, rows) in tables.items():
            packed.writestr(f"{name}.csv", as_csv(columns, rows))
    return f"buyer-{who.pk}.zip", out.getvalue()


@dataclass(frozen=True, slots=True)
class Erased:
    """That a buyer was taken out, and what of them could not be."""

    erasure: Erasure
    still: list[int]  # numbers of sealed movements whose note holds words of theirs


def erase_buyer(buyer: str, *, by: User, at: datetime, reason: str = "", id: UUID | None = None) -> Erased:
    """Take name, addresses, email, tax number and the notes that hold them out of the book; counts, sales and sums stay.

    Raises
    ------
    Refused
        If orders are open, money is owed or the last dealing is too young, and no reason is given; or erased already.
    Unknown
        If there is no such buyer.
    """
    with turn():
        if id and (before := Erasure.objects.filter(pk=id).first()):
            return Erased(before, [])
        who = find_buyer(buyer)
        if who.erased_at:
            raise Refused(f"{who} was erased already. Nothing was booked.")
        months, today = Nursery.get().holds_addresses, timezone.localdate(at)
        why = keeps(dealt_with([who])[who.pk], months, today)
        if why and not reason.strip():
            raise Refused(
                f"{who} is still needed: {'; '.join(why)}. Give a reason to erase nevertheless, and see what the law where you "
                "are asks to be kept. Nothing was booked."
            )
        name, words = who.name, _words(who)
        if any(word in fold(reason) for word in words):
            raise Refused(
                "The reason stays in the book: say it without the buyer's name. Nothing was booked."
            )
        _clear(who, words)
        _clear_plans(name, f"buyer {who.pk}, erased")
        who.name = f"buyer {who.pk}, erased"
        who.address = who.email = who.tax_number = who.note = ""
        who.erased_at = at
        who.save()
        noted = created(Erasure, id=id or uuid7(), buyer=who, by=by, at=at, note=reason.strip())
        moved = Movement.objects.filter(sale__buyer=who).exclude(note="").values_list("number", "note")
        return Erased(noted, [number for number, note in moved if any(word in fold(note) for word in words)])


def _words(who: Buyer) -> list[str]:
    """Return, folded, what of a buyer a note may hold: the name and its longer words, addresses line by line."""
    said = [who.name, *who.name.split(), *who.address.splitlines(), who.email, who.tax_number]
    return sorted(
        {fold(one.strip(" ,.;")) for one in said if len(one.strip(" ,.;")) >= SHORT or one == who.name}
    )


def _clear(who: Buyer, words: Sequence[str]) -> None:
    """Empty the notes about a buyer's dealings that hold words of theirs, and every number by which a carrier knows where."""
    Order.objects.filter(buyer=who).update(note="")
    about: tuple[QuerySet[Any], ...] = (
        OrderLine.objects.filter(order__buyer=who),
        Sale.objects.filter(buyer=who),
        Sending.objects.filter(parcel__order__buyer=who),
        Arrival.objects.filter(parcel__order__buyer=who),
        ReportLink.objects.filter(parcel__order__buyer=who),
        Complaint.objects.filter(line__order__buyer=who),
        Payment.objects.filter(order__buyer=who),
        Receipt.objects.filter(order__buyer=who),
        StrikeReport.objects.filter(movement__sale__buyer=who),
    )
    models: list[type[Model]] = [rows.model for rows in about[1:]]
    with erasing(connection, [model._meta.model_name or "" for model in models]):
        for rows in about:
            held = [
                key
                for key, note in rows.values_list("pk", "note")
                if any(word in fold(note) for word in words)
            ]
            rows.model._default_manager.filter(pk__in=held).update(note="")
        Sending.objects.filter(parcel__order__buyer=who).update(tracking="")
    for order in Order.objects.filter(buyer=who).exclude(in_return=""):
        if any(word in fold(order.in_return) for word in words):
            order.in_return = ""
            order.save(update_fields=["in_return"])


def _clear_plans(name: str, now: str) -> None:
    """Write what a buyer is called now where a plan that was made names them as who a wish is of."""

    def anew(said: Any) -> Any:
        if isinstance(said, dict):
            return {
                key: now if key == "who" and value == name else anew(value) for key, value in said.items()
            }
        return [anew(value) for value in said] if isinstance(said, list) else said

    for plan in Plan.objects.only("said").iterator():
        if (said := anew(plan.said)) != plan.said:
            Plan.objects.filter(pk=plan.pk).update(said=said)
