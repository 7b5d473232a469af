"""Whom the demo nursery deals with: eighty buyers and a hundred and fifty orders, most of them of the winter before.

All of it invented. What was sold then came from lots cut to be sold, and left in a parcel or over the gate.
"""

from collections.abc import Callable, Iterator
from datetime import date, datetime, timedelta
from decimal import Decimal
from random import Random

from django.contrib.auth.models import User

from ortet import work
from ortet.ledger.booking import drawn_from
from ortet.ledger.models import Lot, Order
from ortet.work import packing, receiving
from ortet.work.books import receipt
from ortet.work.books.spending import spend
from ortet.work.nursery import books_with, papers_with
from ortet.work.orders import Line, order
from ortet.work.payments import pay
from ortet.work.plants import describe_variety
from ortet.work.receiving import SlipLine

from .climate import BARN, NOW, local
from .plants import MOTHERS
from .wood import SIZES

__all__ = ["deal"]

SEED = 8150
KINDS = {mother.accession: (mother.variety, mother.species) for mother in MOTHERS}
LETTERHEAD = "Ebbenau Nursery (invented)\nBrook field 1\nEbbenau"

# town, country: who lives there. They and the towns are invented; none has an address in the book until something is sent there.
FOLK = """
Ebbenau CZ: Alder Nook garden, Bent Nail smallholding, Brick Oven yard, Chapel Steps, Clay Pipe nursery*, Dame's Orchard, Ferryman's plot, Gable End, Heron Croft
Osterholt CZ: Ivy Ladder, Juniper Gate, Kiln Corner, Lantern Hill school, Lime Walk nursery*, Mill Race garden, North Byre, Oat Loft, Pear Tree Row
Lower Sedge CZ: Pump House, Quill Cottage, Reed Mace farm, Rowan Stile, Salt Box, Sheep Wash, Skylark Field, Smithy Lane, Snow Gauge
Tibb CZ: Stone Trough, Sun Dial yard, Tall Chimney, Tannery Yard, Thatcher's End, Three Sluices, Toll Bar nursery*, Turf Stack
Altspoon AT: Upper Landing, Vicar's Hedge, Walnut Court, Watch Tower, Water Meadow nursery*, Well Sweep, Wheel House, White Gander
Norderkoog DE: Windpump farm, Withy Bed, Wood Ash, Wren Box, Yard Arm, Yellow Door, Barley Ridge nursery*, Bell Rope
Aldermoor DE: Blue Bucket, Cart Shed, Cob Wall, Cold Frame club, Crab Apple Lane, Dove Loft, Dry Dock, Fallow Strip
Unterleiten SK: Frost Pocket, Goose Green, Hay Meadow, Hop Pole, Iron Gate nursery*, Jackdaw Roof, Ledger Stone
"""

# mark, mother plant, cut on, how many, price of one: wood cut in the winter before to be sold as it is
FOR_SALE = """
25-101 C-01 2025-11-25 90 1.10
25-102 C-04 2025-11-25 70 1.10
25-103 C-06 2025-11-26 80 1.00
25-104 R-02 2025-11-18 80 1.10
25-105 R-04 2025-11-18 60 1.10
25-106 G-02 2025-11-12 60 1.30
25-107 E-01 2025-12-17 50 1.20
25-108 V-02 2025-12-10 110 1.40
25-109 V-04 2025-12-11 90 1.40
25-110 Q-02 2025-12-16 80 1.40
25-111 M-02 2025-12-02 50 2.00
25-112 Q-04 2025-12-16 60 1.40
"""
THEN = 108  # orders of the winter before, of which each third went by parcel
# This season's, besides those in wishes.py: small ones, of what there is plenty of.
PLENTY = (
    ("Slate Finch", "1.50"),
    ("Inkwell Lass", "1.20"),
    ("Ember Latch", "1.20"),
    ("Wool Lamp", "1.50"),
    ("Dusk Pergola", "1.50"),
)
NOW_TOO = 24  # with the swap, the protected one, the one that is packed and the one that makes good: 150
PROTECTED = ("Tarn Velvet", "right no. 0000 of an invented office", date(2034, 12, 31))

# outlay, day, net, what
SPENT = """
material | 2025-11-03 | 64.80 | bags, film and labels
material | 2026-02-10 | 118.00 | sand, bark and trays
heat | 2026-03-31 | 86.40 | power for the mats
tools | 2026-01-12 | 39.90 | two knives and a stone
postage | 2026-03-20 | 148.50 | stamps and boxes
material | 2026-11-02 | 71.20 | bags, film and labels
"""


