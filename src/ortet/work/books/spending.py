"""Spending: what growing costs in money, and the minutes that each deed is reckoned at."""

from collections.abc import Mapping
from datetime import date, datetime, time
from decimal import Decimal
from types import MappingProxyType
from uuid import UUID

from django.contrib.auth.models import User
from django.utils import timezone
from uuid_utils.compat import uuid7

from ortet.ledger.booking import Refused, Unknown, created, turn
from ortet.ledger.models import Batch, Expense, Minutes, Outlay, Why
from ortet.ledger.places import Kind
from ortet.wood.speech import say
from ortet.work import find
from ortet.work.amounts import refuse_wrong_amount
from ortet.work.moments import day_done
from ortet.work.orders import find_order
from ortet.work.plants import find_variety

__all__ = ["MINUTES", "find_expense", "minutes", "minutes_on", "reverse_expense", "spend"]

MOST_MINUTES = Decimal(10_000)
# Minutes for a hundred cuttings, until the grower notes others. [our choice]
MINUTES: Mapping[str, Decimal] = MappingProxyType(
    {
        Why.TAKEN: Decimal(60),
        Why.RECEIVED: Decimal(15),
        Why.BAGGED: Decimal(15),
        Why.MOVED: Decimal(5),
        Why.SPLIT: Decimal(10),
        Why.STRUCK: Decimal(60),
        Why.GRAFTED: Decimal(400),
        Why.POTTED: Decimal(150),
        Why.PACKED: Decimal(40),
        Why.SOLD: Decimal(10),
        Why.GIVEN_UP: Decimal(5),
        Why.LOST: Decimal(0),
    }
)


def spend(
    net: Decimal,
    what: str,
    *,
    by: User,
    at: datetime,
    on: date | None = None,
    outlay: str = Outlay.MATERIAL,
    tax: Decimal = Decimal(0),
    variety: str = "",
    batch: str = "",
    order: int | None = None,
    note: str = "",
    id: UUID | None = None,
) -> Expense:
    """Note money spent; return the expense.

    Parameters
    ----------
    net, tax : Decimal
        Without the tax in it, and that tax.
    what : str
        What it was for, in a few words.
    on : date, optional
        The day of the bill; None: the day of `at`.
    outlay : str
        Which kind: a `ledger.costs.Outlay`.
    variety, batch : str
        What alone it was spent for; nothing: for all that was handled in its year.
    order : int, optional
        The order it was spent for.

    Raises
    ------
    Refused
        If an amount is none, the day is still to come or long ago, or it is for more than one of variety, batch and order.
    Unknown
        If that variety, batch or order is not in the book.
    """
    with turn():
        if id and (before := Expense.objects.filter(pk=id).first()):
            return before
        day = day_done(on, at)
        if outlay not in Outlay.values:
            raise Refused(
                say(
                    "{outlay!r}: say {known}. Nothing was booked.",
                    outlay=outlay,
                    known=", ".join(Outlay.values),
                )
            )
        refuse_wrong_amount(say("An expense of"), net, least=Decimal("0.01"))
        refuse_wrong_amount(say("Tax of"), tax)
        if sum((bool(variety.strip()), bool(batch.strip()), order is not None)) > 1:
            raise Refused(
                say("An expense is for a variety, a batch or an order: name one. Nothing was booked.")
            )
        return created(
            Expense,
            id=id or uuid7(),
            on=day,
            outlay=outlay,
            what=" ".join(what.split()),
            net=net,
            tax=tax,
            variety=find_variety(variety) if variety.strip() else None,
            batch=_batch(batch) if batch.strip() else None,
            order=None if order is None else find_order(order),
            by=by,
            at=at,
            note=note,
        )


def _batch(name: str) -> Batch:
    found: Batch = find.place(name, Kind.BATCH).batch
    return found


