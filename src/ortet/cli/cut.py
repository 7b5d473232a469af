"""Commands that cut shoots and pair scions with stocks on paper before the knife does."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .app import app
from .book import Base, Json, Length, Tip, measure, open_book, print_json, print_table

if TYPE_CHECKING:
    from ortet.decisions.cut import Cut
    from ortet.work.cut import Cutting, NotRead
    from ortet.work.match import Matched

MOST_SHOWN = 20  # shoots; --json prints all
MOST_PROBLEMS = 40


@app.command()
def cut(
    shoots: Annotated[
        Path | None,
        typer.Argument(metavar="[SHOOTS]", help="A CSV of measured shoots, a row each or a row a node."),
    ] = None,
    length: Length = "",
    base: Base = "",
    nodes: Annotated[int | None, typer.Option(help="Nodes of the usual shoot.")] = None,
    tip: Tip = "",
    variety: Annotated[str, typer.Option(help="Its variety, where there is no file.")] = "",
    grades: Annotated[str, typer.Option(help="A CSV of grades, or common, eu-vine, wa-grape.")] = "common",
    kerf: Annotated[str, typer.Option(help="Wood lost in a cut, such as 2mm for a saw.")] = "",
    below: Annotated[str, typer.Option(help="From the lowest node down to the cut. Default: 5 mm.")] = "",
    above: Annotated[str, typer.Option(help="From the top node up to the cut. Default: 15 mm.")] = "",
    card: Annotated[Path | None, typer.Option(help="Write the rule's card here, a PDF.")] = None,
    paper: Annotated[str, typer.Option(help="a6, a4 or letter.")] = "a6",
    template: Annotated[
        str, typer.Option(help="Print an empty table to fill: shoots, nodes, grades, pieces.")
    ] = "",
    as_json: Json = False,
) -> None:
    """Say where to cut shoots so that they are worth most, and a rule of thumb for the bench. Books nothing."""
    if template:
        _print_template(template)
        return
    alone = bool(length or base or nodes)
    if bool(shoots) == alone or (alone and not (length and base and nodes)):
        raise typer.BadParameter("Name a CSV of shoots, or give --length, --base and --nodes.")
    with open_book():
        for file in (shoots, Path(grades) if grades.lower().endswith(".csv") else None):
            if file is not None and not file.is_file():
                raise typer.BadParameter(f"There is no file {file}. Nothing was reckoned.")
        from ortet.ledger.models import Nursery
        from ortet.work.cut import NotRead, asked_grades, asked_knife, print_cards, read_shoots, usual_shoot
        from ortet.work.cut import cut as reckon

        nursery = Nursery.get()
        try:
            known, wanted = asked_grades(
                grades, Path(grades).read_bytes() if grades.lower().endswith(".csv") else None
            )
            if shoots:
                measured = read_shoots(shoots.read_bytes(), shoots.name)
            else:
                numbers = [measure(text, "read_length") for text in (length, base, tip)]
                measured = [usual_shoot(numbers[0], numbers[1], nodes, numbers[2], variety=variety)]
        except NotRead as fault:
            _print_problems(fault)
            raise SystemExit(1) from None
        knife = asked_knife(*(measure(text, "read_length") for text in (kerf, below, above)))
        answer = reckon(measured, known, wanted=wanted, knife=knife, units=nursery.units, usual=alone)
        if card:
            day = nursery.today().isoformat()
            card.write_bytes(print_cards(answer, paper=paper, nursery=nursery.name, day=day))
        if as_json:
            print_json(answer.as_dict())
        else:
            print_cutting(answer)
            if card:
                print(f"\nThe card is in {card}.")


def _print_problems(fault: "NotRead") -> None:
    for problem in fault.problems[:MOST_PROBLEMS]:
        print(problem, file=sys.stderr)
    many = "1 problem" if len(fault.problems) == 1 else f"{len(fault.problems)} problems"
    print(f"Nothing was reckoned: {many}.", file=sys.stderr)


@app.command()
def match(
    scions: Annotated[Path, typer.Argument(help="A CSV of scions: piece, diameter_mm.")],
    stocks: Annotated[Path, typer.Argument(help="A CSV of stocks, the same columns.")],
    thicker: Annotated[
        str, typer.Option(help="By how much a scion may be thicker than its stock. Default: 1 mm.")
    ] = "",
    thinner: Annotated[str, typer.Option(help="By how much it may be thinner. Default: 1 mm.")] = "",
    as_json: Json = False,
) -> None:
    """Pair scions with stocks of their thickness, as many as can be. Books nothing."""
    with open_book():
        for file in (scions, stocks):
            if not file.is_file():
                raise typer.BadParameter(f"There is no file {file}. Nothing was reckoned.")
        from ortet.ledger.models import Nursery
        from ortet.work.cut import NotRead
        from ortet.work.match import WITHIN_MM, read_pieces
        from ortet.work.match import match as pair

        by = [measure(text, "read_length") for text in (thicker, thinner)]
        over, under = (WITHIN_MM if mm is None else mm for mm in by)
        try:
            tops, feet = (read_pieces(file.read_bytes(), file.name) for file in (scions, stocks))
        except NotRead as fault:
            _print_problems(fault)
            raise SystemExit(1) from None
        found = pair(tops, feet, thicker_mm=over, thinner_mm=under)
        if as_json:
            print_json(found.as_dict())
        else:
            print_match(found, Nursery.get().units)


def print_match(found: "Matched", units: str) -> None:
    """Print the pairs, the thinnest first, and what is left over."""
    from ortet.wood.units import show_length

    print(found.reason)
    if found.pairs:
        rows: list[list[object]] = [
            [
                pair.scion.name,
                show_length(pair.scion.mm, units),
                pair.stock.name,
                show_length(pair.stock.mm, units),
            ]
            for pair in found.pairs
        ]
        print_table(["scion", "thick", "stock", "thick"], rows)
    for what, left in (("Scions", found.scions_left), ("Stocks", found.stocks_left)):
        if left:
            names = ", ".join(f"{one.name} ({show_length(one.mm, units)})" for one in left)
            print(f"{what} left: {names}.")


def _print_template(name: str) -> None:
    from ortet.tables.columns import template as make
    from ortet.tables.shoots import CUTTING

    if name not in CUTTING:
        raise typer.BadParameter(f"{name!r}: say {', '.join(CUTTING)}.")
    sys.stdout.buffer.write(make(name, CUTTING).encode())  # as it is: RFC 4180 line ends


def print_cutting(answer: "Cutting") -> None:
    """Print the plan and the rules."""
    plan = answer.plan
    many = len(plan.cuts)
    counts = ", ".join(f"{count} {name}" for name, count in plan.counts.items())
    gap = "the best there is" if plan.gap < 1e-6 else f"within {100 * plan.gap:.2g} % of the best there is"
    print(f"{many} shoot{'s' if many > 1 else ''}: {counts}; worth {plan.value:g}, {gap}.")
    for reason in plan.reasons:
        print(f"  {reason}")
    for number, one in enumerate(plan.cuts[:MOST_SHOWN], 1):
        print()
        print_shoot(number, one, answer.units)
    if many > MOST_SHOWN:
        print(f"\n… and {many - MOST_SHOWN} more; --json prints them all.")
    for variety, rule in answer.rules.items():
        print(f"\nRule of thumb{f' for ‘{variety}’' if variety else ''}, found on {rule.shoots} shoots")
        for number, step in enumerate(answer.steps[variety], 1):
            print(f"{number:>3}  {step}")
        for words in answer.says(variety):
            print(f"     {words}")
    for note in answer.notes:
        print(f"\n{note}")


def print_shoot(number: int, cut: "Cut", units: str) -> None:
    """Print one shoot's pieces and what is left, from the base up."""
    from ortet.wood.units import show_length

    def say(mm: float) -> str:
        return show_length(round(mm, 1), units)

    shoot = cut.shoot
    print(f"Shoot {shoot.name or number}, {show_length(shoot.length_mm, units)}, {len(shoot.nodes_mm)} nodes")
    rows: list[list[object]] = []
    for piece in cut.pieces:
        thick = f"{say(piece.base_mm)} to {say(piece.tip_mm)}"
        rows.append([
            piece.from_mm, piece.grade, say(piece.from_mm), say(piece.to_mm), piece.nodes, thick,
        ])  # fmt: skip
    rows += [
        [
            left.from_mm,
            "left",
            show_length(left.from_mm, units),
            show_length(left.to_mm, units),
            left.nodes,
            left.reason,
        ]
        for left in cut.dropped
    ]
    print_table(["piece", "cut at", "and at", "nodes", "thick"], [row[1:] for row in sorted(rows)])
