"""The command that plans the season, and shows the plan."""

from typing import TYPE_CHECKING, Annotated

import typer

from .app import app
from .book import As, Json, hand_of, open_book, print_json, print_table, progress

if TYPE_CHECKING:
    from ortet.work.plan.shown import Shown


@app.command()
def plan(
    show: Annotated[bool, typer.Option("--show", help="Show the plan that counts; make none.")] = False,
    sure: Annotated[float, typer.Option(help="How sure each target is to be reached, from 0 to 1.")] = 0.9,
    as_json: Json = False,
    hand: As = "",
) -> None:
    """Plan the season: what to take, who gets what, what goes on the bench, which day to post."""
    with open_book():
        from ortet import work
        from ortet.work.plan.shown import shown

        if not show:
            from ortet.work.plan.whole import STEPS, plan_season

            if not 0 < sure < 1:
                raise work.Refused(f"--sure {sure:g}: give a number between 0 and 1. Nothing was planned.")
            with progress() as bars:

                def tell(step: str, share: float) -> None:
                    for before in STEPS[: STEPS.index(step)]:
                        bars(before, 100, 100)
                    bars(step, round(100 * share), 100)

                plan_season(by=hand_of(hand), confidence=sure, tell=tell)
        planned = shown()
        if planned is None:
            raise work.Refused("The season has not been planned yet: ortet plan. Nothing was changed.")
        if as_json:
            from dataclasses import asdict

            print_json(asdict(planned))
            return
        print_plan(planned)


def print_plan(planned: "Shown") -> None:
    """Print the plan as a stranger can read it: what to do, what goes short and why, what binds."""
    from django.utils import timezone

    at = timezone.localtime(planned.at)
    print(f"The season as planned on {at.day} {at:%B %Y %H:%M}.\n")
    _section("How much to take", ["mother plant", "variety", "for", "take", "best day"], [
        [cut.mother, cut.variety, cut.use, cut.count - cut.done, cut.day or "any"]
        for cut in planned.cuts if cut.count > cut.done
    ], "The wood in store is enough.")  # fmt: skip
    _section("Who gets what", ["wish", "for", "variety", "asked", "gets", "from"], [
        [p.wish, p.who, p.variety, p.given + p.short, p.given,
         ", ".join(f"{pick.count} of {pick.name}" + (f" in {pick.place}" if pick.place else "") for pick in p.picks)]
        for p in planned.promises
    ], "Nothing is wanted yet: ortet order, ortet want.")  # fmt: skip
    for promise in planned.short:
        print(f"  {promise.wish} goes {promise.short} short: {'; '.join(promise.why)}.")
    _section("What goes on the bench", ["lot", "variety", "count", "bench", "heat", "from", "half rooted", "risk"], [
        [one.name, one.variety, one.count, one.bench, "none" if one.base_c is None else f"{one.base_c:g} °C",
         one.start, one.ready, f"{one.risk:.0%}"]
        for one in planned.sets
    ], "Nothing is to be set on a bench.")  # fmt: skip
    for left in planned.unplaced:
        print(f"  {left['batch']}: {left['count']} find no place. {left['why']}")
    _section("Which day to post", ["order", "buyer", "cuttings", "day", "with", "risk"], [
        [post.order, post.buyer, post.count, post.day or "hold", post.pack or "no pack", f"{post.risk:.1%}"]
        for post in planned.posts
    ], "Nothing is to be posted.")  # fmt: skip
    for kind, title in (
        ("take", "taking"),
        ("allot", "allotting"),
        ("bench", "the benches"),
        ("post", "posting"),
    ):
        notes = planned.notes[kind]
        if notes.binds:
            print(f"\nWhat binds {title}:")
            for line in notes.binds:
                print(f"  {line}")
    print("\nWhat would change it, and what it assumes: ortet plan --show --json, or the page /plan.")


def _section(title: str, head: list[str], rows: list[list[object]], none: str) -> None:
    print(f"\n{title}")
    if rows:
        print_table(head, rows)
    else:
        print(f"  {none}")
