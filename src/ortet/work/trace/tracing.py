"""From any code back to the mother plants and forward to every lot, batch, standing ground and buyer."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field
from datetime import datetime
from functools import cached_property

from ortet.ledger import lineage as book
from ortet.ledger.models import Kind, Part, Why
from ortet.ledger.places import GROWING, ON_HAND
from ortet.wood import code as codes
from ortet.wood.speech import say, to_say

from .asking import Asked, asked

__all__ = ["Flow", "Node", "Row", "Step", "Tally", "Trace", "trace"]

PARTS = {Part.SPLIT: to_say("split off"), Part.SCION: to_say("scion"), Part.STOCK: to_say("rootstock")}


@dataclass(slots=True)
class Node:
    """Something that wood went through, and what of it is there still or ended there."""

    key: str
    kind: str  # mother, sender, lot, batch, ground, buyer
    name: str
    code: str = ""  # a lot's or place's code, or a mother plant's accession
    mark: str = ""
    variety: str = ""
    note: str = ""
    count: int = 0  # that came in
    at: datetime | None = None  # when the first did
    here: dict[str, int] = field(default_factory=dict)  # on hand, by place
    given_up: int = 0
    lost: int = 0
    role: str = "after"  # asked, before, after, or beside: the other half of a graft

    @property
    def on_hand(self) -> int:
        """Cuttings or plants of it that are still here."""
        return sum(self.here.values())

    @property
    def short(self) -> str:
        """What it is called where there is little room."""
        return self.mark or (codes.show(self.code) if self.kind == "lot" else self.name)

    @property
    def ends(self) -> str:
        """What is left of it and what was lost, in words."""
        said = [say("{count} in {place}", count=count, place=place) for place, count in self.here.items()]
        if self.kind in GROWING:  # it stands in itself
            said = [say("{count} stand there", count=count) for count in self.here.values()]
        said += [say("{count} given up", count=self.given_up)] if self.given_up else []
        said += [say("{count} not found", count=self.lost)] if self.lost else []
        return ", ".join(said)


@dataclass(slots=True)
class Flow:
    """So many cuttings or plants from one node to another."""

    source: str
    target: str
    what: str
    count: int
    at: datetime | None


@dataclass(frozen=True, slots=True)
class Step:
    """One thing that happened to the wood, in order of time."""

    at: datetime
    what: str
    count: int
    lot: str
    mark: str
    variety: str
    here: str
    there: str  # or the buyer
    by: str
    note: str
    number: int  # of the movement


@dataclass(frozen=True, slots=True)
class Tally:
    """What was taken of lots traced whole, and where all of it is."""

    taken: int
    on_hand: int
    joined: int  # pieces that are one with another of these since they were grafted
    sold: int
    given_up: int
    lost: int

    @property
    def holds(self) -> bool:
        """Whether every cutting is found exactly once."""
        return self.taken == self.on_hand + self.joined + self.sold + self.given_up + self.lost

    @property
    def says(self) -> str:
        """The sums in a sentence; what is nothing is left out."""
        said = (
            (self.on_hand, say("{count:,} on hand", count=self.on_hand)),
            (self.joined, say("{count:,} one with another of them by a graft", count=self.joined)),
            (self.sold, say("{count:,} sold", count=self.sold)),
            (self.given_up, say("{count:,} given up", count=self.given_up)),
            (self.lost, say("{count:,} not found", count=self.lost)),
        )
        found = ", ".join(words for count, words in said if count) or say("nothing left")
        return say("{taken:,} in all: {found}.", taken=self.taken, found=found)


@dataclass(frozen=True, slots=True)
class Row:
    """A node where it stands in the list: how deep, and what came into it."""

    depth: int
    node: Node
    into: list[Flow]
    came: str  # how, in words

    @property
    def count(self) -> int:
        """Cuttings or plants that came to it, here."""
        return sum(flow.count for flow in self.into) if self.node.kind == "buyer" else self.node.count

    @property
    def at(self) -> datetime | None:
        """When the first of them came."""
        return min((flow.at for flow in self.into if flow.at), default=None)


@dataclass(frozen=True)
class Trace:
    """Where wood came from and went. What is asked for by a place holds all that may have lain there."""

    asked: Asked
    whole: bool  # whether it begins with the first lots of the same wood
    nodes: dict[str, Node]
    flows: list[Flow]
    steps: list[Step]
    tally: Tally | None  # where whole lots are traced
    here: list[book.Lies]  # what of it is on hand
    sold: list[tuple[book.Moved, book.Dealt | None]]  # what of it was sold, first to last

    @cached_property
    def rows(self) -> list["Row"]:
        """What wood went through, each below what it came from; a buyer once for each thing they were sold from."""
        into, out = defaultdict(list), defaultdict(list)
        for flow in self.flows:
            into[flow.target].append(flow)
            out[flow.source].append(flow)
        waits = {key: len({flow.source for flow in into[key]}) for key in self.nodes}
        found: list[Row] = []
        stack = [Row(0, node, [], "") for node in reversed(self.nodes.values()) if not waits[node.key]]
        while stack:
            row = stack.pop()
            found.append(row)
            here, deeper = row.node.key, row.depth + 1
            for target in reversed(list(dict.fromkeys(flow.target for flow in out[here]))):
                node, came = self.nodes[target], into[target]
                waits[target] -= 1
                if node.kind == "buyer":
                    came = [flow for flow in out[here] if flow.target == target]
                elif waits[target]:
                    continue
                stack.append(Row(deeper, node, came, self._came(came)))
        return found

    def _came(self, into: list[Flow]) -> str:
        """Say how wood came into a node; of a graft, which its scion and its stock were."""
        grafted = (say(PARTS[Part.SCION]), say(PARTS[Part.STOCK]))
        halves = {flow.what: self.nodes[flow.source] for flow in into if flow.what in grafted}
        if halves:
            said = [f"{what} {halves[what].short}" for what in grafted if what in halves]
            return say("grafted, {halves}", halves=say(" on ").join(said))
        return ", ".join(dict.fromkeys(flow.what for flow in into))

    def as_dict(self) -> dict[str, object]:
        """Return it for programs."""
        return {
            "of": self.asked.says,
            "whole": self.whole,
            "nodes": [asdict(node) for node in self.nodes.values()],
            "flows": [asdict(flow) for flow in self.flows],
            "steps": [asdict(step) for step in self.steps],
            "tally": self.tally and asdict(self.tally),
        }

    def of_kind(self, kind: str) -> list[Node]:
        """Return the nodes of a kind, those beside left out."""
        return [node for node in self.nodes.values() if node.kind == kind and node.role != "beside"]


class _Graph:
    """Nodes and flows while they are gathered."""

    def __init__(self) -> None:
        self.nodes: dict[str, Node] = {}
        self.flows: dict[tuple[str, str, str], Flow] = {}

    def node(
        self, key: str, kind: str, name: str, *, code: str = "", mark: str = "", variety: str = ""
    ) -> Node:
        return self.nodes.setdefault(key, Node(key, kind, name, code, mark, variety))

    def flow(self, source: str, target: str, what: str, count: int, at: datetime | None) -> None:
        if source == target:
            return
        flow = self.flows.setdefault((source, target, what), Flow(source, target, what, 0, at))
        flow.count += count
        into = self.nodes[target]
        into.count += (
            count if what != say(PARTS[Part.STOCK]) else 0
        )  # a graft comes out once, though two pieces went in
        into.at = min(filter(None, (into.at, at)), default=None)


def _lot_nodes(
    graph: _Graph, found: book.Lineage, begun: Mapping[int, book.Begun], roots: set[int], on: set[int]
) -> None:
    """Add mother plants and lots, the oldest first."""
    grown = {link.child for link in found.links}
    roles = {**dict.fromkeys(begun.keys() - on, "before"), **dict.fromkeys(found.beside, "beside")}
    for lot, row in sorted(begun.items(), key=lambda item: (item[1].made_at, item[0])):
        role = roles.get(lot, "asked" if lot in roots else "after")
        node = graph.node(
            f"lot:{lot}", "lot", say("lot {code}", code=codes.show(row.code)),
            code=row.code, mark=row.mark or "", variety=row.variety,
        )  # fmt: skip
        node.role, node.at = role, row.made_at
        if row.accession and lot not in grown:
            mother = graph.node(
                f"mother:{row.mother}", "mother", say("mother plant {accession}", accession=row.accession),
                code=row.accession, variety=row.mother_variety or "",
            )  # fmt: skip
            if mother.role != "before":
                mother.role = "beside" if role == "beside" else "before"


def _why(why: str) -> str:
    return str(Why(why).label)


def _station(move: book.Moved, there: bool) -> str:
    """Return the node for one end of a movement: batches and grounds are their own, wood lies under its lot."""
    kind, place = (move.there_kind, move.there) if there else (move.here_kind, move.here)
    return f"{kind}:{move.lot}:{place}" if kind in GROWING else f"lot:{move.lot}"


def _within(graph: _Graph, moves: Iterable[book.Moved], dealt: Mapping[int, book.Dealt]) -> None:
    """Add what moved on within lots, and out of them."""
    for move in moves:
        lot = graph.nodes[f"lot:{move.lot}"]
        for there, kind, name, code in (
            (False, move.here_kind, move.here_name, move.here_code),
            (True, move.there_kind, move.there_name, move.there_code),
        ):
            if kind in GROWING:
                if kind == Kind.BATCH and not name.casefold().startswith(("batch", say("batch"))):
                    name = say("batch {name}", name=name)
                graph.node(_station(move, there), kind, name, code=code, variety=lot.variety)
        source = _station(move, there=False)
        if move.there_kind == Kind.SOLD:
            to = dealt.get(move.number)
            buyer = graph.node(
                f"buyer:{to.buyer if to else 0}", "buyer", to.name if to else say("no buyer noted")
            )
            graph.flow(source, buyer.key, _why(Why.SOLD), move.count, move.at)
        elif move.there_kind == Kind.GIVEN_UP:
            graph.nodes[source].given_up += move.count
        elif move.there_kind == Kind.LOST:
            graph.nodes[source].lost += move.count
        elif move.there_kind in GROWING:
            graph.flow(source, _station(move, there=True), _why(move.why), move.count, move.at)


def _between(
    graph: _Graph, links: Iterable[book.Link], begun: Mapping[int, book.Begun], moves: Iterable[book.Moved]
) -> None:
    """Add what became other lots, out of the batch or ground that it left."""
    left = {
        (move.lot, move.count, move.at): _station(move, there=False)
        for move in moves
        if move.there_kind == Kind.BECAME
    }
    for link in links:
        if {f"lot:{link.parent}", f"lot:{link.child}"} <= graph.nodes.keys():
            at = begun[link.child].made_at
            source = left.get((link.parent, link.count, at), f"lot:{link.parent}")
            source = source if source in graph.nodes else f"lot:{link.parent}"
            graph.flow(source, f"lot:{link.child}", say(PARTS[Part(link.part)]), link.count, at)


def _taken(
    graph: _Graph, begun: Mapping[int, book.Begun], grown: set[int], lies: Iterable[book.Lies]
) -> Counter[int]:
    """Add what was taken from mother plants and received from senders; return how many each first lot began with."""
    out: Counter[int] = Counter()
    for row in lies:
        lot = begun[row.lot]
        if row.kind == Kind.MOTHER and row.lot not in grown:
            out[row.lot] = -row.count
            graph.flow(f"mother:{lot.mother}", f"lot:{row.lot}", _why(Why.TAKEN), -row.count, lot.made_at)
        elif row.kind == Kind.SENDER:
            out[row.lot] = -row.count
            sender = graph.node(
                f"sender:{row.place}", "sender", say("sender {name}", name=row.name), code=row.code
            )
            sender.role = "before"
            graph.flow(sender.key, f"lot:{row.lot}", _why(Why.RECEIVED), -row.count, lot.made_at)
    for node in graph.nodes.values():
        if node.kind in ("mother", "sender"):
            node.count = sum(flow.count for flow in graph.flows.values() if flow.source == node.key)
    return out


def _tally(found: book.Lineage, taken: Counter[int], lies: Iterable[book.Lies]) -> Tally:
    into: dict[int, list[book.Link]] = defaultdict(list)
    for link in found.links:
        into[link.child].append(link)
    began = joined = 0
    for lot in found.after:
        inside = [link.count for link in into[lot] if link.parent in found.after]
        if not into[lot]:
            began += taken[lot]
        elif not inside:
            began += sum(link.count for link in into[lot] if link.part != Part.STOCK)
        joined += sum(inside[1:])
    sums: Counter[str] = Counter()
    for row in lies:
        if row.lot in found.after:
            sums[row.kind] += row.count
    on_hand = sum(sums[kind] for kind in ON_HAND)
    return Tally(began, on_hand, joined, sums[Kind.SOLD], sums[Kind.GIVEN_UP], sums[Kind.LOST])


def _on_hand(graph: _Graph, lies: Iterable[book.Lies]) -> None:
    """Add what is still here."""
    for row in lies:
        key = f"{row.kind}:{row.lot}:{row.place}" if row.kind in GROWING else f"lot:{row.lot}"
        graph.nodes[key].here[row.name] = row.count


def _say_how_set(graph: _Graph) -> None:
    """Add to batches what is written on their trays, and their treatment."""
    batches = {
        int(key.rpartition(":")[2]): node for key, node in graph.nodes.items() if node.kind == Kind.BATCH
    }
    for place, how in book.set_in(batches).items():
        tray = (
            say("tray {tray}", tray=how.tray)
            if how.tray and how.tray not in batches[place].name.split()
            else ""
        )
        batches[place].note = ", ".join(filter(None, (tray, how.treatment)))


def _steps(
    moves: Iterable[book.Moved],
    links: Iterable[book.Link],
    begun: Mapping[int, book.Begun],
    dealt: Mapping[int, book.Dealt],
) -> list[Step]:
    children, parents = defaultdict(list), defaultdict(list)
    for link in links:
        children[link.parent].append(link)
        parents[link.child].append(link.parent)

    def became(move: book.Moved) -> str:
        lots = [
            link.child
            for link in children[move.lot]
            if link.count == move.count and link.child in begun and begun[link.child].made_at == move.at
        ]
        return _lots(lots) or move.there_name

    def _lots(lots: Iterable[int]) -> str:
        return say(" and ").join(
            say("lot {code}", code=codes.show(begun[lot].code)) for lot in lots if lot in begun
        )

    steps = []
    for move in moves:
        lot, to = begun[move.lot], dealt.get(move.number)
        here, there = move.here_name, to.name if to else move.there_name
        if move.here_kind == Kind.BECAME:
            here = _lots(parents[move.lot]) or here
        if move.there_kind == Kind.BECAME:
            there = became(move)
        steps.append(
            Step(
                move.at, _why(move.why), move.count, lot.code, lot.mark or "", lot.variety, here, there, move.by, move.note,
                move.number,
            )
        )  # fmt: skip
    return steps


def trace(text: str, *, whole: bool = False) -> Trace:
    """Trace wood from whatever is named, back to its mother plants and forward to where it is now.

    Parameters
    ----------
    whole
        Begin with the first lots of the same wood, and so with everything that shares it.

    Raises
    ------
    Ambiguous, Unknown
        As `asked`.
    """
    begin = asked(text)
    roots = set(begin.lots) | {lot for lot, _ in begin.lay}
    found, starts, lay = book.lineage(roots), begin.lots, begin.lay
    if whole:
        grown = {link.child for link in found.links}
        starts, lay = frozenset((found.before | roots) - grown), frozenset()
        found = book.lineage(starts)
    moves = book.moved(found.before | found.after)
    mine = [move for move in moves if move.lot in found.after]
    on = book.passed_on(mine, found.links, starts, lay)
    began = {move.number for move in mine if move.lot in starts or (move.lot, move.there) in lay}
    back = book.led_to(moves, found.links, began)
    forward = [move for move in mine if move.number in on]
    way = [move for move in moves if move.number in on or move.number in back]
    traced = {move.lot for move in forward} if lay else set(found.after)
    kept = book.came_from(found.links, traced)
    begun = book.begun(kept)
    dealt = book.dealt({move.lot for move in forward if move.there_kind == Kind.SOLD})
    lies = book.lies(begun)
    reached = {(move.lot, move.there) for move in forward}
    here = [row for row in lies if row.kind in ON_HAND and (row.lot, row.place) in reached]
    graph, grown = _Graph(), {link.child for link in found.links}
    _lot_nodes(graph, found, begun, roots, traced)
    taken = _taken(graph, begun, grown, lies)
    _within(graph, way, dealt)
    _between(graph, found.links, begun, way)
    _on_hand(graph, here)
    _say_how_set(graph)
    return Trace(
        begin,
        whole,
        graph.nodes,
        sorted(graph.flows.values(), key=lambda flow: (flow.at is None, flow.at)),
        _steps(way, found.links, begun, dealt),
        None if lay else _tally(found, taken, lies),
        here,
        [(move, dealt.get(move.number)) for move in forward if move.there_kind == Kind.SOLD],
    )
