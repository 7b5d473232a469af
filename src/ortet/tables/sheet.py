"""A file as lines of text: whatever its encoding, line ends and delimiter.

RFC 4180 says how cells are quoted; it leaves the rest to whoever wrote the file.
"""

from __future__ import annotations

import codecs
import csv
import re
from os import PathLike
from pathlib import Path

from ortet.wood.speech import say

__all__ = ["DELIMITERS", "Source", "Unreadable", "cells", "lines_of", "read_text"]

Source = str | PathLike[str] | bytes

# A comma is also a decimal sign and a full stop of thought, so the other two are tried first.
DELIMITERS = ("\t", ";", ",")

CONTROL = re.compile(r"[\x00-\x08\x0e-\x19\x1b-\x1f]")  # \x1a, the old end-of-file mark, is let through


class Unreadable(ValueError):
    """The file is no text. `remedy` says what to do."""

    def __init__(self, message: str, remedy: str):
        super().__init__(message)
        self.message, self.remedy = message, remedy


def read_text(source: Source) -> str:
    """Return the whole file as text with `\\n` line ends; raise `Unreadable` where it is none."""
    raw = source if isinstance(source, bytes) else Path(source).read_bytes()
    if not raw.strip():
        raise Unreadable(say("the file is empty."), say("Save it again from where it came."))
    if raw.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")):
        raise Unreadable(
            say("this is a spreadsheet workbook or an archive, not text."),
            say("Save the sheet as CSV."),
        )
    text = _decoded(raw)
    if CONTROL.search(text, 0, 100_000):
        raise Unreadable(say("this is not text but some other kind of file."), say("Export it as CSV."))
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    return text.rstrip("\x1a")


def _decoded(raw: bytes) -> str:
    try:
        if raw.startswith(codecs.BOM_UTF8):
            return raw[3:].decode("utf-8")
        if raw.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
            return raw.decode("utf-16")
        head = raw[:2000]
        # Latin letters in UTF-16 without its mark: every other byte is nought.
        if head[1::2].count(0) > 0.4 * len(head[1::2]):
            return raw.decode("utf-16-le")
        if head[0::2].count(0) > 0.4 * len(head[0::2]):
            return raw.decode("utf-16-be")
        try:
            return raw.decode("utf-8")
        except UnicodeDecodeError:
            return raw.decode("cp1252")
    except UnicodeDecodeError:
        raise Unreadable(
            say("this is not text, or its letters are mixed up."), say("Save it as CSV in UTF-8.")
        ) from None


def lines_of(text: str) -> list[str]:
    """Return the lines; the first has number 1 in every message."""
    return text.split("\n")


def cells(line: str, delimiter: str) -> list[str]:
    """Return one line's cells, unquoted and trimmed."""
    if '"' not in line:
        return [cell.strip() for cell in line.split(delimiter)]
    try:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter, skipinitialspace=True))]
    except (csv.Error, StopIteration):
        return [cell.strip() for cell in line.split(delimiter)]
