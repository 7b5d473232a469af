"""The map of a trial on paper: each tray as it stands, each plot with its number and letter, a tick and room for counts.

Typst lays it out (tray_map.typ beside this file), with the shipped fonts. The same trial gives the same bytes everywhere.
"""

import json
import re
from dataclasses import asdict, dataclass
from pathlib import Path

from .season_sheet import SHEET_PAPERS, SheetPaper

__all__ = ["MapCell", "MapPlot", "TrayMap", "TrialMap", "tray_map"]

HERE = Path(__file__).parent
_QUIET = 4  # modules left white all round: ISO/IEC 18004


@dataclass(frozen=True, slots=True)
class MapCell:
    """Where a cell of a plot lies, from 1."""

    row: int
    column: int


@dataclass(frozen=True, slots=True)
class MapPlot:
    """A plot as it is to be read."""

    number: int
    letter: str
    treatment: str
    variety: str
    block: int
    shade: int  # 0 white, and darker: so that plots side by side are told apart without colour
    cells: tuple[MapCell, ...]


@dataclass(frozen=True, slots=True)
class TrayMap:
    """One tray, seen from where its first row is at the top."""

    name: str
    plots: tuple[MapPlot, ...]


@dataclass(frozen=True, slots=True)
class TrialMap:
    """What stands on the map."""

    title: str
    question: str
    drawn: str  # when, by whom, from which seed
    rows: int
    columns: int
    looks: int
    key: tuple[tuple[str, str], ...]  # letter and treatment
    rules: tuple[str, ...]
    trays: tuple[TrayMap, ...]
    address: str  # where the code leads


def tray_map(trial: TrialMap, *, paper: SheetPaper = "a4") -> bytes:
    """Return the map as a PDF, one tray after another, then a list of the plots to tick off and note counts in.

    Raises
    ------
    ValueError
        If the paper is unknown, or if no font has a letter of a name.
    """
    import typst

    if paper not in SHEET_PAPERS:
        raise ValueError(f"Paper {paper!r}: say {' or '.join(SHEET_PAPERS)}. Nothing was printed.")
    width, height = SHEET_PAPERS[paper]
    job = {"page": {"width": width, "height": height}, "trial": asdict(trial), "code": _code(trial.address)}
    missing = ""
    for shipped_only in (True, False):
        try:
            return typst.compile(
                HERE / "tray_map.typ",
                root=HERE,
                format="pdf",
                font_paths=[HERE / "fonts"],
                ignore_system_fonts=shipped_only,
                # The words travel as data, never as Typst's own markup, so that a name prints as it is written.
                sys_inputs={"job": json.dumps(job, ensure_ascii=False)},
                pdf_standards="a-2b",
                pdf_tags=False,
            )
        except typst.TypstError as error:
            found = re.search(r"the text `\"(.*?)\"` could not be displayed", str(error))
            if not found:
                raise
            missing = re.sub(r"\\u\{(\w+)\}", lambda escaped: chr(int(escaped[1], 16)), found[1])
    raise ValueError(
        f"No font on this machine can write {missing!r}. Write the name in other letters, or install a font that has them. "
        "Nothing was printed."
    )


def _code(address: str) -> str:
    """Return a QR code as an SVG; capitals alone make a smaller one, and our addresses may be written in them."""
    import io

    import segno

    written = io.BytesIO()
    segno.make(address.upper(), error="m", micro=False).save(written, kind="svg", border=_QUIET, xmldecl=False)
    return written.getvalue().decode()
