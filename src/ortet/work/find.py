"""Finding what a grower means by a code, a mark or a name; an error says what is near."""

from collections.abc import Iterable, Sequence
from difflib import get_close_matches
from typing import NoReturn

from ortet.ledger.booking import Refused, Unknown
from ortet.ledger.models import Kind, Lot, MotherPlant, Place
from ortet.ledger.places import LOOSE, ON_HAND
from ortet.ledger.slices import in_slices
from ortet.wood import code as codes
from ortet.wood.naming import fold
from ortet.wood.speech import say, to_say

__all__ = ["bag", "lot", "lots", "mother", "place", "store", "where_lot_is"]


def _near(word: str, among: list[str]) -> str:
    near = get_close_matches(word, among, n=3, cutoff=0.5)
    return say(" Near it: {near}.", near=", ".join(near)) if near else ""


def _either(kinds: Sequence[Kind]) -> str:
    return say(" or ").join(str(Kind(kind).label) for kind in kinds)


def lots(texts: Iterable[str]) -> dict[str, Lot]:
    """Return the lots with these codes or marks, in two questions; who is not among them is to be looked for by `lot`."""
    wanted = set(texts)
    rows = Lot.objects.select_related("variety", "mother__place")
    read = {text: codes.read(text) for text in wanted if codes.is_code(text)}
    coded = {one.code: one for one in in_slices(rows, "code", read.values())}
    found = {text: coded[code] for text, code in read.items() if code in coded}
    marks = {text: fold(text) for text in wanted - found.keys()}
    marked = {one.mark_key: one for one in in_slices(rows, "mark_key", marks.values())}
    return found | {text: marked[mark] for text, mark in marks.items() if mark in marked}


def lot(text: str) -> Lot:
    """Return the lot with this code or this mark of the grower's own.

    Raises
    ------
    Unknown
        If there is none; a mistyped code is told from an unknown one.
    """
    lots = Lot.objects.select_related("variety", "mother__place")
    if codes.is_code(text) and (found := lots.filter(code=codes.read(text)).first()):
        return found
    if found := lots.filter(mark_key=fold(text)).first():
        return found
    try:
        code = codes.read(text)
    except ValueError as error:
        marks = [mark for mark in Lot.objects.values_list("mark", flat=True) if mark]
        raise Unknown(
            say(
                "There is no lot marked {text!r}, and as a code: {error}{near}",
                text=text,
                error=error,
                near=_near(text, marks),
            )
        ) from None
    raise Unknown(
        say(
            "{code} is a well-formed code, but no lot in this book carries it. Nothing was booked.",
            code=codes.show(code),
        )
    )


def mother(accession: str) -> MotherPlant:
    """Return the mother plant with this accession number."""
    plants = MotherPlant.objects.select_related("variety", "place", "site")
    if found := plants.filter(accession_key=fold(accession)).first():
        return found
    near = _near(accession, list(MotherPlant.objects.values_list("accession", flat=True)))
    raise Unknown(
        say(
            "There is no mother plant {accession!r}.{near} Add it first. Nothing was booked.",
            accession=accession,
            near=near,
        )
    )


def place(text: str, *kinds: Kind) -> Place:
    """Return the place with this name or code, of one of these kinds (any where cuttings can lie, if none is given)."""
    wanted = kinds or ON_HAND
    places = Place.objects.filter(kind__in=wanted)
    if codes.is_code(text) and (found := places.filter(code=codes.read(text)).first()):
        return found
    if found := places.filter(name_key=fold(text)).first():  # no two of them share a name
        return found
    what = _either(wanted)
    near = _near(text, list(places.values_list("name", flat=True)))
    raise Unknown(
        say(
            "There is no {what} called {text!r}.{near} Add it first, or pick another. Nothing was booked.",
            what=what,
            text=text,
            near=near,
        )
    )


def bag(text: str) -> Place:
    """Return the bag with this name or code."""
    return place(text, Kind.BAG)


def store(text: str) -> Place:
    """Return the cold place with this name."""
    return place(text, Kind.STORE)


SUCH = to_say("Name such a place")
# What is done instead with cuttings that stand struck or potted, where wood is asked for.
INSTEAD = {
    Kind.BATCH: to_say("What was struck is potted on, sold or given up; a batch goes to another bench whole"),
    Kind.GROUND: to_say("What was potted is moved to another standing ground, sold or given up"),
    Kind.PARCEL: to_say(
        "What is packed leaves with its parcel, or is unpacked first: correct the movement that packed it"
    ),
}


def where_lot_is(
    lot: Lot, text: str | None = None, rather: Kind | None = None, among: Sequence[Kind] = LOOSE
) -> Place:
    """Return the place of a lot that was named, or its only place (its only one of the kind sought) when none was.

    Raises
    ------
    Refused
        If it lies in several places, in none, or in none of the kinds that the deed is about.
    """
    if text:
        there = place(text)
        if there.kind not in among:
            _refuse_other(there, among)
        return there
    whole = [
        balance.place
        for balance in lot.balances.filter(count__gt=0, place__kind__in=ON_HAND).select_related("place")
    ]
    places = [place for place in whole if place.kind in among]
    if whole and not places:
        _refuse_other(whole[0], among)
    sought = [place for place in places if place.kind == rather]
    for only in (places, sought):
        if len(only) == 1:
            return only[0]
    if not places:
        raise Refused(say("Nothing of lot {lot} is on hand. Nothing was booked.", lot=lot))
    raise Refused(
        say(
            "Lot {lot} is in {places}: say which. Nothing was booked.",
            lot=lot,
            places=", ".join(map(str, places)),
        )
    )


def _refuse_other(there: Place, among: Sequence[Kind]) -> NoReturn:
    if there.kind == Kind.PARCEL and tuple(among) == LOOSE:
        raise Refused(
            say(
                "{there} is closed. {instead}. Nothing was booked.",
                there=str(there).capitalize(),
                instead=say(INSTEAD[Kind.PARCEL]),
            )
        )
    instead = say(INSTEAD.get(Kind(there.kind), SUCH))
    raise Refused(
        say(
            "{there} is a {kind}, not a {wanted}. {instead}. Nothing was booked.",
            there=there,
            kind=Kind(there.kind).label,
            wanted=_either(among),
            instead=instead,
        )
    )
