"""What cannot all be had: contradictions that stop an allotment, and wishes that nothing there can meet."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence

from ortet.wood.speech import say, say_day, to_say

from .plan import Conflict
from .shares import deliveries, one_delivery_days
from .wishes import Ask, Fixed, Supply, Wish, listed

__all__ = ["broken", "doubled", "out_of_reach"]


def doubled(supplies: Sequence[Supply], wishes: Sequence[Wish]) -> list[Conflict]:
    """Return keys that are used twice."""
    found = []
    for words, keys, is_wish in (
        (to_say("{times} supply entries are called {key}"), [s.key for s in supplies], False),
        (to_say("{times} wish entries are called {key}"), [w.key for w in wishes], True),
    ):
        for key, times in Counter(keys).items():
            if times > 1:
                which = (key,) if is_wish else ()
                found.append(
                    Conflict(say(words, times=times, key=key), which, say("Give each a key of its own."))
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
                Conflict(
                    say("{choice} was fixed by hand, but {problem}", choice=choice, problem=problem[0]),
                    (choice.wish,),
                    problem[1],
                )
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
                    say(
                        "{asked} of {supply} were fixed by hand, for {wishes}, but it holds {there}",
                        asked=asked,
                        supply=key,
                        wishes=listed(wishes),
                        there=there,
                    ),
                    wishes,
                    say("Lower one of these by {count} in all, or free it.", count=asked - there),
                )
            )
    for key, choices in of_wish.items():
        found += _too_many(ask.wish[key], choices)
    for key, days in () if found else one_delivery_days(ask).items():
        if days is None:
            found.append(
                Conflict(
                    say(
                        "{choices} were fixed by hand, but {wish} goes in one delivery and no day suits them all",
                        choices=listed(str(one) for one in of_wish[key]),
                        wish=key,
                    ),
                    (key,),
                    say("Fix them in one week, or let {wish} go in parts.", wish=key),
                )
            )
    return found


def _too_many(wish: Wish, choices: Sequence[Fixed]) -> Iterator[Conflict]:
    asked = sum(one.count for one in choices)
    if asked > wish.count:
        yield Conflict(
            say(
                "{asked} cuttings were fixed by hand for {wish}, which asks for {count}",
                asked=asked,
                wish=wish.key,
                count=wish.count,
            ),
            (wish.key,),
            say(
                "Lower its fixed choices by {count}, or raise the wish to {asked}.",
                count=asked - wish.count,
                asked=asked,
            ),
        )


def _problem(ask: Ask, choice: Fixed) -> tuple[str, str] | None:
    """Return what is wrong with one hand-made choice by itself, and what to relax."""
    supply, wish = ask.supply.get(choice.supply), ask.wish.get(choice.wish)
    if supply is None or wish is None:
        missing = choice.supply if supply is None else choice.wish
        return say("there is no {missing}", missing=missing), say("Free this choice.")
    if choice.count < 1:
        return say("that is no cutting at all"), say("Enter 1 or more, or free this choice.")
    if not 0 <= choice.week < ask.weeks:
        return say("the plan has {weeks} weeks", weeks=ask.weeks), say(
            "Choose week 1 to {weeks}.", weeks=ask.weeks
        )
    if supply.variety not in wish.varieties:
        return (
            say(
                "{wish} asks for {varieties} and this is {variety}",
                wish=wish.key,
                varieties=listed(wish.varieties),
                variety=supply.variety,
            ),
            say("Ask the buyer whether it may be a substitute, and enter it as one."),
        )
    if supply.use != wish.use:
        cut = say(
            "it was cut for {use} and {wish} is for {wanted}",
            use=say(supply.use),
            wish=wish.key,
            wanted=say(wish.use),
        )
        return cut, say("Free this choice.")
    if wish.grades and supply.grade not in wish.grades:
        return (
            say(
                "its grade is {grade} and {wish} takes {grades}",
                grade=supply.grade or say("not known"),
                wish=wish.key,
                grades=listed(wish.grades),
            ),
            say("Let {wish} take that grade too, or free this choice.", wish=wish.key),
        )
    days = ask.days(supply, wish)
    if days is None or days.meet(ask.week_span(choice.week)) is None:
        good = (
            say(
                "it can be picked for {wish} only from {first} to {last}",
                wish=wish.key,
                first=say_day(days.first),
                last=say_day(days.last),
            )
            if days
            else say(
                "it is never good within the window of {wish}, {first} to {last}",
                wish=wish.key,
                first=say_day(wish.first),
                last=say_day(wish.last),
            )
        )
        return good, say("Choose another week, another window or another supply.")
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
        by_hand = (
            say(
                ", and {count} of them are fixed by hand for {wishes}",
                count=taken.total(),
                wishes=listed(taken),
            )
            if taken
            else ""
        )
        wishes = tuple(sorted(taken)) or tuple(one.key for one in ask.wishes if variety in one.varieties)
        left = max(0, there[variety] - taken.total())
        yield Conflict(
            say(
                "a backup of {kept} is to be kept of {variety}, but {there} are there{by_hand}",
                kept=kept,
                variety=variety,
                there=there[variety],
                by_hand=by_hand,
            ),
            wishes,
            say("Lower the backup to {left} or fewer, free a fixed choice, or take more wood.", left=left)
            if left
            else say("Lower the backup, free a fixed choice, or take more wood."),
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
            together = "" if wish.parts else say(" on any one day")
            yield Conflict(
                say(
                    "{wish} takes no fewer than {least} of {what}, but at most {most} could go to it{together}, were it alone",
                    wish=wish.key,
                    least=wish.least,
                    what=listed(wish.varieties),
                    most=most,
                    together=together,
                ),
                (wish.key,),
                say("Ask whether {most} will do, widen its window or grades, or take more wood.", most=most)
                if most
                else say("Ask for a substitute, widen its window or grades, or take more wood."),
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