def find_expense(text: str) -> Expense:
    """Return the expense whose id ends with this.

    Raises
    ------
    Unknown
        If none does, or more than one.
    """
    end = text.strip().lower().replace("-", "")
    found = [one for one in Expense.objects.select_related("variety") if end and one.id.hex.endswith(end)]
    if len(found) == 1:
        return found[0]
    raise Unknown(
        say(
            "No expense's number alone ends with {text!r}: the list of expenses shows the numbers. Nothing was booked.",
            text=text,
        )
        if found
        else say(
            "No expense's number ends with {text!r}: the list of expenses shows the numbers. Nothing was booked.",
            text=text,
        )
    )


def reverse_expense(expense: UUID, *, by: User, at: datetime, note: str, id: UUID | None = None) -> Expense:
    """Take an expense back by another of the same amounts below nothing; the mistake stays readable.

    Raises
    ------
    Refused
        If it was reversed already, is itself a reversal, or no word says what was wrong.
    Unknown
        If there is no such expense.
    """
    with turn():
        if id and (before := Expense.objects.filter(pk=id).first()):
            return before
        wrong = Expense.objects.filter(pk=expense).first()
        if wrong is None:
            raise Unknown(say("There is no such expense. Nothing was booked."))
        if wrong.reverses_id or Expense.objects.filter(reverses=wrong).exists():
            raise Refused(
                say(
                    "{what} of {day} itself takes an expense back: note the expense anew. Nothing was booked.",
                    what=wrong.what,
                    day=wrong.on,
                )
                if wrong.reverses_id
                else say(
                    "{what} of {day}: reversed already. Nothing was booked.", what=wrong.what, day=wrong.on
                )
            )
        if not note.strip():
            raise Refused(say("Say in a few words what was wrong. Nothing was booked."))
        same = {name: getattr(wrong, name) for name in ("outlay", "what", "variety", "batch", "order")}
        day = max(wrong.on, timezone.localdate(at))
        return created(
            Expense,
            id=id or uuid7(),
            on=day,
            net=-wrong.net,
            tax=-wrong.tax,
            reverses=wrong,
            by=by,
            at=at,
            note=note,
            **same,
        )


def minutes(
    deed: str, per_hundred: Decimal, *, by: User, at: datetime, note: str = "", id: UUID | None = None
) -> Minutes:
    """Say how many minutes a hundred cuttings take at a deed, such as struck.

    Raises
    ------
    Refused
        If there is no such deed, or the minutes are none.
    """
    with turn():
        if id and (before := Minutes.objects.filter(pk=id).first()):
            return before
        if deed not in MINUTES:
            raise Refused(
                say("{deed!r}: say {known}. Nothing was booked.", deed=deed, known=", ".join(MINUTES))
            )
        if not per_hundred.is_finite() or not 0 <= per_hundred <= MOST_MINUTES:
            raise Refused(
                say(
                    "{per_hundred} minutes: give 0 to {most}. Nothing was booked.",
                    per_hundred=per_hundred,
                    most=MOST_MINUTES,
                )
            )
        if per_hundred != round(per_hundred, 2):
            raise Refused(
                say(
                    "{per_hundred} minutes: two figures behind the point at most. Nothing was booked.",
                    per_hundred=per_hundred,
                )
            )
        return created(Minutes, id=id or uuid7(), deed=deed, per_hundred=per_hundred, by=by, at=at, note=note)


def minutes_on(day: date) -> dict[str, tuple[Decimal, bool]]:
    """Return for each deed the minutes for a hundred cuttings as they were reckoned on a day, and whether they were noted.

    The latest noted by the end of that day count; else the first noted after it; else what Ortet starts from.
    """
    end = datetime.combine(day, time.max, timezone.get_current_timezone())
    said: dict[str, tuple[Decimal, bool]] = {deed: (usual, False) for deed, usual in MINUTES.items()}
    for one in Minutes.objects.order_by("at", "id"):
        if one.at <= end or not said.get(one.deed, (None, False))[1]:
            said[one.deed] = one.per_hundred, True
    return said
