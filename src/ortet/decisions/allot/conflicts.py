"""What cannot all be had: contradictions that stop an allotment, and wishes that nothing there can meet."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence

from .plan import Conflict
from .shares import deliveries, one_delivery_days
from .wishes import Ask, Fixed, Span, Supply, Wish, day_name, listed

__all__ = ["broken", "doubled", "out_of_reach"]


def doubled(supplies: Sequence[Supply], wishes: Sequence[Wish]) -> list[Conflict]:
    """Return keys that are used twice."""
    found = []
    for what, keys in (("supply", [s.key for s in supplies]), ("wish", [w.key for w in wishes])):
        for key, times in Counter(keys).items():
            if times > 1:
                which = (key,) if what == "wish" else ()
                found.append(
                    Conflict(f"{times} {what} entries are called {key}", which, "Give each a key of its own.")
                )
    return found


def broken(ask: Ask) -> list[Conflict]:
    """Return hand-made choices that cannot be kept."""
    found: list[Conflict] = []
    of_supply: dict[str, list[Fixed]] = defaultdict(list)
    of_wish: dict[str, list[Fixed]] = defaultdict(list)
    for choice in ask.fixed:
        if problem := _problem(ask, choice):
            found.append(
                Conflict(f"{choice} was fixed by hand, but {problem[0]}", (choice.wish,), problem[1])
            )
        else:
            of_supply[choice.supply].append(choice)
            of_wish[choice.wish].append(choice)
    for key, choices in of_supply.items():
        asked, there = sum(one.count for one in choices), ask.supply[key].count
        if asked > there:
            wishes = tuple(dict.fromkeys(one.wish for one in choices))
            found.append(
                Conflict(
                    f"{asked} of {key} were fixed by hand, for {listed(wishes)}, but it holds {there}",
                    wishes,
                    f"Lower one of these by {asked - there} in all, or free it.",
                )
            )
    for key, choices in of_wish.items():
        found += _too_many(ask.wish[key], choices)
    for key, days in () if found else one_delivery_days(ask).items():
        if days is None:
            found.append(
                Conflict(
                    f"{listed(str(one) for one in of_wish[key])} were fixed by hand, but {key} goes in one delivery "
                    "and no day suits them all",
                    (key,),
                    f"Fix them in one week, or let {key} go in parts.",
                )
            )
    return found


def _too_many(wish: Wish, choices: Sequence[Fixed]) -> Iterator[Conflict]:
    asked = sum(one.count for one in choices)
    if asked > wish.count:
        yield Conflict(
            f"{asked} cuttings were fixed by hand for {wish.key}, which asks for {wish.count}",
            (wish.key,),
            f"Lower its fixed choices by {asked - wish.count}, or raise the wish to {asked}.",
        )


def _problem(ask: Ask, choice: Fixed) -> tuple[str, str] | None:
    """Return what is wrong with one hand-made choice by itself, and what to relax."""
    supply, wish = ask.supply.get(choice.supply), ask.wish.get(choice.wish)
    if supply is None or wish is None:
        missing = choice.supply if supply is None else choice.wish
        return f"there is no {missing}", "Free this choice."
    if choice.count < 1:
        return "that is no cutting at all", "Enter 1 or more, or free this choice."
    if not 0 <= choice.week < ask.weeks:
        return f"the plan has {ask.weeks} weeks", f"Choose week 1 to {ask.weeks}."
    if supply.variety not in wish.varieties:
        return (
            f"{wish.key} asks for {listed(wish.varieties)} and this is {supply.variety}",
            "Ask the buyer whether it may be a substitute, and enter it as one.",
        )
    if supply.use != wish.use:
        return f"it was cut for {supply.use} and {wish.key} is for {wish.use}", "Free this choice."
    if wish.grades and supply.grade not in wish.grades:
        return (
            f"its grade is {supply.grade or 'not known'} and {wish.key} takes {listed(wish.grades)}",
            f"Let {wish.key} take that grade too, or free this choice.",
        )
    days = ask.days(supply, wish)
    if days is None or days.meet(ask.week_span(choice.week)) is None:
        good = (
            f"it can be picked for {wish.key} only from {day_name(days.first)} to {day_name(days.last)}"
            if days
            else f"it is never good within the window of {wish.key}, {_days(Span(wish.first, wish.last))}"
        )
        return good, "Choose another week, another window or another supply."
    return None


def out_of_reach(ask: Ask) -> list[Conflict]:
    """Return wishes that all the wood there is could not meet; the rest is planned without them."""
    return [*_backups(ask), *_alls(ask)]


def _backups(ask: Ask) -> Iterator[Conflict]:
    there: Counter[str] = Counter()
    hands: dict[str, Counter[str]] = defaultdict(Counter)
    for supply in ask.supplies:
        there[supply.variety] += supply.free
    for choice in ask.fixed:
        hands[ask.supply[choice.supply].variety][choice.wish] += choice.count
    for variety, kept in sorted(ask.backup.items()):
        taken = hands[variety]
        if kept <= there[variety] - taken.total():
            continue
        by_hand = f", and {taken.total()} of them are fixed by hand for {listed(taken)}" if taken else ""
        wishes = tuple(sorted(taken)) or tuple(one.key for one in ask.wishes if variety in one.varieties)
        left = max(0, there[variety] - taken.total())
        yield Conflict(
            f"a backup of {kept} is to be kept of {variety}, but {there[variety]} are there{by_hand}",
            wishes,
            f"Lower the backup to {left} or fewer, free a fixed choice, or take more wood."
            if left
            else "Lower the backup, free a fixed choice, or take more wood.",
        )


def _alls(ask: Ask) -> Iterator[Conflict]:
    """Wishes whose least is more than all the wood they could have, were they alone."""
    for wish in sorted(ask.wishes, key=lambda one: one.key):
        if wish.least == 1 or any(choice.wish == wish.key for choice in ask.fixed):
            continue
        spans = {s.key: days for s in ask.supplies if wish.takes(s) and (days := ask.days(s, wish))}
        sets = [set(spans)] if wish.parts else list(deliveries(spans).values())
        most = max((_most(ask, keys) for keys in sets), default=0)
        if most < wish.least:
            together = "" if wish.parts else " on any one day"
            yield Conflict(
                f"{wish.key} takes no fewer than {wish.least} of {listed(wish.varieties)}, "
                f"but at most {most} could go to it{together}, were it alone",
                (wish.key,),
                (f"Ask whether {most} will do" if most else "Ask for a substitute")
                + ", widen its window or grades, or take more wood.",
            )


def _most(ask: Ask, keys: Iterable[str]) -> int:
    """Return what these supplies give at most once the backup is kept."""
    here: Counter[str] = Counter()
    for key in keys:
        here[ask.supply[key].variety] += ask.supply[key].free
    total: Counter[str] = Counter()
    for supply in ask.supplies:
        if supply.variety in here:
            total[supply.variety] += supply.free
    return sum(min(n, max(0, total[variety] - ask.backup.get(variety, 0))) for variety, n in here.items())


def _days(span: Span) -> str:
    return f"{day_name(span.first)} to {day_name(span.last)}"
