"""Calls that show: Today, lists, one of each, the plan, the evidence, a trace, a scan, the recount. They book nothing."""

from typing import Annotated, Any, Literal

from django.http import HttpRequest
from ninja import Field, Path, Query, Router

from ortet.work import lists
from ortet.work.orders import find_order

from . import answers, said
from .problems import REFUSALS
from .token import Token

__all__ = ["look"]

look = Router()
MOST = 500  # rows in one answer

Search = Annotated[str, Field(max_length=200, description="Words that are all to be found.")]
First = Annotated[int, Field(ge=0, le=2**31 - 1, description="How many rows to pass over.")]
Most = Annotated[int, Field(ge=1, le=MOST, description="How many rows to answer with.")]
Named = Annotated[str, Field(min_length=1, max_length=200)]
Scanned = Annotated[str, Field(max_length=200)]
LABELS = Query(..., min_length=1, max_length=MOST, description="Codes or marks of lots, or names of batches.")
SCANNED = Query(..., min_length=1, max_length=100, description="Labels as scanned or typed.")


def a_look(path: str, gives: Any, *needs: str) -> Any:
    """Make a call of a function that shows something."""

    def made(show: Any) -> Any:
        return look.get(
            path,
            auth=Token(*(needs or ("read",))),
            response={200: gives, **REFUSALS},
            operation_id=f"look_{show.__name__}",
            summary=(show.__doc__ or "").split("\n")[0].rstrip("."),
            tags=["Looks"],
        )(show)

    return made


def _sorts(what: str) -> Any:
    """Return the words that a list may be sorted by; a hyphen before one turns it round."""
    words = tuple(turned for word in lists.SORTS[what] for turned in (word, f"-{word}"))
    return Literal[words]  # type: ignore[valid-type]


@a_look("/today", answers.Today)
def today(request: HttpRequest) -> Any:
    """Say what to do now, the dearest to put off first."""
    from ortet.work.today import today as day

    return said.today_of(day())


@a_look("/lots", answers.Lots)
def lots(
    request: HttpRequest,
    search: Search = "",
    sort: _sorts("lots") = "-day",
    on_hand: bool = False,
    first: First = 0,
    most: Most = 100,
) -> Any:
    """List lots, with what is on hand of each."""
    return said.lots_of(said.part_of(lists.lots(search, sort=sort, on_hand=on_hand), first, most))


@a_look("/lots/{path:lot}", answers.Lot)
def lot(request: HttpRequest, lot: Path[Named]) -> Any:
    """Show a lot whole, by its code or mark: where it lies and what happened to it."""
    from ortet.work.lots import view

    return said.lot_of(view(lot))


@a_look("/places", answers.Places)
def places(
    request: HttpRequest,
    search: Search = "",
    sort: _sorts("places") = "name",
    first: First = 0,
    most: Most = 100,
) -> Any:
    """List benches, cold places, bags, batches and standing grounds."""
    return said.part_of(lists.places(search, sort=sort), first, most)


@a_look("/places/{path:place}", answers.Place)
def place(request: HttpRequest, place: Path[Named]) -> Any:
    """Show a place whole, by its code or name: what it holds, where it stands, what it weighed."""
    from ortet.work.places import view

    return said.place_of(view(place))


@a_look("/mothers", answers.Mothers)
def mothers(
    request: HttpRequest,
    search: Search = "",
    sort: _sorts("mothers") = "accession",
    first: First = 0,
    most: Most = 100,
) -> Any:
    """List mother plants, with how many cuttings were taken from each."""
    part = said.part_of(lists.mothers(search, sort=sort), first, most)
    return part | {"rows": [said.mother_of(one, one.taken) for one in part["rows"]]}


@a_look("/mothers/{path:accession}", answers.Mother)
def mother(request: HttpRequest, accession: Path[Named]) -> Any:
    """Show a mother plant, by its accession number."""
    from ortet.work.places import mother as view

    seen = view(accession)
    return said.mother_of(seen.mother, seen.taken)


@a_look("/varieties", answers.Varieties)
def varieties(
    request: HttpRequest,
    search: Search = "",
    sort: _sorts("varieties") = "name",
    first: First = 0,
    most: Most = 100,
) -> Any:
    """List varieties."""
    return said.part_of(lists.varieties(search, sort=sort), first, most)


@a_look("/buyers", answers.Buyers, "buyers")
def buyers(
    request: HttpRequest,
    search: Search = "",
    sort: _sorts("buyers") = "name",
    first: First = 0,
    most: Most = 100,
) -> Any:
    """List buyers and where they are reached."""
    return said.part_of(lists.buyers(search, sort=sort), first, most)


@a_look("/orders", answers.Orders, "orders")
def orders(
    request: HttpRequest,
    search: Search = "",
    sort: _sorts("orders") = "number",
    still: bool = True,
    first: First = 0,
    most: Most = 100,
) -> Any:
    """List lines of orders: those still wanted, or with still=false the cancelled ones too."""
    part = said.part_of(lists.orders(search, sort=sort, still=still), first, most)
    return part | {"rows": list(map(said.line_of, part["rows"]))}


@a_look("/orders/{number}", answers.Order, "orders")
def order(request: HttpRequest, number: Path[Annotated[int, Field(ge=1, le=2**31 - 1)]]) -> Any:
    """Show an order whole, by its number."""
    found = find_order(number)
    return said.order_of(found, lists.lines_of(found))


@a_look("/labels", answers.Written)
def labels(request: HttpRequest, lot: list[Named] = LABELS) -> Any:
    """Say what stands on the labels of lots and batches, and the address that each code holds."""
    from ortet.work.labels import written

    return said.part_of(written(lot), 0, MOST)


@a_look("/scan", answers.Scanned)
def scan(
    request: HttpRequest,
    label: list[Scanned] = SCANNED,
    place: Annotated[
        str, Field(max_length=200, description="Where they were read; empty: that does not matter.")
    ] = "",
) -> Any:
    """Say whether labels match what the book says lies there."""
    from ortet.work.scanning import scan as look_at

    return look_at(label, place)


@a_look("/trace", answers.Traced)
def trace(request: HttpRequest, code: Annotated[str, Field(min_length=1, max_length=200)]) -> Any:
    """Follow wood from any code, mark, accession number or order back to its mother plants and forward to every buyer."""
    from ortet.work.trace import trace as follow

    return follow(code).as_dict()


@a_look("/plan", answers.Plan)
def plan(request: HttpRequest) -> Any:
    """Show the season's plan that counts."""
    from ortet.work import Unknown
    from ortet.work.plan.shown import shown

    there = shown()
    if there is None:
        raise Unknown("The season has not been planned yet. POST /api/v1/deeds/plan plans it.")
    return there


@a_look("/evidence", answers.EvidenceOf)
def evidence(
    request: HttpRequest,
    search: Search = "",
    sort: Literal[
        "variety", "batches", "struck", "share", "-variety", "-batches", "-struck", "-share"
    ] = "variety",
    craft: Literal["strike", "graft"] = "strike",
    first: First = 0,
    most: Most = 100,
) -> Any:
    """Say what share of each variety roots, or of its grafts takes, and how sure that is."""
    from ortet.work.evidence import rates

    part = said.part_of(rates(search, sort=sort, craft=craft)[0], first, most)
    return part | {"rows": list(map(said.evidence_of, part["rows"]))}


@a_look("/check", answers.Checked)
def check(request: HttpRequest) -> Any:
    """Recount the whole book from its movements, and list what does not add up."""
    from ortet.work.check import check as recount

    faults, says, sums = recount()
    return {"holds": not faults, "says": says, "faults": faults, "sums": sums}
