"""After a parcel was sent: how it arrived, what the buyer complains of, and what makes it good."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from django.contrib.auth.models import User
from django.db.models import Exists, OuterRef, QuerySet, Sum
from uuid_utils.compat import uuid7

from ortet.ledger.booking import Refused, Unknown, created, turn
from ortet.ledger.models import (
    Arrival,
    Complaint,
    Grievance,
    Nursery,
    Order,
    OrderLine,
    Parcel,
    Payment,
    Replacement,
    State,
)
from ortet.ledger.packed import sold
from ortet.ledger.readings import readings_that_count
from ortet.wood.speech import say
from ortet.work.answered import Answered, answered
from ortet.work.orders import Line, find_order, order, read_line

from .send import find_parcel

__all__ = [
    "Aftermath",
    "aftermath",
    "arrived",
    "complain",
    "find_complaint",
    "find_line",
    "open_complaints",
    "replace",
]

ANSWERED_WITHIN = timedelta(days=30)  # until when a replacement is wanted, where no day is named [our choice]


def find_line(text: str) -> OrderLine:
    """Return a line of an order, such as 3/2, or the only line of order 3.

    Raises
    ------
    Refused, Unknown
        If it is written in no such way, is not in the book, or the order has several lines.
    """
    number, position = read_line(text)
    lines = list(find_order(number).lines.select_related("order__buyer", "variety"))
    fits = [line for line in lines if position in (None, line.position)]
    if not fits:
        raise Unknown(
            say(
                "Order {number} has no line {position}. Nothing was booked.", number=number, position=position
            )
        )
    if len(fits) > 1:
        said = ", ".join(f"{number}/{line.position}" for line in fits)
        raise Refused(
            say(
                "Order {number} has several lines, {said}: say which. Nothing was booked.",
                number=number,
                said=said,
            )
        )
    return fits[0]


def _sent_parcel(number: int, at: datetime) -> Parcel:
    parcel = find_parcel(number)
    if not hasattr(parcel, "sending"):
        raise Refused(say("Parcel {number} was not sent yet. Nothing was booked.", number=number))
    if at < parcel.sending.at:
        raise Refused(
            say(
                "Parcel {number} was sent later than that. Give a later time. Nothing was booked.",
                number=number,
            )
        )
    return parcel


def arrived(
    parcel: int, state: str, *, by: User, at: datetime, note: str = "", id: UUID | None = None
) -> Arrival:
    """Note how a parcel was when the buyer opened it; the latest word counts.

    Raises
    ------
    Refused
        If the parcel was not sent, or the state is none of `State`.
    """
    with turn():
        if id and (before := Arrival.objects.filter(pk=id).first()):
            return before
        what = _sent_parcel(parcel, at)
        if state not in State.values:
            raise Refused(
                say("{state!r}: say {known}. Nothing was booked.", state=state, known=", ".join(State.values))
            )
        return created(Arrival, id=id or uuid7(), parcel=what, state=state, at=at, by=by, note=note)


def complain(
    line: str,
    what: str,
    count: int,
    *,
    by: User,
    at: datetime,
    parcel: int | None = None,
    note: str = "",
    id: UUID | None = None,
) -> Complaint:
    """Note what a buyer complains of; it stays open until a replacement or a payment back answers it.

    Parameters
    ----------
    line : str
        Which line of which order, such as 3/2.
    what : str
        One of `Grievance`.
    count : int
        Of how many cuttings or plants.
    parcel : int, optional
        In which of the parcels of the order.

    Raises
    ------
    Refused
        If more is complained of than the line asks for, or the parcel is another order's.
    """
    with turn():
        if id and (before := Complaint.objects.filter(pk=id).first()):
            return before
        of = find_line(line)
        if what not in Grievance.values:
            raise Refused(
                say(
                    "{what!r}: say {known}. Nothing was booked.", what=what, known=", ".join(Grievance.values)
                )
            )
        most = max(of.count, sold([of.pk])[of.pk])
        if not 1 <= count <= most:
            raise Refused(
                say(
                    "{count} complained of: {of!s} is of {most}. Give from 1 to {most}. Nothing was booked.",
                    count=count,
                    of=of,
                    most=most,
                )
            )
        box = None if parcel is None else _sent_parcel(parcel, at)
        if box and box.order_id != of.order_id:
            raise Refused(
                say(
                    "Parcel {parcel} went for {order}, not for {of_order}. Nothing was booked.",
                    parcel=parcel,
                    order=box.order,
                    of_order=of.order,
                )
            )
        return created(
            Complaint, id=id or uuid7(), line=of, parcel=box, what=what, count=count, at=at, by=by, note=note
        )


def find_complaint(line: str, id: UUID | None = None, *, paid_back: bool = False) -> Complaint:
    """Return a complaint by its id, else the only open one about a line, else the only one that was answered in part.

    Parameters
    ----------
    paid_back : bool
        Whether one is meant for which money went back.

    Raises
    ------
    Refused, Unknown
        If there is none, or there are several.
    """
    if id:
        rows = readings_that_count(Complaint).select_related("line__order__buyer", "line__variety")
        if found := rows.filter(pk=id).first():
            return found
        raise Unknown(say("There is no such complaint, or it was withdrawn. Nothing was booked."))
    of = find_line(line)
    open_now = [] if paid_back else list(open_complaints().filter(line=of))
    if not open_now:
        rows = readings_that_count(Complaint).filter(line=of)
        rows = rows.select_related("line__order__buyer", "line__variety")
        open_now = [one for one in rows if (answered(one).paid_back if paid_back else answered(one).left)]
    if not open_now:
        raise Unknown(say("No complaint about {of} is open. Nothing was booked.", of=of))
    if len(open_now) > 1:
        said = "; ".join(f"{one.count} {one.get_what_display()}, {one.pk}" for one in open_now)
        raise Refused(
            say(
                "Several complaints about {of} are open: name one by its id: {said}. Nothing was booked.",
                of=of,
                said=said,
            )
        )
    return open_now[0]


def open_complaints() -> QuerySet[Complaint]:
    """Return the complaints that neither a replacement still wanted nor a payment back has answered, the oldest first."""
    replaced = OrderLine.objects.filter(order__replaces__complaint=OuterRef("pk"), ended_at=None)
    paid = readings_that_count(Payment).filter(complaint=OuterRef("pk")).order_by().values("complaint")
    # a payment back made by mistake is mended by one the other way
    back = paid.annotate(sum=Sum("amount")).filter(sum__lt=0)
    rows = readings_that_count(Complaint).filter(~Exists(replaced), ~Exists(back))
    return rows.select_related("line__order__buyer", "line__variety", "parcel")


def replace(
    complaint: UUID,
    count: int | None = None,
    *,
    by: User,
    at: datetime,
    until: date | None = None,
    note: str = "",
    id: UUID | None = None,
) -> Order:
    """Answer a complaint by a new order of what went wrong, without a price; return that order.

    Parameters
    ----------
    count : int, optional
        None: as many as were complained of and are not answered yet.
    until : date, optional
        The last day on which it may be sent; None: a month from now.

    Raises
    ------
    Refused
        If the complaint was answered in full, or nothing or more than is left of it is to be replaced.
    """
    with turn():
        if id and (before := Order.objects.filter(pk=id).first()):
            return before
        about = find_complaint("", complaint)
        so_far = answered(about)
        if not so_far.left:
            raise Refused(say("That complaint was answered in full: {how}. Nothing was booked.", how=so_far))
        count = so_far.left if count is None else count
        if not 1 <= count <= so_far.left:
            raise Refused(
                say(
                    "{count} to replace: of {asked} complained of, {left} are not answered yet. Give from 1 to {left}. "
                    "Nothing was booked.",
                    count=count,
                    asked=so_far.asked,
                    left=so_far.left,
                )
            )
        of, today = about.line, at.astimezone(Nursery.get().tz).date()
        last = until or today + ANSWERED_WITHIN
        line = Line(
            of.variety.name,
            count,
            today,
            last,
            use=of.use,
            grades=tuple(grade for grade in of.grades.split(",") if grade),
            priority=1,
            instead=tuple(one.variety.name for one in of.substitutes.select_related("variety")),
        )
        said = note or say(
            "Replaces {count} of {of}: {what}.", count=count, of=of, what=about.get_what_display()
        )
        made = order(of.order.buyer.name, [line], by=by, at=at, country=of.order.country, note=said, id=id)
        created(Replacement, order=made, complaint=about)
        return made


@dataclass(frozen=True, slots=True)
class Aftermath:
    """What came after the parcels of an order."""

    arrivals: Sequence[Arrival]
    complaints: Sequence[tuple[Complaint, Answered]]  # each with how it was answered so far


def aftermath(of: Order) -> Aftermath:
    """Return how the parcels of an order arrived, and what was complained of."""
    arrivals = readings_that_count(Arrival).filter(parcel__order=of).select_related("parcel")
    complaints = readings_that_count(Complaint).filter(line__order=of)
    complaints = complaints.select_related("line__order", "line__variety", "parcel")
    return Aftermath(list(arrivals), [(one, answered(one)) for one in complaints])
