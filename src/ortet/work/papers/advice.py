"""The advice sheet for a buyer, reckoned from what happened to the very lots that go."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from django.contrib.auth.models import User
from django.utils import timezone

from ortet.ledger.booking import Refused
from ortet.ledger.models import (
    Inspection,
    Kind,
    Lot,
    Nursery,
    Parcel,
    Place,
    PlanKind,
    Posting,
    Treatment,
    TreatmentKind,
)
from ortet.ledger.packed import contents
from ortet.ledger.places import WOOD
from ortet.ledger.readings import readings_that_count
from ortet.paper.advice import AdvicePart, AdviceSheet, advice_sheet
from ortet.science.species import species
from ortet.wood import code as codes
from ortet.wood.countries import is_country
from ortet.wood.speech import say, say_many, to_say
from ortet.work import find

from .sheet import Days, full_name, paper_for, printing, sender

if TYPE_CHECKING:
    from ortet.decisions.buyer_advice import BuyerAdvice, Going
    from ortet.decisions.dispatch import Trip
    from ortet.decisions.forecast import Forecasts, LotForecast
    from ortet.ledger.stock import Season
    from ortet.work.plan.posting import Sky

__all__ = ["Advised", "advise", "advise_parcel", "advise_parcel_with_link", "advised", "advised_parcel"]

MANY = 5  # lots on a page, beyond which each is told in brief [our choice]
ADVICE = to_say("What follows was reckoned from what happened to these very lots. It is advice, no promise.")
BEFORE = timedelta(days=150)  # of weather read before the wood was taken, so that autumn's chill is counted


@dataclass(frozen=True, slots=True)
class Advised:
    """Cuttings of a lot, and what their buyer is told."""

    lot: Lot
    count: int
    use: str
    advice: BuyerAdvice
    is_growing: bool  # a plant, or a cutting that stands in a batch


@dataclass(frozen=True, slots=True)
class _Wood:
    """Cuttings of a lot, where they lay last, and when they left it."""

    lot: Lot
    count: int
    place: Place
    until: datetime  # when they were packed; now, where they still lie there
    is_gone: bool


def advised(
    lots: Sequence[tuple[str, int | None]], *, to: str = "", now: datetime | None = None
) -> list[Advised]:
    """Return what a buyer is told of lots that lie here, as if they were posted next.

    Parameters
    ----------
    lots
        Codes or marks, each with how many go; None: all that lie there.
    to
        ISO 3166-1, where they go; nothing: within the country.

    Raises
    ------
    Refused
        If nothing of a lot is dormant wood on hand, or not so much of it; or the country is no two letters.
    """
    nursery = Nursery.get()
    now = now or nursery.now()
    if to and not is_country(to := to.strip().upper()):
        raise Refused(
            say("{to!r}: write the country as two letters, such as FR. Nothing was looked up.", to=to)
        )
    wood = []
    for name, count in lots:
        lot = find.lot(name)
        lying = list(
            lot.balances.filter(count__gt=0, place__kind__in=WOOD)
            .select_related("place")
            .order_by("-count", "pk")
        )
        there = sum(row.count for row in lying)
        if not there:
            raise Refused(
                say(
                    "Nothing of lot {lot} lies dormant on hand: there is nothing to advise on. Nothing was printed.",
                    lot=lot,
                )
            )
        if count is not None and not 0 < count <= there:
            raise Refused(
                say(
                    "{count} of lot {lot}: {there} lie on hand. Give 1 to {there}. Nothing was printed.",
                    count=count,
                    lot=lot,
                    there=there,
                )
            )
        wood.append(_Wood(lot, count or there, lying[0].place, now, is_gone=False))
    return _told(wood, nursery, now, now.astimezone(nursery.tz).date(), to)


def advised_parcel(parcel: Parcel, now: datetime | None = None) -> list[Advised]:
    """Return what a buyer is told of what lies, or went, in a parcel."""
    nursery = Nursery.get()
    now = now or nursery.now()
    of: dict[tuple[int, bool], _Wood] = {}  # dormant wood and plants of one lot apart
    most: dict[tuple[int, bool], int] = {}
    for one in contents(parcel):
        key = one.lot.pk, one.bag.kind in WOOD
        here, before = _Wood(one.lot, one.count, one.bag, one.at, is_gone=True), of.get(key)
        count = one.count + (before.count if before else 0)
        if before is None or one.count > most[key]:  # told by the place that gave the most
            most[key] = one.count
            of[key] = replace(here, count=count)
        else:
            of[key] = replace(before, count=count)
    sent = getattr(parcel, "sending", None)
    posted = (
        sent.at.astimezone(nursery.tz).date() if sent else _planned(parcel, now.astimezone(nursery.tz).date())
    )
    return _told(list(of.values()), nursery, now, posted, parcel.order.goes_to)


def _planned(parcel: Parcel, today: date) -> date:
    """Return the day on which the plan that counts posts an order; today, where it says none that is still to come."""
    from ortet.work.plan.desk import latest

    plan = latest(PlanKind.POST)
    days = (
        Posting.objects.filter(plan=plan, order=parcel.order, day__gte=today)
        if plan
        else Posting.objects.none()
    )
    return min((row.day for row in days if row.day), default=today)


def _told(wood: list[_Wood], nursery: Nursery, now: datetime, posted: date, to: str) -> list[Advised]:
    from ortet.decisions.buyer_advice import advise as decide
    from ortet.work.plan.desk import Desk
    from ortet.work.plan.posting import Sky, carrier_of

    carrier = carrier_of(nursery, to)
    for _ in range(14):
        if carrier.moves(posted):
            break
        posted += timedelta(days=1)
    # the weather is looked at from the day of posting on
    noon = datetime(posted.year, posted.month, posted.day, 12, tzinfo=nursery.tz)
    sky = Sky(Desk(min(now, noon), nursery))
    mass = sum(
        one.count * one.lot.cutting.mass_g(species(one.lot.variety.species).value("density")) for one in wood
    )
    bark = sum(one.count * one.lot.cutting.bark_m2 for one in wood)
    days = Days.of(nursery)

    def day_of(hour: float) -> date:
        return datetime.fromtimestamp(min(hour, 4e6) * 3600, tz=nursery.tz).date()

    out = []
    for one in wood:
        going = _going(one, nursery, posted, to, sky, (mass, bark))
        advice = decide(going, say_day=days.long, day_of=day_of, brief=len(wood) > MANY)
        out.append(Advised(one.lot, one.count, one.lot.use, advice, going.is_growing))
    return out


def _going(
    one: _Wood, nursery: Nursery, posted: date, to: str, sky: Sky, whole: tuple[float, float]
) -> Going:
    """Return cuttings as their buyer's advice wants to know them."""
    from ortet.decisions.buyer_advice import Going
    from ortet.decisions.racing import AIR_C, run, safe_air

    lot = one.lot
    kind = species(lot.variety.species)
    going = Going(
        kind=lot.variety.species,
        use=lot.use,
        posted=posted,
        taken=timezone.localtime(lot.taken_at, nursery.tz).date(),
        kept_days=max((one.until - lot.taken_at).total_seconds() / 86400, 0.0),
        looked=_looked(lot, one.until, nursery),
        treated=_treated(lot, one),
        units=nursery.units,
        base_c=kind.value("roots_t_opt"),
        air_c=AIR_C,
    )
    if one.place.kind not in WOOD:
        return replace(going, is_growing=True)
    season, forecasts = _forecast(one)
    state = forecasts[0]
    where = (
        say("bare on {place}", place=state.place)
        if one.place.kind == Kind.BENCH
        else say("in {store}", store=state.store)
    )
    going = replace(going, state=state, store=where)
    if state.bag:
        going = replace(
            going, wrapped_days=max((one.until.timestamp() / 3600 - season.holdings[0].since) / 24, 0.0)
        )
    trip = _trip(state, nursery, posted, to, sky, whole)
    going = replace(going, no_trip=trip) if isinstance(trip, str) else replace(going, trip=trip)
    if lot.use == "rooting":
        from ortet.work.race import start_of

        start, _ = start_of(lot, season, forecasts)
        came = trip.arrives if not isinstance(trip, str) else posted
        wait = max((came - one.until.astimezone(nursery.tz).date()).days, 0)
        raced = run(start, going.base_c, AIR_C, wait=float(wait), units=nursery.units)
        if (air := safe_air(raced)) != AIR_C:
            raced = run(start, going.base_c, air, wait=float(wait), units=nursery.units)
        going = replace(going, raced=raced, air_c=air)
    return going


