"""What a trace begins with: whatever is scanned, typed or written on a label."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from difflib import get_close_matches

from ortet.ledger import lineage
from ortet.ledger.booking import Refused, Unknown
from ortet.ledger.models import Batch, Buyer, Kind, Lot, MotherPlant, Order, Place
from ortet.ledger.places import NAMED
from ortet.wood import code as codes
from ortet.wood.naming import fold
from ortet.wood.speech import say

__all__ = ["Ambiguous", "Asked", "asked"]

# The word before a name that says what it is the name of, where several things share it.
WORDS = ("lot", "place", "tray", "mother", "order", "buyer")
SAME = {
    **dict.fromkeys(
        ("growing site", "cold place", "bench", "bag", "batch", "standing ground", "parcel"), "place"
    ),
    "mother plant": "mother",
    "accession": "mother",
}


class Ambiguous(Refused):
    """Several things go by one name; `choices` are the words that tell them apart."""

    def __init__(self, text: str, choices: list[str]) -> None:
        self.choices = choices
        super().__init__(
            say(
                "Several things are called {text!r}. Say which: {choices}.",
                text=text,
                choices=", ".join(choices),
            )
        )


@dataclass(frozen=True, slots=True)
class Asked:
    """What is traced: lots whole, or only what lay in some places."""

    word: str  # one of WORDS
    text: str  # that finds it again
    says: str  # what it is, as a grower says it
    lots: frozenset[int]
    lay: frozenset[tuple[int, int]] = field(default_factory=frozenset)  # (lot, place)

    @property
    def called(self) -> str:
        """What finds this and nothing else."""
        return f"{self.word} {self.text}"


def _of_lot(lot: Lot) -> Asked:
    says = (
        say("lot {lot} ({mark}), {variety}", lot=lot, mark=lot.mark, variety=lot.variety)
        if lot.mark
        else say("lot {lot}, {variety}", lot=lot, variety=lot.variety)
    )
    return Asked("lot", codes.show(lot.code), says, frozenset({lot.pk}))


def _of_place(place: Place) -> Asked:
    lay = frozenset(lineage.lay_in(place))
    kind = "" if place.name.lower().startswith(place.get_kind_display()) else f"{place.get_kind_display()} "
    return Asked("place", place.name, f"{kind}{place.name}", frozenset(), lay)


def _of_mothers(mothers: list[MotherPlant], word: str, text: str, says: str) -> Asked:
    return Asked(word, text, says, frozenset(lineage.taken_from(mothers)))


def _of_mother(mother: MotherPlant) -> Asked:
    says = say("mother plant {accession}, {variety}", accession=mother.accession, variety=mother.variety)
    return _of_mothers([mother], "mother", mother.accession, says)


def _at_place(place: Place) -> Asked:
    if place.kind == Kind.SITE:
        says = say("all that was taken at {place}", place=place)
        return _of_mothers(list(place.mothers_here.all()), "place", place.name, says)
    return _of_place(place)


def _places(text: str) -> Iterator[Asked]:
    # the kinds written out, as in the index over names: SQLite does not see that values given apart are the same
    kinds = ", ".join(f"'{kind.value}'" for kind in NAMED)
    for place in Place.objects.filter(name_key=fold(text)).extra(where=[f"kind IN ({kinds})"]):
        yield _at_place(place)


def _trays(text: str) -> Iterator[Asked]:
    """Find what is written on a tray: several batches may share one."""
    batches = [row for row in Batch.objects.filter(tray__iexact=text).select_related("place") if row.tray]
    if batches:
        lay = {pair for batch in batches for pair in lineage.lay_in(batch.place)}
        tray = batches[0].tray
        yield Asked("tray", tray, say("tray {tray}", tray=tray), frozenset(), frozenset(lay))


def _orders(text: str) -> Iterator[Asked]:
    number = text.removeprefix("#")
    if number.isdecimal() and len(number) < 10:
        for order in Order.objects.filter(number=int(number)).select_related("buyer"):
            says = say("order {number} of {buyer}", number=order.number, buyer=order.buyer)
            yield Asked("order", str(order.number), says, frozenset(lineage.sold_to(order)))


def _buyers(text: str) -> Iterator[Asked]:
    for buyer in Buyer.objects.filter(name_key=fold(text)):
        says = say("all that {buyer} bought", buyer=buyer)
        yield Asked("buyer", buyer.name, says, frozenset(lineage.sold_to(buyer)))


def _of_code(text: str) -> Asked | None:
    """Find the one thing that carries a code: no two do."""
    code = codes.read(text)
    if lot := Lot.objects.select_related("variety").filter(code=code).first():
        return _of_lot(lot)
    place = Place.objects.filter(code=code).first()
    if place and place.kind == Kind.MOTHER:
        return _of_mother(MotherPlant.objects.select_related("variety").get(place=place))
    return _at_place(place) if place and place.kind in NAMED else None


def _named(text: str, only: str) -> list[Asked]:
    found: list[Asked] = []
    lots = Lot.objects.select_related("variety").filter(mark_key=fold(text))
    plants = MotherPlant.objects.select_related("variety").filter(accession_key=fold(text))
    for word, answers in (
        ("lot", map(_of_lot, lots.iterator())),
        ("place", _places(text)),
        ("mother", map(_of_mother, plants.iterator())),
        ("order", _orders(text)),
        ("buyer", _buyers(text)),
    ):
        if only in ("", word):
            found += answers
    return found


def _near(text: str) -> str:
    names = [
        *Place.objects.filter(kind__in=NAMED).values_list("name", flat=True),
        *MotherPlant.objects.values_list("accession", flat=True),
        *Buyer.objects.values_list("name", flat=True),
        *Lot.objects.exclude(mark=None).values_list("mark", flat=True),
    ]
    near = get_close_matches(text, filter(None, names), n=3, cutoff=0.6)
    return say(" Near it: {near}.", near=", ".join(near)) if near else ""


def asked(text: str) -> Asked:
    """Return what is meant by a code, a mark, a name, an accession number, an order's number or a label's address.

    Raises
    ------
    Ambiguous
        If several things are called so and no word such as "lot" or "buyer" before it says which.
    Unknown
        If nothing in the book is; a mistyped code is told from an unknown one.
    """
    text = " ".join(text.replace("\0", " ").split())
    if not text:
        raise Refused(
            say("Say what to trace: a code, a mark, a name, an accession number or an order's number.")
        )
    if "://" in text:  # a scanner types the whole address that a label's code holds
        text = text.rstrip("/").rpartition("/")[2]
    only, rest = "", text
    same = SAME | {str(kind.label): "place" for kind in NAMED}
    for word in sorted((*WORDS, *same), key=len, reverse=True):
        if text.lower().startswith(f"{word} "):
            only, rest = same.get(word, word), text[len(word) + 1 :].strip()
            break
    if codes.is_code(rest) and (found := _of_code(rest)):
        return found
    matches = (_named(rest, only) if only else []) or _named(text, "")
    matches = matches or list(
        _trays(rest)
    )  # last: a tray's batches have names of their own, mostly much like it
    if len(matches) > 1:
        raise Ambiguous(rest, [match.called for match in matches])
    if matches:
        return matches[0]
    said = say(
        "Nothing in this book is called {text!r}: no code, mark, place, accession, order or buyer.", text=text
    )
    if codes.is_code(rest):
        said = say(
            "{code} is a well-formed code, but nothing in this book carries it.",
            code=codes.show(codes.read(rest)),
        )
    elif len(rest.replace("-", "").replace(" ", "")) == codes.PAYLOAD + 1 and any(map(str.isdigit, rest)):
        said += say(" If it is a code, a character was misread: read the label again.")
    raise Unknown(f"{said}{_near(rest)}")
