"""Books in tests, written as the text of what happened.

    2027-01-05 09:00  mother M1 Dusk blackcurrant
    2027-01-05 10:00  take M1 40 as L1
    2027-01-05 11:00  bag L1 30 into K1 at North
    2027-02-01 09:00  weigh K1 412

One line, one deed; times are UTC.
"""

import io
from dataclasses import dataclass, field
from datetime import UTC, datetime
from decimal import Decimal

from django.contrib.auth.models import User

from ortet import work
from ortet.ledger.models import (
    Erasure,
    Leave,
    Lot,
    MotherPlant,
    Movement,
    PassportData,
    Payment,
    Place,
    Warrant,
)
from ortet.work import books, orders, packing, receiving
from ortet.work.receiving import SlipLine
from ortet.work.trials import Wanted, design_trial, strike_trial

__all__ = ["Book", "a_photo", "write"]


@dataclass
class Book:
    """What was written, by the marks and names used in the text."""

    lots: dict[str, Lot] = field(default_factory=dict)
    mothers: dict[str, MotherPlant] = field(default_factory=dict)
    places: dict[str, Place] = field(default_factory=dict)
    movements: list[Movement] = field(default_factory=list)

    @property
    def lot(self) -> Lot:
        return self.lots["L1"]

    @property
    def child(self) -> Lot:
        return self.lots["L2"]

    @property
    def other_mother(self) -> MotherPlant:
        return self.mothers["M2"]

    @property
    def bench(self) -> Place:
        return Place.objects.get(kind="bench", name="Bench")


def write(text: str, by: User) -> Book:
    """Do every deed of a text; return the book."""
    book = Book()
    for line in filter(None, map(str.strip, text.splitlines())):
        day, hour, verb, *words = line.split()
        _do(book, verb, words, by, datetime.fromisoformat(f"{day}T{hour}").replace(tzinfo=UTC))
    return book


def _do(book: Book, verb: str, words: list[str], by: User, at: datetime) -> None:
    match verb, words:
        case "mother", [accession, variety, species]:
            book.mothers[accession] = work.add_mother(accession, variety, species, site="Hill")
        case "place", [kind, name]:
            book.places[name] = work.add_place(name, kind)
        case "take", [accession, count, "as", mark]:
            book.lots[mark] = work.take(accession, int(count), mark=mark, by=by, at=at)
        case "split", [mark, count, "from", place, "as", child]:
            book.lots[child] = work.split(mark, int(count), from_place=place, mark=child, by=by, at=at)
        case "bag", [mark, count, "into", name, "at", store]:
            book.places[name] = work.bag(
                [(mark, int(count), None)], name=name, store=store, tare_g=20, by=by, at=at
            )
        case "move", [mark, count, "from", here, "to", there]:
            book.movements.append(work.move(mark, int(count), from_place=here, to_place=there, by=by, at=at))
        case "give-up", [mark, count, "from", place]:
            book.movements.append(work.give_up(mark, int(count), from_place=place, by=by, at=at))
        case "not-found", [mark, count, "from", place]:
            book.movements.append(
                work.give_up(mark, int(count), from_place=place, not_found=True, by=by, at=at)
            )
        case "correct-last", why:
            last = Movement.objects.order_by("-number").first()
            book.movements.append(work.correct(last.number, note=" ".join(why), by=by, at=at))
        case "weigh", [bag, grams]:
            work.weigh(bag, float(grams), by=by, at=at)
        case "withdraw-last-weighing", [bag, *why]:
            last = book.places[bag].weighings.latest("at")
            work.withdraw(last.pk, note=" ".join(why), by=by, at=at)
        case "stand", [bag, store]:
            work.stand(bag, store, by=by, at=at)
        case "inspect", [place, mark, *seen]:
            pairs = dict(pair.split("=") for pair in seen)
            water = pairs.pop("free_water", "")
            numbers = {name: int(value) for name, value in pairs.items()}
            work.inspect(place, lot=mark, free_water=water, by=by, at=at, **numbers)
        case "treat", [place, kind]:
            work.treat(place, kind, by=by, at=at)
        case "strike", [mark, count, "from", place, "as", name, "on", bench, *ways]:
            said = {"from_place": place, "name": name, "bench": bench, **_ways(ways)}
            batch = work.strike(mark, int(count), by=by, at=at, **said)
            book.places[name] = batch.place
        case "trial", [name, variety, *treatments]:
            wanted = Wanted(
                tuple(treatments), (variety,), rows=2, columns=4, plot_cuttings=2, blocks=2, seed=7
            )
            design_trial(name, "Which roots more?", wanted, by=by, at=at)
        case "strike-trial", [number, mark, "on", bench]:
            strike_trial(int(number), [mark], bench=bench, by=by, at=at)
        case "receive", [sender, variety, species, count, "as", mark, "on", bench]:
            line = SlipLine(variety, species, int(count), mark=mark)
            parcel = receiving.begin(sender, lines=[line], by=by, at=at)
            receiving.note_found(parcel.number, 1, at=at, counted=int(count), mouldy=0, dead=0)
            receiving.finish(parcel.number, bench=bench, then={1: "strike"}, by=by, at=at)
            book.lots[mark] = Lot.objects.get(mark=mark)
        case "note", [place, *words]:
            work.note(" ".join(words), place=place, by=by, at=at)
        case "photo", [place]:
            work.photograph(a_photo(), place=place, by=by, at=at)
        case "graft", [scion, stock, count, "as", mark, "in", name, "on", bench]:
            batch = work.graft(scion, stock, int(count), mark=mark, name=name, bench=bench, by=by, at=at)
            book.places[name], book.lots[mark] = batch.place, batch.lot
        case "count", [place, *seen]:
            numbers = {word: int(number) for word, number in (pair.split("=") for pair in seen)}
            work.count(place, by=by, at=at, **numbers)
        case "pot", [batch, count, "to", ground]:
            book.movements.append(work.pot_on(batch, int(count), to=ground, by=by, at=at))
        case "sell", [mark, count, "from", place, "to", buyer]:
            book.movements.append(work.sell(mark, int(count), from_place=place, buyer=buyer, by=by, at=at))
        case "selling", [buyer]:
            _rows_of_selling(book, buyer, by, at)
        case _:
            raise ValueError(f"not a deed: {verb} {' '.join(words)}")


