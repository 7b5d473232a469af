"""Commands for trials: design one, strike it, read it, print it, and what ordinary records suggest."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .app import app
from .book import (
    As,
    At,
    Json,
    Note,
    hand_of,
    measure,
    open_book,
    print_json,
    print_table,
    refuse_paper_alone,
    when,
)

if TYPE_CHECKING:
    from ortet.evidence.trials import Design, Size
    from ortet.work.trials import Wanted
    from ortet.work.trials.look import Look, TrialView

Number = Annotated[int, typer.Argument(metavar="TRIAL", help="The trial's number.")]
Sheet = Annotated[str, typer.Option(help="a4 or letter. Default: what the nursery prints on.")]


def _say(words: str, first: str = "") -> None:
    print(textwrap.fill(words, 96, initial_indent=first, subsequent_indent=" " * len(first)))


@app.command()
def design(
    name: Annotated[str, typer.Argument(help="A short name for the trial.")],
    question: Annotated[str, typer.Argument(help="What is to be decided, in your words.")],
    treatment: Annotated[
        list[str], typer.Option("--treatment", "-t", help="Each in turn, the check first, such as 'no dip'.")
    ],
    variety: Annotated[
        list[str], typer.Option("--variety", "-v", help="Each in turn; blocks take turns among them.")
    ],
    check_share: Annotated[
        float, typer.Option("--check", help="Share thought to root under the check, from 0 to 1.")
    ] = 0.5,
    sought: Annotated[float, typer.Option(help="The difference worth finding, such as 0.2 for 20 in 100.")] = 0.2,
    sure: Annotated[float, typer.Option(help="How sure such a difference is to be shown, from 0 to 1.")] = 0.8,
    tray: Annotated[str, typer.Option(help="Rows and columns of a tray's cells, such as 6x12.")] = "6x12",
    alike: Annotated[str, typer.Option(help="Where warmth is the same: along rows, columns, none known, or trays: each plot a tray.")] = "rows",
    edge: Annotated[str, typer.Option(help="The outermost cells: use, guard (not counted), or block (their own).")] = "use",
    plot: Annotated[int, typer.Option(help="Cuttings in one plot, struck and counted together.")] = 6,
    looks: Annotated[int, typer.Option(help="On how many dates all plots are to be counted.")] = 1,
    blocks: Annotated[int | None, typer.Option(help="How many blocks. Default: as many as the difference needs.")] = None,
    seed: Annotated[int | None, typer.Option(help="Of the draw. Default: drawn, and written down.")] = None,
    only_look: Annotated[bool, typer.Option("--look", help="Say how many it takes; note nothing.")] = False,
    at: At = "",
    hand: As = "",
    as_json: Json = False,
) -> None:  # fmt: skip
    """Design a trial: how many plots, and where each treatment goes, drawn by a seed."""
    with open_book():
        from ortet.work.trials import design_trial
        from ortet.work.trials.designing import laid_out
        from ortet.work.trials.look import trial_view

        wanted = _wanted(
            treatment, variety, check_share, sought, sure, tray, alike, edge, plot, looks, blocks, seed
        )
        laid, size = laid_out(wanted)
        if only_look:
            if as_json:
                from dataclasses import asdict

                print_json({"size": asdict(size), "trays": laid.trays})
            else:
                _print_size(laid, size, wanted)
            return
        made = design_trial(name, question, wanted, by=hand_of(hand), at=when(at))
        if as_json:
            print_json({"number": made.number, **made.design})
            return
        print(f"{made}: drawn with seed {made.seed}.")
        _print_size(trial_view(made.number).design, size, wanted)
        print(f"Print it: ortet trial {made.number} --map map.pdf --labels labels.pdf")


def _wanted(
    treatments: list[str], varieties: list[str], check: float, sought: float, sure: float, tray: str, alike: str, edge: str,
    plot: int, looks: int, blocks: int | None, seed: int | None,
) -> Wanted:  # fmt: skip
    from typing import cast, get_args

    from ortet.evidence.trials.layout import Across, Edge
    from ortet.work import Refused
    from ortet.work.trials import Wanted

    rows, _, columns = tray.lower().replace("\N{MULTIPLICATION SIGN}", "x").partition("x")
    if not (rows.strip().isdecimal() and columns.strip().isdecimal()):
        raise Refused(f"--tray {tray!r}: write rows and columns, such as 6x12. Nothing was booked.")
    for option, said, known in (("--alike", alike, get_args(Across)), ("--edge", edge, get_args(Edge))):
        if said not in known:
            raise Refused(f"{option} {said!r}: say {', '.join(known)}. Nothing was booked.")
    return Wanted(
        tuple(treatments), tuple(varieties), check, sought, sure, int(rows), int(columns), cast("Across", alike), cast("Edge", edge),
        plot, looks, blocks, seed,
    )  # fmt: skip


def _print_size(laid: Design, size: Size, wanted: Wanted) -> None:
    _say(
        f"{size.blocks} blocks of {len(laid.treatments)} plots of {size.plot_cuttings}: {size.cuttings} cuttings of each treatment, {size.total} in all, "
        f"on {laid.trays} tray{'s' if laid.trays > 1 else ''}. A difference of {100 * wanted.sought:.0f} in 100 is shown {100 * size.chance:.0f} times in 100."
    )


@app.command()
def trials(as_json: Json = False) -> None:
    """List the trials, and what each says so far."""
    with open_book():
        from ortet.work.trials.look import trials as all_trials

        found = all_trials()
        if as_json:
            print_json([_told(one) for one in found])
        elif found:
            print_table(
                ["trial", "name", "plots struck", "looks", "says"],
                [
                    [
                        one.trial.number, one.trial.name, f"{one.struck} of {len(one.plots)}",
                        f"{sum(look.is_done for look in one.looks)} of {one.design.looks}",
                        " ".join(one.last.sentences) if one.last else "nothing yet",
                    ]
                    for one in found
                ],
            )  # fmt: skip
        else:
            print("No trial yet: ortet design.")


def _told(view: TrialView) -> dict[str, object]:
    from dataclasses import asdict

    return {
        "number": view.trial.number,
        "name": view.trial.name,
        "question": view.trial.question,
        "seed": view.trial.seed,
        "made_at": view.trial.made_at,
        "treatments": view.design.treatments,
        "varieties": view.design.varieties,
        "shows": view.shows,
        "plots": [
            {
                **asdict(one.plot), "treatment": one.treatment, "variety": one.variety, "letter": one.letter,
                "batch": one.told.name if one.told else None, "struck": one.told.struck if one.told else None, "rooted": one.rooted,
            }
            for one in view.plots
        ],
        "looks": [asdict(one) for one in view.looks],
    }  # fmt: skip


@app.command()
def trial(
    number: Number,
    map_file: Annotated[Path | None, typer.Option("--map", metavar="FILE.pdf", help="Print its trays.")] = None,
    labels: Annotated[Path | None, typer.Option(metavar="FILE.pdf", help="Print a label for each plot.")] = None,
    paper: Sheet = "",
    skip: Annotated[int, typer.Option(help="Labels of the first sheet that are used up already.")] = 0,
    plots: Annotated[bool, typer.Option("--plots", help="List every plot.")] = False,
    as_json: Json = False,
) -> None:  # fmt: skip
    """Read a trial: what it asks, what was counted, and what that says; or print its map and labels."""
    with open_book():
        from ortet.work.trials.look import trial_view
        from ortet.work.trials.paper import plot_labels, tray_map

        refuse_paper_alone(paper, map_file, labels, option="--map or --labels")
        view = trial_view(number)
        for file, made in (
            (map_file, lambda: tray_map(number, paper)),
            (labels, lambda: plot_labels(number, paper, skip=skip)),
        ):
            if file:
                file.write_bytes(made())
        if as_json:
            print_json(_told(view))
            return
        _print_trial(view, plots)
        for what, file in (("The map", map_file), ("The labels", labels)):
            if file:
                print(f"{what}: {file}")


def _print_trial(view: TrialView, plots: bool) -> None:
    print(f"{view.trial}. {view.trial.question}\n")
    for letter, name in view.key:
        print(f"  {letter}  {name}")
    print()
    _say(f"{view.struck} of {len(view.plots)} plots struck. {view.shows}")
    for look in view.looks:
        _print_look(look, view)
    if view.rests_on:
        _say(view.rests_on)
    if plots:
        print_table(
            ["plot", "tray", "block", "", "treatment", "variety", "batch", "struck", "rooted"],
            [
                [
                    one.plot.number, one.plot.tray, one.plot.block, one.letter, one.treatment, one.variety,
                    one.told.name if one.told else "", one.told.struck if one.told else "", one.rooted,
                ]
                for one in view.plots
            ],
        )  # fmt: skip


def _print_look(look: Look, view: TrialView) -> None:
    from ortet.work.trials.look import variety_sentences

    print(f"\nLook {look.number} of {view.design.looks}, {look.day}:")
    if not look.verdict:
        _say(
            f"{look.left} of {look.of} plots are still to be counted; nothing is said before."
            if look.left
            else "Nothing can be compared yet.",
            "  ",
        )
        return
    for sentence in (
        *look.sentences,
        *(f"- {words}" for words in variety_sentences(view.design, look.verdict)),
    ):
        _say(sentence, "  ")


@app.command("strike-trial")
def strike_trial(
    number: Number,
    lots: Annotated[
        list[str], typer.Argument(metavar="LOT...", help="Lots to strike from, by code or mark.")
    ],
    bench: Annotated[str, typer.Option(help="The bench its trays stand on.")],
    from_place: Annotated[str, typer.Option("--from", help="Where the lots lie. Default: anywhere.")] = "",
    only: Annotated[str, typer.Option(help="Only plots of these letters, such as B.")] = "",
    medium: Annotated[str, typer.Option(help="What they stand in, such as sand or perlite.")] = "",
    heat: Annotated[str, typer.Option(help="What the mat is set to, such as 22C or 72F.")] = "",
    wounded: Annotated[bool, typer.Option("--wounded", help="The bases were wounded.")] = False,
    note: Note = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Strike all plots of a trial that are still empty, each as a batch."""
    with open_book():
        from ortet.work.growing.selling import right_of
        from ortet.work.growing.striking import crowding
        from ortet.work.trials import strike_trial as strike_all

        made = strike_all(
            number, lots, bench=bench, from_place=from_place or None, only=only, medium=medium, base_c=measure(heat, "read_temperature"), wounded=wounded, note=note,
            by=hand_of(hand), at=when(at),
        )  # fmt: skip
        first, last = made[0], made[-1]
        print(f"Trial {number}: {len(made)} plots struck, batches {first} to {last}.")
        rights = [right_of(lot) for lot in {batch.lot_id: batch.lot for batch in made}.values()]
        for caution in filter(None, [crowding(first.place.standings.latest("since").store), *rights]):
            print(f"Caution: {caution}")
        print(f"Count a plot later: ortet count {first} --rooted 3")


@app.command()
def hints(as_json: Json = False) -> None:
    """Say what ordinary batches suggest of treatments, what they cannot tell, and the trial that would."""
    with open_book():
        from dataclasses import asdict

        from ortet.work.trials.suggest import hints as all_hints

        found = all_hints()
        if as_json:
            print_json([asdict(one) | {"words": one.suggestion.words} for one in found])
            return
        if not found:
            print(
                "Nothing to compare: no two treatments were each struck in two batches or more, and finished."
            )
        for one in found:
            told = one.suggestion
            _say(told.words)
            if one.adjusted:
                _say(one.adjusted, "  ")
            for sentence in told.cannot:
                _say(sentence, "  - ")
            which = " ".join(f"-v {name!r}" for name in told.trial.varieties)
            given = " ".join(f"-t {name or 'no treatment'!r}" for name in told.trial.treatments)
            _say(
                f"The trial that would tell: ortet design NAME QUESTION {given} {which} --check {told.trial.check_share:g} --sought {told.trial.sought:g}",
                "  ",
            )
            print()