def _forecast(one: _Wood) -> tuple[Season, Forecasts]:
    """Return cuttings and their forecast from where they lie, or lay until they were packed."""
    from ortet.decisions.forecast import forecast
    from ortet.ledger import stock

    since = int(stock.hours(one.lot.taken_at - BEFORE))
    if one.is_gone:
        season = stock.season_before(one.lot, one.place, one.count, one.until, since)
    else:
        season = stock.season(since, one.lot, one.place)
    return season, forecast(season.holdings, season.bags, season.climates, now=stock.hours(one.until))


def _trip(
    state: LotForecast, nursery: Nursery, posted: date, to: str, sky: Sky, whole: tuple[float, float]
) -> Trip | str:
    """Return what comes of the way for cuttings in a parcel, or why that cannot be said."""
    from ortet.decisions.buyer_advice import callus_progress
    from ortet.decisions.dispatch import Errand, Wood, trip
    from ortet.decisions.dispatch import Parcel as Box
    from ortet.work.plan.posting import CALLUSED, carrier_of

    if sky.weather is None:
        return say("No weather is recorded at the growing site.")
    share = state.state["callus"].median if "callus" in state.state else 0.0
    progress = callus_progress(share, species(state.species).value("callus_spread"))
    wood = Wood(
        state.species,
        "callused" if share >= CALLUSED else "dormant",
        *whole,
        callus=progress,
        lost=min(state.state["water_lost"].median, 0.99),
    )
    try:
        return trip(Errand(wood, Box(), carrier_of(nursery, to), sky.weather, posted, posted), posted)
    except ValueError:
        return say("The recorded weather does not reach so far.")


