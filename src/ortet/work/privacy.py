"""What is held of a buyer: all of it as files, and taking it out of the book without breaking the account.

Ortet holds a name and addresses for as long as the grower says (`Nursery.holds_addresses`). How long they must and may be held
is for the law where the grower is.
"""

import calendar
import io
import json
import re
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.apps import apps
from django.contrib.auth.models import User
from django.db import connection, models, transaction
from django.utils import timezone
from uuid_utils.compat import uuid7

from ortet.ledger.booking import Refused, created, turn
from ortet.ledger.guard import erasing
from ortet.ledger.models import (
    Arrival,
    Buyer,
    Complaint,
    Erasure,
    Expense,
    Movement,
    Nursery,
    Order,
    OrderLine,
    Packing,
    Payment,
    Plan,
    Receipt,
    Sale,
    Sending,
    StrikeReport,
    Withdrawal,
)
from ortet.tables.out import as_csv
from ortet.tables.selling import BUYER_COLUMNS, ORDER_COLUMNS
from ortet.wood.naming import fold
from ortet.wood.speech import say, say_day, say_many

from .buyers import find_buyer
from .dealings import Dealt, dealt_with
from .loading_orders import buyer_rows, order_rows
from .today import forget

__all__ = ["Erased", "erasable", "erase_buyer", "export_buyer", "keeps", "kept_until", "ties"]

SHORT = 4  # letters: a shorter word of a name stands in a note by chance [our choice]
DRAWN = ("code", "seal", "chained_to", "sha256")  # what nobody typed


def kept_until(dealt: Dealt, months: int) -> date | None:
    """Return the day from which a buyer may be erased, so many months after the last dealing; None: none passed."""
    if dealt.last is None:
        return None
    year, month = divmod(dealt.last.year * 12 + dealt.last.month - 1 + months, 12)
    return date(year, month + 1, min(dealt.last.day, calendar.monthrange(year, month + 1)[1]))


def ties(dealt: Dealt) -> list[str]:
    """Return what is still to be ended between a buyer and the nursery: neither can do it without knowing the other."""
    said = (
        (dealt.open, say_many("{count} order is open", "{count} orders are open", dealt.open)),
        (dealt.packed, say_many("{count} cutting lies packed", "{count} cuttings lie packed", dealt.packed)),
        (
            dealt.unsettled,
            say_many("{count} order is not settled", "{count} orders are not settled", dealt.unsettled),
        ),
        (
            dealt.complaints,
            say_many(
                "{count} complaint is not answered", "{count} complaints are not answered", dealt.complaints
            ),
        ),
    )
    return [words for count, words in said if count]


def keeps(dealt: Dealt, months: int, today: date) -> list[str]:
    """Return why a buyer is not erased yet; nothing where it may be."""
    why = ties(dealt)
    until = kept_until(dealt, months)
    if dealt.last and until and until > today:
        why.append(
            say(
                "the last dealing was on {last}: addresses are held {months} months, until {until}",
                last=say_day(dealt.last),
                months=months,
                until=say_day(until),
            )
        )
    return why


def erasable(today: date) -> list[Buyer]:
    """Return the buyers who may be erased now."""
    months = Nursery.get().holds_addresses
    there = list(Buyer.objects.filter(erased_at=None))
    dealt = dealt_with(there)
    return [who for who in there if not keeps(dealt[who.pk], months, today)]


def _receipts(who: Buyer) -> models.QuerySet[Receipt]:
    return Receipt.objects.filter(models.Q(order__buyer=who) | models.Q(buyer=who))