def deal(by: User, told: Callable[[int, int], None] = lambda done, total: None) -> None:
    """Book whom the nursery dealt with: buyers, orders, parcels, payments and what was heard afterwards."""
    steps = (
        _ways, _cut_to_be_sold, _sold_then, _receipted, _heard, _not_sold, _asked_now, _received_then, _opened, _spent,
    )  # fmt: skip
    draw = Random(SEED)
    with drawn_from(Random(SEED + 1)):
        for number, step in enumerate(steps):
            told(number, len(steps))
            step(by, draw)
    told(len(steps), len(steps))


def _rows(table: str, mark: str = " ") -> Iterator[list[str]]:
    for line in table.strip().splitlines():
        yield [cell.strip() for cell in line.split(mark)]


def _folk() -> list[tuple[str, str, str, bool]]:
    """Return buyers as name, town, country and whether they trade, one town after another."""
    found = []
    for where, names in _rows(FOLK, ":"):
        town, _, country = where.rpartition(" ")
        found += [(name.strip().rstrip("*"), town, country, name.endswith("*")) for name in names.split(",")]
    return found


def _ways(_: User, __: Random) -> None:
    papers_with(letterhead=LETTERHEAD, contact="post@ebbenau.example", currency="EUR")
    books_with(wage=Decimal("12.00"))
    name, right, until = PROTECTED
    describe_variety(name, right=right, right_until=until)
    for name, town, country, trades in _folk():
        work.buyer(name, address=town, country=country, is_trade=trades)


def _cut_to_be_sold(by: User, _: Random) -> None:
    for mark, accession, day, count, _price in _rows(FOR_SALE):
        length, base, tip, nodes = SIZES["medium"][KINDS[accession][1]]
        piece = {"length_mm": length, "base_mm": base, "tip_mm": tip, "nodes": nodes}
        work.take(accession, int(count), mark=mark, grade="medium", by=by, at=local(f"{day} 13:40"), **piece)
        work.bag([(mark, None, None)], store=BARN, name=mark, by=by, at=local(f"{day} 16:10"))


def _sold_then(by: User, draw: Random) -> None:
    """Note and fill the orders of the winter before: each third by parcel, the others fetched at the gate."""
    left = {mark: int(count) for mark, _, _, count, _ in _rows(FOR_SALE)}
    price = {mark: Decimal(amount) for mark, *_, amount in _rows(FOR_SALE)}
    variety = {mark: KINDS[accession][0] for mark, accession, *_ in _rows(FOR_SALE)}
    folk = _folk()
    for number in range(THEN):
        name, _, country, _ = folk[number % len(folk)]
        mark = max(left, key=lambda one: (left[one], one))
        count = min(left[mark], draw.randint(4, 10))
        left[mark] -= count
        noted = local("2025-12-20 09:00") + timedelta(hours=11 * number)
        goes = noted + timedelta(days=7)
        by_post = number % 3 == 0
        line = Line(variety[mark], count, goes.date(), goes.date() + timedelta(days=30), price=price[mark])
        wanted = order(
            name, [line], by=by, at=noted, country=country, carriage=Decimal("4.80") if by_post else None
        )
        if by_post:
            _post(wanted, mark, count, goes, by)
        else:
            work.sell(mark, count, order=str(wanted.number), from_place=mark, by=by, at=goes)
        due = count * price[mark] + (Decimal("4.80") if by_post else 0)
        if number % 9 != 8:  # some never paid
            pay(wanted.number, due, by=by, at=goes, how="transfer" if by_post else "cash")


def _receipted(by: User, _: Random) -> None:
    """Give a receipt to each buyer who trades, for what went to them by parcel."""
    went = Order.objects.filter(buyer__is_trade=True, parcels__sending__isnull=False).order_by("number")
    for one in went:
        receipt(one.number, by=by, at=one.parcels.get().sending.at + timedelta(days=1))


def _post(wanted: Order, mark: str, count: int, at: datetime, by: User) -> None:
    packed = packing.pack(f"{wanted.number}/1", mark, count, lot=mark, from_place=mark, by=by, at=at)
    box = packed.to_place.parcel
    packing.send(box.number, gross_g=120.0 + 15 * count, carrier="post", by=by, at=at + timedelta(hours=1))


def _heard(by: User, draw: Random) -> None:
    """Book what was heard of parcels: how they arrived, two complaints and how they were answered, what struck."""
    sent = list(Order.objects.filter(parcels__sending__isnull=False).order_by("number"))
    for place, one in enumerate(sent[:18]):
        parcel = one.parcels.get()
        came = parcel.sending.at + timedelta(days=3)
        packing.arrived(parcel.number, "dry" if place in (4, 11) else "good", by=by, at=came)
        for seen in packing.reporting.sold_in(parcel) if place % 2 else ():
            rooted = sum(draw.random() < 0.72 for _ in range(seen.count))
            day = came + timedelta(days=120)
            packing.told(seen.movement.number, seen.count, rooted, by=by, at=day, told_on=day.date())
    for one, answer in ((sent[4], "replace"), (sent[11], "money")):
        at = one.parcels.get().sending.at + timedelta(days=4)
        wrong = packing.complain(f"{one.number}/1", "dry", 3, by=by, at=at)
        if answer == "replace":
            again = packing.replace(wrong.pk, by=by, at=at + timedelta(days=1))
            mark = Lot.objects.get(movements__packing__line__order=one).mark or ""
            _post(again, mark, 3, at + timedelta(days=2), by)
        else:
            back = 3 * (one.lines.get().price or Decimal(0))
            pay(one.number, -back, complaint=wrong.pk, by=by, at=at + timedelta(days=1))