def _looked(lot: Lot, until: datetime, nursery: Nursery) -> str:
    """Return the last look at a lot before it was packed, in words."""
    looks = readings_that_count(Inspection).filter(lot=lot, at__lte=until).order_by("-at", "-id")
    for look in looks[:5]:
        is_clean = look.mouldy == look.dry == 0
        said = [] if look.sound is None else [say("{count} sound", count=look.sound)]
        if look.mouldy is not None and not is_clean:
            said.append(say("{count} mouldy", count=look.mouldy))
        if look.dry is not None and not is_clean:
            said.append(say("{count} dry", count=look.dry))
        if look.scratch_of:
            said.append(
                say(
                    "{green} of {tested} green when scratched",
                    green=look.scratch_green,
                    tested=look.scratch_of,
                )
            )
        if is_clean:
            said.append(say("none mouldy or dry"))
        if said:
            day = Days.of(nursery).short(look.at.astimezone(nursery.tz).date())
            return say("Looked at on {day}: {said}.", day=day, said=", ".join(said))
    return ""


def _treated(lot: Lot, one: _Wood) -> tuple[str, ...]:
    """Return what was done to cuttings in their last place that a buyer should know."""
    done = (
        readings_that_count(Treatment)
        .filter(place=one.place, at__lte=one.until)
        .exclude(kind__in=(TreatmentKind.WIPE, TreatmentKind.AIR))
        .order_by("at")
    )
    words = [
        " ".join(filter(None, (str(treatment.get_kind_display()), treatment.agent, treatment.strength)))
        for treatment in done
        if treatment.lot_id in (None, lot.pk)
    ]
    return tuple(dict.fromkeys(words))