def _rows_of_selling(book: Book, buyer: str, by: User, at: datetime) -> None:
    """Sell through a parcel, and put a row into each table about selling that no deed fills yet."""
    said = {"at": at, "by": by}
    asked = orders.Line("Dusk", 2, at.date(), at.date(), price=Decimal("2.10"))
    line = orders.order(buyer, [asked], by=by, at=at).lines.get()
    packing.pack(str(line), "P1", 2, lot="P1", by=by, at=at)
    sent = packing.send(1, gross_g=420, by=by, at=at).movements
    packing.arrived(1, "dry", by=by, at=at)
    complaint = packing.complain(str(line), "dry", 1, parcel=1, by=by, at=at)
    packing.replace(complaint.pk, by=by, at=at)
    packing.told(sent[0].number, 2, 1, told_on=at.date(), by=by, at=at)
    book.movements += sent
    Payment.objects.create(order=line.order, amount=Decimal("4.20"), on=at.date(), **said)
    books.receipt(line.order.number, by=by, at=at)
    Erasure.objects.create(buyer=line.order.buyer, **said)
    Warrant.objects.create(variety=line.variety, leave=Leave.LICENCE, words="no. 7", **said)
    books.spend(Decimal("9.90"), "bags", by=by, at=at)
    books.minutes("struck", Decimal("12.5"), by=by, at=at)
    PassportData.objects.create(mother=book.other_mother, said={"ORIGCTY": "DEU"})


def a_photo(width: int = 40, height: int = 30, exif: bytes = b"") -> bytes:
    """Return a small picture as a camera writes it, brown on one side and green on the other."""
    from PIL import Image

    picture = Image.new("RGB", (width, height), "#5a4030")
    picture.paste("#1c6636", (0, 0, width // 2, height))
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=90, exif=exif)
    return out.getvalue()


def _ways(pairs: list[str]) -> dict[str, object]:
    """Read how a batch is struck, such as base_c=22 medium=sand."""
    said: dict[str, object] = dict(pair.split("=") for pair in pairs)
    return said | {"base_c": float(str(said["base_c"]))} if "base_c" in said else said


FULL = """
    2027-01-04 08:00  mother M1 Dusk blackcurrant
    2027-01-04 08:00  mother M2 Lantern gooseberry
    2027-01-04 08:00  place store North
    2027-01-04 08:00  place store South
    2027-01-05 09:00  take M1 40 as L1
    2027-01-05 10:00  split L1 8 from Bench as L2
    2027-01-05 11:00  bag L1 30 into K1 at North
    2027-01-05 11:30  bag L2 8 into K2 at North
    2027-01-05 12:00  weigh K1 320
    2027-01-05 12:05  weigh K2 99
    2027-01-05 12:06  withdraw-last-weighing K2 misread the scale
    2027-01-06 09:00  take M2 20 as L3
    2027-01-06 10:00  move L1 1 from Bench to K2
    2027-01-06 11:00  move L1 1 from Bench to K1
    2027-01-06 11:05  correct-last one too many
    2027-01-06 12:00  give-up L3 2 from Bench
    2027-01-20 09:00  not-found L1 1 from K1
    2027-01-25 09:00  inspect K1 L1 sound=25 mouldy=1 dry=0 scratch_green=4 scratch_of=5 callus=1 free_water=droplets
    2027-01-25 09:30  treat K1 wipe
    2027-01-26 09:00  weigh K1 311
    2027-01-27 09:00  stand K2 South
    2027-01-28 08:00  place bench Warm
    2027-01-28 08:00  place ground Yard
    2027-01-28 09:00  take M1 11 as W1
    2027-01-28 09:05  take M2 3 as W2
    2027-01-28 10:00  strike W1 8 from Bench as S1 on Warm base_c=22 medium=sand treatment=none
    2027-01-28 11:00  graft W1 W2 3 as W3 in G1 on Warm
    2027-01-30 09:00  count S1 rooted=4 callused=3 dead=1
    2027-01-30 10:00  pot S1 3 to Yard
    2027-01-30 11:00  sell W1 2 from Yard to Hedge
    2027-01-30 12:00  trial Dip Dusk none K-IBA
    2027-01-30 13:00  note S1 two cells flooded
    2027-01-30 13:05  photo S1
    2027-01-30 13:20  take M1 2 as P1
    2027-01-30 13:30  selling Hedge
    2027-01-30 14:00  receive Tarn Dusk blackcurrant 6 as R1 on Sorting
"""