def _not_sold(by: User, _: Random) -> None:
    for mark, *_rest in _rows(FOR_SALE):
        if stock := Lot.objects.get(mark=mark).balances.filter(place__name=mark, count__gt=0).first():
            work.give_up(mark, stock.count, note="grown out, not sold", by=by, at=local("2026-04-24 10:00"))


def _asked_now(by: User, draw: Random) -> None:
    """Note this season's small orders: some with a deposit, one swap, one of a protected variety, one packed already."""
    folk = _folk()
    for number in range(NOW_TOO):
        name, _, country, _ = folk[(7 * number + 3) % len(folk)]
        variety, price = PLENTY[number % len(PLENTY)]
        first = date(2027, 3, 1) + timedelta(days=number % 14)
        line = Line(
            variety, draw.randint(2, 4), first, first + timedelta(days=28), price=Decimal(price), priority=4
        )
        noted = local("2027-01-08 18:00") + timedelta(days=number)
        wanted = order(name, [line], by=by, at=noted, country=country, carriage=Decimal("4.80"))
        if number % 6 == 0:
            pay(wanted.number, Decimal("5.00"), by=by, at=noted, is_deposit=True, how="transfer")
    march = (date(2027, 3, 1), date(2027, 4, 10))
    order(
        "Wheel House", [Line("Brook Magpie", 5, *march)], is_swap=True,
        in_return="five cuttings of an old white currant", by=by, at=local("2027-01-20 20:00"),
    )  # fmt: skip
    order(
        "Dove Loft",
        [Line(PROTECTED[0], 4, *march, price=Decimal("1.60"))],
        by=by,
        at=local("2027-02-01 12:00"),
    )
    soon = (date(2027, 2, 8), date(2027, 3, 1))
    packed = order(  # its first line is packed, its second still to be picked
        "Gable End",
        [Line(name, count, *soon, price=Decimal("1.20")) for name, count in (("Inkwell Lass", 4), ("Ember Latch", 3))],
        by=by, at=local("2027-02-02 08:00"),
    )  # fmt: skip
    lies = next(stop for stop in packing.walk(packed.number) if stop.lot.variety.name == "Inkwell Lass")
    packing.pack(
        f"{packed.number}/1", lies.lot.mark or lies.lot.code, 4, lot=lies.lot.mark or lies.lot.code,
        from_place=lies.place.name, by=by, at=NOW - timedelta(hours=15),
    )  # fmt: skip


def _received_then(by: User, _: Random) -> None:
    """Receive a parcel of the winter before: one line dead on arrival, the other taken by the frost on the bench."""
    opened = local("2026-01-16 10:30")
    slip = [
        SlipLine("Inkwell Lass", "blackcurrant", 12, 250.0, mark="25-201"),
        SlipLine("Slate Finch", "grape", 10, 410.0, mark="25-202"),
    ]
    parcel = receiving.begin("Aldermoor hedge swap", lines=slip, posted_on=date(2026, 1, 7), by=by, at=opened)
    receiving.note_found(
        parcel.number, 1, at=opened, counted=12, came_g=171.0, wrinkled=True, mouldy=0, dead=12
    )
    receiving.note_found(parcel.number, 2, at=opened, counted=10, came_g=398.0, mouldy=0, dead=0)
    receiving.finish(parcel.number, then={1: "give up", 2: "strike"}, by=by, at=opened + timedelta(hours=1))
    work.give_up("25-202", None, note="frost on the bench", by=by, at=local("2026-01-19 07:50"))


def _opened(by: User, _: Random) -> None:
    """Leave a parcel open on the bench: one line looked at, one not yet."""
    slip = [SlipLine("Inkwell Lass", "blackcurrant", 12, 260.0), SlipLine("Old Mittens", "gooseberry", 10)]
    opened = NOW - timedelta(hours=14)
    parcel = receiving.begin("Aldermoor hedge swap", lines=slip, posted_on=date(2027, 2, 9), by=by, at=opened)
    receiving.note_found(parcel.number, 1, at=opened, counted=12, came_g=247.0, mouldy=0, dead=0)


def _spent(by: User, _: Random) -> None:
    for outlay, day, net, what in _rows(SPENT, "|"):
        spend(Decimal(net), what, outlay=outlay, on=date.fromisoformat(day), by=by, at=local(f"{day} 19:00"))
