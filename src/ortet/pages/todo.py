"""Today's tasks as the page shows them: how pressing, with which lots and places, and how each is recorded done."""

from collections.abc import Mapping
from dataclasses import dataclass
from uuid import UUID

from django.urls import reverse
from django.utils.http import urlencode
from uuid_utils.compat import uuid7

from ortet.decisions.task import Task
from ortet.ledger.models import Place
from ortet.ledger.slices import in_slices
from ortet.wood.speech import say, to_say
from ortet.work.today import Kept, Today

__all__ = ["AT_ONCE", "Link", "Todo", "kept", "todos"]

AT_ONCE = {
    "wipe": to_say("Wiped and aired"),
    "air": to_say("Opened and aired"),
}  # recorded by one press, for all bags of a task
WORDS = {
    "weigh": to_say("Weigh"),
    "inspect": to_say("Inspect"),
    "treat": to_say("Treat"),
    "bag": to_say("Bag"),
    "move": to_say("Move"),
    "strike": to_say("Strike"),
    "give_up": to_say("Give up"),
    "load": to_say("Load the record"),
    "count": to_say("Count"),
    "pot": to_say("Pot on"),
}
OF_A_BAG = {
    "weigh": "bag",
    "inspect": "place",
    "treat": "place",
    "count": "place",
    "pot": "batch",
}  # what a deed's form calls the bag
PLANNED = ("cut", "set", "post")  # kinds of tasks that follow from the plan
OUTGOING = ("pack", "send", "complaint")
WEEK = 168
FEW = 3  # lots shown before the rest folds away
MUCH = 1.0  # cuttings a week: from here on a task presses


@dataclass(frozen=True, slots=True)
class Link:
    """Words and where they lead."""

    words: str
    to: str


@dataclass(frozen=True, slots=True)
class Todo:
    """One task, ready to be shown."""

    task: Task
    pressing: str  # fat, swelling or nothing: how far the bud has come
    mark: str  # what the paint pen says: red, ochre, plain
    lots: list[tuple[str, str]]  # code and variety
    places: list[Link]
    acts: list[Link]  # pages that record it
    at_once: str  # words of the button that records it for all its bags, or nothing
    kind: str
    bags: list[str]  # codes
    id: UUID

    @property
    def is_planned(self) -> bool:
        """Whether the plan wants it done, rather than the state of the wood."""
        return self.task.kind in PLANNED

    @property
    def first_lots(self) -> list[tuple[str, str]]:
        """The lots always shown."""
        return self.lots if len(self.lots) <= FEW + 1 else self.lots[:FEW]

    @property
    def other_lots(self) -> list[tuple[str, str]]:
        """The lots that fold away."""
        return self.lots[len(self.first_lots) :]


def _pressing(task: Task, now: float) -> tuple[str, str]:
    if task.due is not None and task.due <= now and task.waiting > 0:
        return "fat", "red"
    if task.waiting >= MUCH:
        return "fat" if task.waiting >= 3 * MUCH else "swelling", "ochre"
    if task.due is not None and task.due <= now + WEEK and task.waiting > 0:
        return "swelling", "ochre"
    return "", "plain"


def _acts(task: Task, bags: Mapping[str, str], places: Mapping[str, str]) -> list[Link]:
    """Return the pages that record a task: one for each bag where the form is about a bag, else for each lot."""
    if task.kind in PLANNED:
        return _planned(task, places)
    if task.kind in ("parcel", "dip", "apart", "held"):
        return _incoming(task, bags, places)
    if task.kind in OUTGOING:
        return _outgoing(task)
    if task.kind == "alike":
        return [Link(say("Scan both labels"), f"{reverse('scan')}?{urlencode({'place': task.place})}")]
    if task.deed not in WORDS:
        return []
    words = say(WORDS[task.deed])
    if task.deed == "load":
        return [Link(words, f"{reverse('load')}?{urlencode({'place': task.place})}")]
    name = task.deed.replace("_", "-")
    if task.deed in OF_A_BAG and task.bags:
        field = OF_A_BAG[task.deed]
        lot = {"lot": task.lots[0]} if len(task.lots) == 1 and field == "place" else {}
        return [
            Link(
                f"{words} {bag}" if len(task.bags) > 1 else words,
                f"{reverse(name)}?{urlencode({field: bags[bag], **lot})}",
            )
            for bag in task.bags
            if bag in bags
        ]
    here = {"from": places[task.place]} if task.place in places and len(task.lots) == 1 else {}
    return [
        Link(
            f"{words} {lot[:4]}-{lot[4:]}" if len(task.lots) > 1 else words,
            f"{reverse(name)}?{urlencode({'lot': lot, **here})}",
        )
        for lot in task.lots
    ]


