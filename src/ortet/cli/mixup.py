"""The command that looks for the moment at which names got swapped."""

import re
import textwrap
from typing import TYPE_CHECKING, Annotated

import typer

from ortet.wood.speech import say_number

from .app import app
from .book import Json, open_book, print_json, print_table

if TYPE_CHECKING:
    from ortet.work.mixup import Answer, Found, Points

WRITTEN = re.compile(
    r"(?P<lot>[^:]+):(?P<wrong>\d+)/(?P<looked>\d+)(?:=(?P<variety>[^@]*))?(?:@(?P<place>.*))?"
)


@app.command()
def mixup(
    found: Annotated[
        list[str],
        typer.Argument(
            metavar="LOT:WRONG/LOOKED[=VARIETY][@PLACE]...",
            help="25-001:3/10 (3 of 10 plants of it were something else), 25-001:3/10=Dusk (they were that variety), "
            "25-001:3/10@T4 (those in batch T4, or of a buyer). Lots found right help: 25-002:0/5.",
        ),
    ],
    as_json: Json = False,
) -> None:
    """Say at which moment names most likely got swapped, what to look at next, and who else is touched. Books nothing."""
    with open_book():
        from dataclasses import asdict

        from ortet.work.mixup import mixup as trace

        answer = trace([_read(words) for words in found])
        if as_json:
            print_json(asdict(answer))
        else:
            print_answer(answer)


def _read(words: str) -> "Found":
    from ortet.work import Refused
    from ortet.work.mixup import Found

    match = WRITTEN.fullmatch(words.strip())
    if not match:
        raise Refused(
            f"{words!r}: write the lot, a colon, how many were wrong of how many looked at, such as 25-001:3/10, and, if "
            "you know it, what they were: 25-001:3/10=Dusk. Nothing was booked."
        )
    return Found(
        match["lot"].strip(),
        int(match["wrong"]),
        int(match["looked"]),
        match["variety"] or "",
        match["place"] or "",
    )


def print_answer(answer: "Answer") -> None:
    """Print what most likely happened, what to look at next, and who else may have wrong plants."""
    from ortet.wood.code import show

    def say(words: str, first: str = "") -> None:
        print(textwrap.fill(words, 96, initial_indent=first, subsequent_indent=" " * len(first)))

    say(
        "; ".join(answer.found)
        + f". Weighed: {answer.moments} moments at which two varieties lay open together."
    )
    print("\nBetween what:")
    for words, share in answer.between:
        say(words, f"  {share:>4.0%}  ")
    print("\nWhen, the likeliest first:")
    for number, one in enumerate(answer.chances, 1):
        say(one.title, f"  {number}  {one.chance:>4.0%}  ")
        for lot in one.lots:
            say(
                f"{show(lot.code)} \N{LEFT SINGLE QUOTATION MARK}{lot.variety}\N{RIGHT SINGLE QUOTATION MARK}: {lot.done}",
                " " * 11,
            )
        who = f", by {', '.join(one.by)}" if one.by else ""
        how = "; or ".join(one.how)
        say(f"{how[0].upper()}{how[1:]}: {one.count}{who}", " " * 11)
    if answer.rest >= 0.01:
        say(f"anything else, {say_number(answer.rest, '.0%')}", "  ")
    print("\nLook at next:")
    for look in answer.next:
        say(f"{look.plants} of {show(look.lot)} \N{LEFT SINGLE QUOTATION MARK}{look.variety}\N{RIGHT SINGLE QUOTATION MARK} "
            f"({look.where}). A wrong one among them: {say_number(look.any_wrong, '.0%')} likely, and it points to {pointed(look.if_wrong)}. "
            f"All right points to {pointed(look.if_right)}.", "  - ")  # fmt: skip
    if not answer.next:
        say("More looks would hardly tell these moments apart. Look through the plants below instead.", "  ")
    print("\nWho else may have wrong plants:")
    print_table(
        ["lot", "variety", "where", "not looked at", "any wrong", "expected wrong"],
        [
            [show(t.lot), t.variety, t.where, t.rest, say_number(t.any_wrong, ".0%"), f"{t.expected:.1f}"]
            for t in answer.touched
        ],
    )


def pointed(points: "tuple[Points, ...]") -> str:
    """Name candidates by their numbers, with how surely each is meant."""
    return " or ".join(f"{p.number} ({say_number(p.chance, '.0%')})" for p in points) or "none of these"