def advise(
    lots: Sequence[tuple[str, int | None]], *, to: str = "", paper: str = "", now: datetime | None = None
) -> bytes:
    """Return the advice sheet for lots that lie here, as a PDF.

    Raises
    ------
    Refused
        If nothing of a lot is dormant wood on hand, the paper is unknown, or a name cannot be written.
    """
    nursery = Nursery.get()
    on = paper_for(paper, nursery)
    if not lots:
        raise Refused(say("Name at least one lot. Nothing was printed."))
    return _printed(advised(lots, to=to, now=now), nursery, on, "", "", now)


def advise_parcel(number: int, *, paper: str = "", report: str = "", now: datetime | None = None) -> bytes:
    """Return the advice sheet for what lies, or went, in a parcel, as a PDF.

    Parameters
    ----------
    report
        The address by which its buyer reports back, printed with its code; nothing: none.

    Raises
    ------
    Refused
        If nothing lies in it, the paper is unknown, or a name cannot be written.
    Unknown
        If there is no such parcel.
    """
    from ortet.work.packing import find_parcel

    nursery, parcel = Nursery.get(), find_parcel(number)
    on = paper_for(paper, nursery)
    told = advised_parcel(parcel, now)
    if not told:
        raise Refused(
            say("Nothing lies in parcel {number}. Pack something first. Nothing was printed.", number=number)
        )
    return _printed(
        told, nursery, on, say("parcel {number}", number=number), report, now, to=parcel.order.buyer.name
    )


def advise_parcel_with_link(number: int, *, by: User, at: datetime, paper: str = "") -> bytes:
    """Make a new link by which the buyer of a parcel reports back; return the advice sheet with it, as a PDF.

    Raises
    ------
    Refused, Unknown
        As `advise_parcel`. What cannot be printed makes no link.
    """
    from ortet.work.packing import report_address, report_link

    advise_parcel(number, paper=paper)
    word = report_link(number, by=by, at=at)
    return advise_parcel(number, paper=paper, report=report_address(word))


def _printed(
    told: list[Advised],
    nursery: Nursery,
    on: str,
    parcel: str,
    report: str,
    now: datetime | None,
    to: str = "",
) -> bytes:
    from ortet.decisions.buyer_advice import ON_ARRIVAL

    count = sum(one.count for one in told)
    day = Days.of(nursery).whole((now or nursery.now()).astimezone(nursery.tz).date())
    head = sender(nursery)
    unknown = dict.fromkeys(words for one in told for words in one.advice.unknown)
    cuttings = say_many("{count} cutting", "{count} cuttings", count)
    lots = say_many("{count} lot", "{count} lots", len(told))
    what = (
        say("{cuttings} of {lots}, {parcel}.", cuttings=cuttings, lots=lots, parcel=parcel)
        if parcel
        else say("{cuttings} of {lots}.", cuttings=cuttings, lots=lots)
    )
    sheet = AdviceSheet(
        sender=head,
        title=say("How to set these cuttings"),
        day=day,
        to=" ".join([*([say("For {buyer}.", buyer=to)] if to else []), what, say(ADVICE)]),
        parts=tuple(_part(one) for one in told),
        on_arrival=tuple(map(say, ON_ARRIVAL)),
        unknown=tuple(unknown),
        report=report,
        foot="  ·  ".join(filter(None, (head.lines[0], parcel, day))),
    )
    with printing():
        return advice_sheet(sheet, paper=on)  # type: ignore[arg-type]


def _part(one: Advised) -> AdvicePart:
    lot = one.lot
    kind, when = say(species(lot.variety.species).name), one.advice.set_why
    if one.is_growing:
        set_by = say("Plant {when}", when=when)
    else:
        kind = say("{kind}, for {use}", kind=kind, use=lot.get_use_display())
        set_by = say("Graft {when}", when=when) if one.use == "grafting" else say("Set {when}", when=when)
    return AdvicePart(
        variety=full_name(lot),
        kind=kind,
        lot=codes.show(lot.code),
        count=one.count,
        set_by=set_by,
        said=one.advice.said,
    )