def _planned(task: Task, places: Mapping[str, str]) -> list[Link]:
    """Return the pages that record what the plan wants done, filled in already."""
    if task.kind == "post":
        return [_pick(task), _order(task)]
    if task.kind == "cut":
        words = to_say("Take from {mother}") if len(task.parts) > 1 else to_say("Take")
        return [
            Link(say(words, mother=mother), _to("take", accession=mother, count=count, use=task.use))
            for mother, count in task.parts
        ]
    here = places.get(task.place, task.place)
    heat = {} if task.base_c is None else {"base_c": f"{task.base_c:g} °C"}
    return [
        Link(
            say("Strike") if len(task.parts) == 1 else say("Strike on {bench}", bench=bench),
            _to("strike", **{"lot": task.lots[0], "from": here, "bench": bench, "count": count}, **heat),
        )
        for bench, count in task.parts
    ]


def _order(task: Task) -> Link:
    return Link(say("Look at the order"), reverse("order-of", args=[task.place.removeprefix("order ")]))


def _pick(task: Task) -> Link:
    return Link(
        say("Pick and pack it"),
        f"{reverse('pick')}?{urlencode({'order': task.place.removeprefix('order ')})}",
    )


def _outgoing(task: Task) -> list[Link]:
    """Return the pages about an order that is to be packed, a parcel that waits, a complaint."""
    if task.kind == "send":
        return [Link(say("Send it"), reverse("outgoing-parcel", args=[task.place.removeprefix("parcel ")]))]
    return [_pick(task), _order(task)] if task.kind == "pack" else [_order(task)]


def _incoming(task: Task, bags: Mapping[str, str], places: Mapping[str, str]) -> list[Link]:
    """Return the pages about a parcel that was received, and about its lots."""
    if task.kind == "parcel":
        return [Link(say("Go on with it"), reverse("parcel", args=[task.place.removeprefix("parcel ")]))]
    here = places.get(task.place, bags.get(task.place, task.place))
    if task.kind == "dip":
        return [
            Link(
                say("Dipped: record it"),
                _to("treat", place=here, lot=task.lots[0], kind="disinfect", agent="bleach"),
            )
        ]
    return (
        [Link(say("Inspect"), _to("inspect", place=here, lot=task.lots[0]))] if task.kind == "apart" else []
    )


def _to(deed: str, **given: object) -> str:
    return f"{reverse(deed)}?{urlencode(given)}"


def todos(day: Today) -> list[Todo]:
    """Return the day's tasks, dearest to put off first."""
    varieties, bags = day.varieties, day.bags
    places = (
        dict(in_slices(Place.objects.values_list("name", "code"), "name", {task.place for task in day.tasks}))
        | bags
    )
    shown = []
    for task in day.tasks:
        pressing, mark = _pressing(task, day.now.timestamp() / 3600)
        names = dict.fromkeys([*task.bags, task.place])
        shown.append(
            Todo(
                task=task,
                pressing=pressing,
                mark=mark,
                lots=[] if task.kind == "record" else [(lot, varieties.get(lot, "")) for lot in task.lots],
                places=[
                    Link(
                        say("bag {bag}", bag=name) if name in bags else name,
                        reverse("place", args=[places[name]]),
                    )
                    for name in names
                    if name in places
                ],
                acts=_acts(task, bags, places),
                at_once=say(AT_ONCE.get(task.deed, "")),
                kind=task.deed,
                bags=[bags[bag] for bag in task.bags if bag in bags],
                id=uuid7(),
            )
        )
    return shown


def kept(day: Today) -> list[tuple[Kept, str]]:
    """Return what each store keeps, with the store's code."""
    codes = dict(Place.objects.filter(name__in=[row.store for row in day.kept]).values_list("name", "code"))
    return [(row, codes.get(row.store, "")) for row in day.kept]