def _rows(who: Buyer) -> dict[str, tuple[Sequence[str], list[Sequence[object]]]]:
    """Return all that is held of a buyer, as tables."""
    lines = OrderLine.objects.filter(order__buyer=who).select_related("order__buyer", "variety")
    lines = lines.prefetch_related("substitutes__variety")
    sales = Movement.objects.filter(sale__buyer=who).select_related("lot__variety", "sale__line__order")
    payments = Payment.objects.filter(order__buyer=who).select_related("order")
    sendings = Sending.objects.filter(parcel__order__buyer=who).select_related("parcel__order")
    receipts = _receipts(who).select_related("order")
    told: list[Sequence[object]] = [
        (one.at, "arrival", str(one.parcel), one.get_state_display(), one.note)
        for one in Arrival.objects.filter(parcel__order__buyer=who).select_related("parcel")
    ]
    told += [
        (one.at, "complaint", str(one.line), f"{one.count} {one.get_what_display()}", one.note)
        for one in Complaint.objects.filter(line__order__buyer=who).select_related("line__order")
    ]
    told += [
        (
            one.at,
            "strike report",
            str(one.movement),
            say("{rooted} of {struck} rooted", rooted=one.rooted, struck=one.struck),
            one.note,
        )
        for one in StrikeReport.objects.filter(movement__sale__buyer=who).select_related("movement")
    ]
    return {
        "buyer": (
            ("number", *(column[0] for column in BUYER_COLUMNS)),
            [(who.pk, *row) for row in buyer_rows([who])],
        ),
        "orders": (
            (*(column[0] for column in ORDER_COLUMNS), "cancelled", "note of the order"),
            [(*row, line.ended_at, line.order.note) for line, row in zip(lines, order_rows(lines), strict=True)],
        ),
        "sold": (
            ("movement", "at", "lot", "variety", "count", "price", "order", "note", "note of the sale"),
            [(m.number, m.at, m.lot.code, m.lot.variety.name, m.count, m.sale.price,
              m.sale.line.order.number if m.sale.line else None, m.note, m.sale.note) for m in sales],
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
            [(r.number, r.order.number if r.order else None, r.at, json.dumps(r.said, ensure_ascii=False), r.note) for r in receipts],
        ),
        "told": (("at", "what", "of", "said", "note"), told),
        "mentioned": (
            ("where", "what", "text"),
            [row for row in _mentions(_words(who), whole=True) if row[0] != _called(who)],
        ),
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
    """That a buyer was taken out, and where words of theirs still stand."""

    erasure: Erasure
    still: list[str]  # such as "movement 12: note"


def erase_buyer(buyer: str, *, by: User, at: datetime, reason: str = "", id: UUID | None = None) -> Erased:
    """Take name, addresses, email, tax number and the notes that hold them out of the book; counts, sales and sums stay.

    What is still open between the two is ended first: no reason stands in for that. A reason is needed while the last dealing is
    young.

    Raises
    ------
    Refused
        If something is open, owed, packed or not answered; the last dealing is too young, and no reason is given; or erased already.
    Unknown
        If there is no such buyer.
    """
    with turn():
        if id and (before := Erasure.objects.filter(pk=id).first()):
            return Erased(before, [])
        who = find_buyer(buyer)
        if who.erased_at:
            raise Refused(say("{who} was erased already. Nothing was booked.", who=who))
        months, today = Nursery.get().holds_addresses, timezone.localdate(at)
        dealt = dealt_with([who])[who.pk]
        if open_still := ties(dealt):
            raise Refused(
                say(
                    "{who} is still needed: {open_still}. End each first: send or cancel what is open, unpack what lies "
                    "packed, settle what is owed, answer a complaint or say that it was mistaken. Nothing was booked.",
                    who=who,
                    open_still="; ".join(open_still),
                )
            )
        if (why := keeps(dealt, months, today)) and not reason.strip():
            raise Refused(
                say(
                    "{who} is still kept: {why}. Give a reason to erase nevertheless, and see what the law where you are asks "
                    "to be kept. Nothing was booked.",
                    who=who,
                    why="; ".join(why),
                )
            )
        words = _words(who)
        if words.stand_in(reason):
            raise Refused(
                say("The reason stays in the book: say it without the buyer's name. Nothing was booked.")
            )
        _clear(who, words)
        _clear_plans(who)
        who.name = _numbered(who)
        who.address = who.email = who.tax_number = who.note = ""
        who.erased_at = at
        who.save()
        noted = created(Erasure, id=id or uuid7(), buyer=who, by=by, at=at, note=reason.strip())
        still = [f"{where}: {field}" for where, field, _ in _mentions(words)]
        transaction.on_commit(_leave_no_copy)
    forget()
    return Erased(noted, still)


def _leave_no_copy() -> None:
    """Empty the log that SQLite keeps beside the book: pages as they were before stand in it until others take their place."""
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")


def _numbered(who: Buyer) -> str:
    return f"buyer {who.pk}, erased"


@dataclass(frozen=True, slots=True)
class _Words:
    """What of a buyer a text may hold, folded."""

    whole: Sequence[str]  # the name, addresses line by line, email, tax number
    parts: Sequence[str]  # the longer words of the name

    def stand_in(self, text: str, *, whole: bool = False) -> bool:
        """Whether one of them stands in a text; a short one as a word by itself."""
        said = fold(text)
        among = self.whole if whole else (*self.whole, *self.parts)
        return any(
            word in said if len(word) >= SHORT else re.search(rf"(?<!\w){re.escape(word)}(?!\w)", said)
            for word in among
        )


def _words(who: Buyer) -> _Words:
    said = [who.email, who.tax_number, *re.split(r"[\r\n,;]+", who.address)]
    long = {fold(one) for one in said if len(fold(one)) >= SHORT}
    parts = {part for part in re.findall(r"\w+", fold(who.name)) if len(part) >= SHORT}
    return _Words(sorted(long | {fold(who.name)}), sorted(parts))


Typed = models.CharField | models.TextField  # type: ignore[type-arg]


def _typed(model: type[models.Model]) -> list[Typed]:
    """Return the fields of a table that hold what somebody typed, without what is drawn, reckoned or chosen from a list."""
    return [
        field
        for field in model._meta.concrete_fields
        if isinstance(field, models.CharField | models.TextField)
        and not field.choices
        and field.name not in DRAWN
        and not field.name.endswith(("_key", "_hash"))
    ]


def _mentions(words: _Words, *, whole: bool = False) -> list[tuple[str, str, str]]:
    """Return where words of a buyer stand in the book: of what, in which field, and the text.

    A single word of a name is sought in notes only: many a variety, place or agent shares one.
    """
    found = []
    for model in apps.get_app_config("ledger").get_models():
        rows = model._default_manager.order_by("pk")
        for field in _typed(model):
            strict = whole or not isinstance(field, models.TextField)
            for key, text in rows.exclude(**{field.name: ""}).values_list("pk", field.name).iterator():
                if text and words.stand_in(text, whole=strict):
                    found.append((model, key, field.verbose_name, text))
        for json_field in (one for one in model._meta.concrete_fields if isinstance(one, models.JSONField)):
            for key, said in rows.values_list("pk", json_field.name).iterator():
                text = json.dumps(said, ensure_ascii=False)
                if words.stand_in(text, whole=True):
                    found.append((model, key, json_field.verbose_name, text))
    return [
        (_called(model._default_manager.get(pk=key)), str(name), text) for model, key, name, text in found
    ]


def _called(row: models.Model) -> str:
    """Say which row it is, as a grower finds it."""
    kind = str(row._meta.verbose_name)
    for name in ("number", "code", "accession"):
        if value := getattr(row, name, None):
            return f"{kind} {value}"
    for name in ("movement", "lot", "mother", "place", "line", "order", "parcel", "variety"):
        if value := getattr(row, name, None):
            at = getattr(row, "at", None)
            if isinstance(at, datetime):
                return say("{kind} of {day}, {value}", kind=kind, day=timezone.localdate(at), value=value)
            return f"{kind}, {value}"
    return f"{kind} {row.pk}"


def _clear(who: Buyer, words: _Words) -> None:
    """Empty what was typed about a buyer's dealings and holds words of theirs, and every number by which a carrier knows where."""
    Order.objects.filter(buyer=who).update(note="")
    heard: tuple[models.QuerySet[Any], ...] = (
        Arrival.objects.filter(parcel__order__buyer=who),
        Complaint.objects.filter(line__order__buyer=who),
        StrikeReport.objects.filter(movement__sale__buyer=who),
    )
    withdrawn = [key for rows in heard for key in rows.values_list("pk", flat=True)]
    about: tuple[models.QuerySet[Any], ...] = (
        Order.objects.filter(buyer=who),
        OrderLine.objects.filter(order__buyer=who),
        Sale.objects.filter(buyer=who),
        Packing.objects.filter(line__order__buyer=who),
        Sending.objects.filter(parcel__order__buyer=who),
        Payment.objects.filter(order__buyer=who),
        _receipts(who),
        Expense.objects.filter(order__buyer=who),
        Withdrawal.objects.filter(reading__in=withdrawn),
        *heard,
    )
    guarded = [rows.model._meta.model_name for rows in about if rows.model not in (Order, OrderLine)]
    with erasing(connection, guarded):
        for rows in about:
            for field in _typed(rows.model):
                texts = rows.exclude(**{field.name: ""}).values_list("pk", field.name)
                held = [key for key, text in texts if words.stand_in(text)]
                empty = "" if field.blank else "erased"
                rows.model._default_manager.filter(pk__in=held).update(**{field.name: empty})
        Sending.objects.filter(parcel__order__buyer=who).update(tracking="")
        # what they wrote by a link is theirs, whatever words it holds; the counts stay
        StrikeReport.objects.filter(movement__sale__buyer=who, by_link=True).update(note="")


def _clear_plans(who: Buyer) -> None:
    """Write what a buyer is called now where a plan that was made names them, under whatever name, as who a wish is of."""
    theirs = {f"order {number}" for number in who.orders.values_list("number", flat=True)}

    def anew(said: Any) -> Any:
        if isinstance(said, dict):
            of = str(said.get("wish", "")).partition("/")[0]
            return {
                key: _numbered(who) if key == "who" and of in theirs else anew(value)
                for key, value in said.items()
            }
        return [anew(value) for value in said] if isinstance(said, list) else said

    for plan in Plan.objects.only("said").iterator():
        if (said := anew(plan.said)) != plan.said:
            Plan.objects.filter(pk=plan.pk).update(said=said)
