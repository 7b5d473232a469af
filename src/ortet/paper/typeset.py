"""Words set on paper by Typst: one template, one job of plain values, the shipped fonts.

The same job gives the same bytes on every machine: the fonts are shipped, and the date in the file is a fixed one.
"""

import json
import re
from collections.abc import Iterable, Sequence
from functools import cache
from pathlib import Path
from threading import Lock, Thread
from typing import TYPE_CHECKING, Any, Literal

from ortet.wood.speech import said_in, say, to_say

if TYPE_CHECKING:
    from typst import Compiler, Fonts

__all__ = ["PAPERS", "SHEETS", "SheetPaper", "on_sheet", "typeset"]

SheetPaper = Literal["a4", "letter"]

# ISO 216; ANSI/ASME Y14.1 [mm]
PAPERS: dict[str, tuple[float, float]] = {"a6": (105, 148), "a4": (210, 297), "letter": (215.9, 279.4)}
SHEETS = {name: PAPERS[name] for name in ("a4", "letter")}  # what an office printer holds
HERE = Path(__file__).parent
KEPT = 10  # papers after which Typst's Python package (0.15) forgets what none of them made use of
_forgetting = Lock()
FOOT = to_say("Page {page} of {pages}")


def on_sheet(template: str, paper: str, *, words: Sequence[str] = (), **said: Any) -> bytes:
    """Return a PDF on what an office printer holds, as `typeset` does.

    Raises
    ------
    ValueError
        If the paper is unknown, or if no font has a letter of a name.
    """
    if paper not in SHEETS:
        raise unknown_paper(paper, SHEETS)
    width, height = SHEETS[paper]
    return typeset(template, {"page": {"width": width, "height": height}, **said}, [*words, FOOT])


def unknown_paper(paper: str, known: Iterable[str]) -> ValueError:
    """Return what says which papers there are."""
    return ValueError(
        say("Paper {asked!r}: say {known}. Nothing was printed.", asked=paper, known=say(" or ").join(known))
    )


@cache
def _fonts(shipped_only: bool) -> "Fonts":
    """Return the fonts, read once: reading them takes as long as setting a label."""
    import typst

    return typst.Fonts(include_system_fonts=not shipped_only, font_paths=[HERE / "fonts"])


@cache
def _empty() -> "Compiler":
    import typst

    return typst.Compiler(HERE / "empty.typ", font_paths=_fonts(True))


def _forget() -> None:
    """Let Typst forget what it has set: a list of 2,000 stops fills 200 MB, and it would keep the last ten papers.

    That takes a sixth of the time of setting it, in which nobody need wait.
    """
    with _forgetting:
        for _ in range(KEPT + 1):
            _empty().compile(format="svg")


def typeset(template: str, job: dict[str, Any], words: Sequence[str] = ()) -> bytes:
    """Return a PDF. Only a name that the shipped fonts cannot write is given the fonts of the machine.

    Parameters
    ----------
    template
        Name of a Typst file beside this one, without its ending.
    job
        What it reads: values that JSON can hold.
    words
        What the template itself says, in English; it is printed in the language that is asked for now.

    Raises
    ------
    ValueError
        If no font has a letter of a name.
    """
    import typst

    spoken = job | {"lang": said_in(), "words": {one: say(one) for one in words}}
    missing = ""
    for shipped_only in (True, False):
        try:
            # The words travel as data, never as Typst's own markup, so that a name prints as it is written.
            return typst.compile(
                HERE / f"{template}.typ",
                root=HERE,
                format="pdf",
                font_paths=_fonts(shipped_only),
                sys_inputs={"job": json.dumps(spoken, ensure_ascii=False)},
                pdf_standards="a-2b",  # ISO 19005-2: a letter that no font has is an error, not an empty box
                pdf_tags=False,
            )
        except typst.TypstError as error:
            found = re.search(r"the text `\"(.*?)\"` could not be displayed", str(error))
            if not found:
                raise
            missing = re.sub(r"\\u\{(\w+)\}", lambda escaped: chr(int(escaped[1], 16)), found[1])
        finally:
            Thread(target=_forget, name="forgetting what was set").start()
    raise ValueError(
        say(
            "No font on this machine can write {missing!r}. Write the name in other letters, or install a font that has them. "
            "Nothing was printed.",
            missing=missing,
        )
    )
