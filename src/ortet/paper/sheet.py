"""A sheet of labels to be cut apart: its grid, and what of it is used up already. sheet.typ beside this file draws it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from ortet.wood.speech import say, to_say

from .typeset import SHEETS, typeset, unknown_paper

__all__ = ["Sheet", "on_labels"]


TITLE = to_say("Labels")


@dataclass(frozen=True, slots=True)
class Sheet:
    """How many labels of which size lie on a sheet. The grid stands in the middle, 11 mm or more from every edge."""

    columns: int
    rows: int
    width: float  # [mm]
    height: float  # [mm]

    @property
    def places(self) -> int:
        """How many labels it holds."""
        return self.columns * self.rows


def on_labels(
    template: str,
    sheet: Sheet,
    labels: Sequence[dict[str, Any]],
    *,
    paper: str,
    skip: int,
    what: str,
    words: Sequence[str] = (),
    **said: Any,
) -> bytes:
    """Return a PDF of labels, row by row, on as many sheets as it takes.

    Parameters
    ----------
    labels
        What its template reads of each.
    skip
        Places of the first sheet that are used up already.
    what
        Labels of which kind, in words.
    words
        What its template itself says.

    Raises
    ------
    ValueError
        If there is none, the paper is unknown, the sheet has not that many places, or no font has a letter of a name.
    """
    if paper not in SHEETS:
        raise unknown_paper(paper, SHEETS)
    if not labels:
        raise ValueError(say("No {what} to print: name at least one lot. Nothing was printed.", what=what))
    if not 0 <= skip < sheet.places:
        raise ValueError(
            say(
                "Skip {skip} places: a sheet of {what} has {places}, so skip 0 to {most}. Nothing was printed.",
                skip=skip,
                what=what,
                places=sheet.places,
                most=sheet.places - 1,
            )
        )
    width, height = SHEETS[paper]
    grid = {"columns": sheet.columns, "rows": sheet.rows, "width": sheet.width, "height": sheet.height}
    page = {"width": width, "height": height}
    job = {"page": page, "sheet": grid, "skip": skip, "labels": labels, **said}
    return typeset(template, job, [*words, TITLE])
