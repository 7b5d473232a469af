"""Why a wish goes short, who shares what is short, and what would change it."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from ortet.wood.speech import say, say_day, say_many

from .plan import Binding, Change, Pick, Portion, Short, Why
from .shares import deliveries
from .wishes import Ask, Supply, Wish, listed

__all__ = ["binding", "changes", "portions", "shortfalls"]

NAMED = 6  # so many who have the wood are named


@dataclass
class _Left:
    """What lies unallotted: of each supply, and of each variety beyond its backup."""

    ask: Ask
    picks: Sequence[Pick]

    def __post_init__(self) -> None:
        self.given: Counter[str] = Counter()
        self.took: dict[str, Counter[str]] = defaultdict(Counter)  # supply: wish: count
        self.by_hand: dict[str, Counter[str]] = defaultdict(Counter)
        for pick in self.picks:
            self.given[pick.wish] += pick.count
            (self.by_hand if pick.fixed else self.took)[pick.supply][pick.wish] += pick.count
        self.of = {
            one.key: max(0, one.free - self.took[one.key].total() - self.by_hand[one.key].total())
            for one in self.ask.supplies
        }
        beyond: Counter[str] = Counter()
        for supply in self.ask.supplies:
            beyond[supply.variety] += self.of[supply.key]
        self.beyond = {v: max(0, n - self.ask.backup.get(v, 0)) for v, n in beyond.items()}

    def usable(self, supplies: Iterable[Supply]) -> int:
        """Return how many more could be had of these once the backup is kept."""
        here: Counter[str] = Counter()
        for supply in supplies:
            here[supply.variety] += self.of[supply.key]
        return sum(min(count, self.beyond[variety]) for variety, count in here.items())

    def held(self, supplies: Iterable[Supply]) -> int:
        """Return how many of these only the backup holds."""
        supplies = list(supplies)
        return sum(self.of[one.key] for one in supplies) - self.usable(supplies)


def shortfalls(ask: Ask, picks: Sequence[Pick]) -> tuple[Short, ...]:
    """Return every wish that is not filled, with at least one reason each."""
    left = _Left(ask, picks)
    return tuple(
        Short(wish.key, wish.count, left.given[wish.key], tuple(_whys(ask, wish, left)))
        for wish in ask.wishes
        if left.given[wish.key] < wish.count
    )


def _whys(ask: Ask, wish: Wish, left: _Left) -> Iterator[Why]:
    named = [one for one in ask.supplies if one.variety in wish.varieties and one.count]
    right = [one for one in named if one.use == wish.use]
    graded = [one for one in right if wish.takes(one)]
    fits = [one for one in graded if ask.days(one, wish)]
    what = listed(wish.varieties, "or")
    if not named:
        yield Why("variety", say("no wood of {what}", what=what))
        return
    if not right:
        others = sorted({one.use for one in named})
        count = sum(one.count for one in named)
        uses = listed(say(use) for use in others)
        yield Why(
            "use", say("{count} of {what}, all cut for {uses}", count=count, what=what, uses=uses), count
        )
        return
    off_grade = [one for one in right if one not in graded and left.of[one.key]]
    if not graded or off_grade:
        yield _grade(right if not graded else off_grade, graded, left)
    if not graded:
        return
    late = [one for one in graded if one not in fits]
    if late and (not fits or any(left.of[one.key] for one in late)):
        yield _window(ask, wish, late, left)
    yield from _taken(ask, wish, fits, left, alone=not late and not off_grade)


def _grade(off: Sequence[Supply], graded: Sequence[Supply], left: _Left) -> Why:
    grades = listed(sorted({one.grade or say("ungraded") for one in off}))
    count = sum(left.of[one.key] for one in off)
    text = say("only grade {grades} is left", grades=grades)
    return Why("grade", text + (say(", {count} of it", count=count) if count else ""), count)


def _window(ask: Ask, wish: Wish, late: Sequence[Supply], left: _Left) -> Why:
    """Name the wood that comes nearest to the window."""
    soon = [one for one in late if one.ready > min(wish.last, ask.span.last)]
    count = sum(left.of[one.key] for one in late)
    if wish.first > ask.span.last or wish.last < ask.first:
        text = say(
            "its window, {first} to {last}, lies outside the plan",
            first=say_day(wish.first),
            last=say_day(wish.last),
        )
    elif soon:
        nearest = min(soon, key=lambda one: (one.ready, one.key))
        end = min(wish.last, ask.span.last)
        text = say(
            "{supply} is ready on {ready}, after the window ends on {end}",
            supply=nearest.key,
            ready=say_day(nearest.ready),
            end=say_day(end),
        )
    else:
        nearest = max(late, key=lambda one: (one.use_by or wish.last, one.key))
        gone = nearest.use_by or wish.last
        text = say(
            "{supply} runs out on {gone}, before the window begins on {first}",
            supply=nearest.key,
            gone=say_day(gone),
            first=say_day(wish.first),
        )
    return Why("window", text, count)


def _taken(ask: Ask, wish: Wish, fits: Sequence[Supply], left: _Left, *, alone: bool) -> Iterator[Why]:
    """Say where the wood went that it could have had."""
    found = False
    hands: Counter[str] = Counter()
    others: Counter[str] = Counter()
    for supply in fits:
        hands.update(left.by_hand[supply.key])
        others.update(left.took[supply.key])
    del hands[wish.key], others[wish.key]
    if hands:
        found = True
        yield Why(
            "fixed",
            say("choices made by hand give {wishes}", wishes=_to(hands)),
            hands.total(),
            tuple(sorted(hands)),
        )
    before = Counter({key: n for key, n in others.items() if ask.wish[key].priority < wish.priority})
    beside = others - before
    if before:
        found = True
        yield Why(
            "priority",
            say("goes first to {wishes}", wishes=_to(before)),
            before.total(),
            tuple(sorted(before)),
        )
    if beside:
        found = True
        yield Why(
            "shared",
            say("shared short with {wishes}", wishes=_to(beside)),
            beside.total(),
            tuple(sorted(beside)),
        )
    if kept := left.held(fits):
        found = True
        yield Why("backup", say("{count} kept as backup", count=kept), kept)
    if aside := sum(one.count - one.free for one in fits):
        yield Why("kept back", say("{count} kept back of their lots", count=aside), aside)
    if usable := left.usable(fits):
        found = True
        yield _unused(ask, wish, fits, usable, left)
    if not found and fits:
        given, of = left.given[wish.key], listed(wish.varieties, "or")
        yield Why("variety", say("all {count} of {what} that fit go to it", count=given, what=of))
    elif not found and alone:
        yield Why("variety", say("no wood of {what} fits", what=listed(wish.varieties, "or")))


def _unused(ask: Ask, wish: Wish, fits: Sequence[Supply], usable: int, left: _Left) -> Why:
    """Wood lies there and the wish does not take it: too few of it, or not on one day."""
    if not wish.parts and len(deliveries({one.key: ask.days(one, wish) for one in fits})) > 1:  # type: ignore[misc]
        return Why(
            "delivery", say("{count} are left, but not on the day of its one delivery", count=usable), usable
        )
    if not left.given[wish.key]:
        return Why(
            "least",
            say("{count} are left and it takes no fewer than {least}", count=usable, least=wish.least),
            usable,
        )
    return Why(
        "search",
        say("{count} are left: the search ended before it found a use for them", count=usable),
        usable,
    )


def _to(counts: Counter[str]) -> str:
    """Write who has how many, the most first."""
    most = sorted(counts.items(), key=lambda item: (-item[1], item[0]))
    names = [f"{key} ({count})" for key, count in most[:NAMED]]
    if len(most) > NAMED:
        names.append(
            say(
                "{more} more ({count})",
                more=len(most) - NAMED,
                count=sum(count for _, count in most[NAMED:]),
            )
        )
    return listed(names)


def _strained(ask: Ask, short: Sequence[Short]) -> dict[tuple[str, str], list[Wish]]:
    """Return the short wishes by the variety and use they ask for, or take instead."""
    strained: dict[tuple[str, str], list[Wish]] = defaultdict(list)
    for one in short:
        wish = ask.wish[one.wish]
        for variety in wish.varieties:
            strained[variety, wish.use].append(wish)
    return strained


def portions(ask: Ask, picks: Sequence[Pick], short: Sequence[Short]) -> tuple[Portion, ...]:
    """Return how each variety that somebody goes short of is shared out, beginning with the one asked for."""
    left, rows = _Left(ask, picks), []
    of_it: Counter[tuple[str, str]] = Counter()
    for pick in picks:
        of_it[pick.variety, pick.wish] += pick.count
    wanting = {(ask.wish[one.wish].variety, ask.wish[one.wish].use) for one in short}
    having: dict[str, set[str]] = defaultdict(set)
    for variety, key in of_it:
        having[key].add(variety)
    sharing: dict[tuple[str, str], list[Wish]] = defaultdict(list)
    for wish in ask.wishes:
        for variety in {wish.variety, *having[wish.key]}:
            sharing[variety, wish.use].append(wish)
    for variety, use in sorted(wanting):
        for wish in sharing[variety, use]:
            mine = of_it[variety, wish.key]
            rows.append(Portion(variety, use, wish.key, wish.count, left.given[wish.key], mine))
    return tuple(rows)


def binding(ask: Ask, picks: Sequence[Pick], short: Sequence[Short]) -> tuple[Binding, ...]:
    """Return the varieties that bind, the dearest first."""
    missing = {one.wish: one.missing for one in short}
    given: Counter[tuple[str, str]] = Counter()
    for pick in picks:
        given[pick.variety, ask.supply[pick.supply].use] += pick.count
    there: Counter[tuple[str, str]] = Counter()
    for supply in ask.supplies:
        there[supply.variety, supply.use] += supply.count
    rows = []
    for (variety, use), wishes in _strained(ask, short).items():
        asking = [wish for wish in wishes if wish.variety == variety]
        if asking:
            rows.append(
                Binding(
                    variety,
                    use,
                    there[variety, use],
                    given[variety, use],
                    ask.backup.get(variety, 0),
                    sum(missing[wish.key] for wish in asking),
                    max(wish.worth for wish in wishes),
                )
            )
    return tuple(sorted(rows, key=lambda row: (-row.worth * row.short, row.variety, row.use)))


def changes(ask: Ask, picks: Sequence[Pick], short: Sequence[Short]) -> tuple[Change, ...]:
    """Return what would fill each short wish; what lies unallotted is offered first."""
    left, found = _Left(ask, picks), []
    strained = _strained(ask, short)
    of_use: dict[tuple[str, str], list[Supply]] = defaultdict(list)
    for supply in ask.supplies:
        of_use[supply.variety, supply.use].append(supply)
    for one in short:
        wish = ask.wish[one.wish]
        right = [supply for variety in wish.varieties for supply in of_use[variety, wish.use]]
        found += list(_offers(ask, wish, one.missing, left, right))
        found.append(_more_wood(ask, wish, one.missing, strained[wish.variety, wish.use]))
    return tuple(found)


def _offers(ask: Ask, wish: Wish, missing: int, left: _Left, right: Sequence[Supply]) -> Iterator[Change]:
    """Offer the wood that nobody has: of another grade, on other days, too few, in a second delivery, the backup."""
    fits = [one for one in right if wish.takes(one) and ask.days(one, wish)]
    other = [one for one in right if not wish.takes(one) and ask.days(one, wish)]
    late = [one for one in right if wish.takes(one) and one not in fits]
    given = left.given[wish.key]
    enough = max(1, wish.least - given)
    usable = left.usable(fits)
    if (count := min(missing, left.usable(other))) >= enough:
        grades = listed(sorted({one.grade or say("ungraded") for one in other if left.of[one.key]}))
        yield Change(
            wish.key,
            "grade",
            count,
            say(
                "taking grade {grades} as well could give {wish} {count} more",
                grades=grades,
                wish=wish.key,
                count=count,
            ),
        )
    if (count := min(missing, left.usable(late))) >= enough:
        text = say(
            "another window could give {wish} up to {count} more: {when}",
            wish=wish.key,
            count=count,
            when=_when(late, left),
        )
        yield Change(wish.key, "window", count, text)
    if 0 < usable < enough:
        yield Change(
            wish.key,
            "least",
            usable,
            say("{wish} could have {count} if it took so few", wish=wish.key, count=usable),
        )
    elif usable and not wish.parts:
        count = min(missing, usable)
        yield Change(
            wish.key,
            "delivery",
            count,
            say("a second delivery could bring {wish} {count} more", wish=wish.key, count=count),
        )
    if (count := min(missing, left.held(fits))) >= enough:
        yield Change(
            wish.key,
            "backup",
            count,
            say("{count} of the backup could go to {wish}", count=count, wish=wish.key),
        )


def _when(late: Sequence[Supply], left: _Left) -> str:
    """Name the supply that has most, and when it is good."""
    most = max((one for one in late if left.of[one.key]), key=lambda one: (left.of[one.key], one.key))
    if most.use_by is None:
        return say("{supply} is good from {day} on", supply=most.key, day=say_day(most.ready))
    return say(
        "{supply} is good from {first} to {last}",
        supply=most.key,
        first=say_day(most.ready),
        last=say_day(most.use_by),
    )


def _more_wood(ask: Ask, wish: Wish, missing: int, strained: Sequence[Wish]) -> Change:
    """Say how many more cuttings would fill it, and who else would take them."""
    grade = say(" of grade {grades}", grades=listed(wish.grades, "or")) if wish.grades else ""
    end = min(wish.last, ask.span.last)
    text = say_many(
        "{count} more cutting of {variety} for {use}{grade} by {day} would fill {wish}",
        "{count} more cuttings of {variety} for {use}{grade} by {day} would fill {wish}",
        missing,
        variety=wish.variety,
        use=say(wish.use),
        grade=grade,
        day=say_day(end),
        wish=wish.key,
    )
    rivals = [one for one in strained if one.key != wish.key and one.priority <= wish.priority]
    if rivals:
        text += say(
            ", if they are kept for it: {rivals} would take them too",
            rivals=listed([one.key for one in rivals]),
        )
    return Change(wish.key, "wood", missing, text)
