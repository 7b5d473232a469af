"""Which line of a logger's or weather file is its header, and what each column holds."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from datetime import timedelta, timezone, tzinfo

from .sheet import DELIMITERS, cells
from .when import order_in_header

__all__ = ["Header", "find_header", "role_of"]

LINES_SEARCHED = 80

# In several languages, without accents. A column about another (its source, its alarm) is none of these.
NOT_A_READING = re.compile(
    r"dew|wet.?bulb|source|uncert|alarm|limit|elapsed|duration|interval|hum.*ratio|abs|precip|wind|flag|quality|qc\b"
    r"|battery|batterie|taupunkt|rosee|soil|water temp|heat index|set.?point"
)
DATE = re.compile(
    r"\b(date|datum|fecha|data|day|tag|timestamp|datetime|date.?time|zeitpunkt|zeitstempel)\b"
    r"|\b(recorded|measured|logged)( at)?$|^at( s)?$"
)
TIME = re.compile(r"\b(time|uhrzeit|zeit|hora|ora|heure|hour|tijd|tid)\b")
AIR = re.compile(
    r"\btemp\w*|temperat|\b(air|dry.?bulb|celsius|fahrenheit)\b|^t( ?[(\[].*)?$"
    r"|[°º]\s?[cf]\b|\bdeg\.? ?[cf]\b"
)
HUMID = re.compile(
    r"\b(rh|r\.h\.|rhum|hum|humidity|relhum|humedad|humidite|umidita)\b|feuchte|feuchtigkeit|% ?rh\b"
)
LOW = re.compile(r"\b(tmin|min|minimum|lowest|low|mini|tn)\b|tiefst")
HIGH = re.compile(r"\b(tmax|max|maximum|highest|high|maxi|tx)\b|hochst")
FAHRENHEIT = re.compile(r"[°º]\s?f\b|\bdeg\.? ?f\b|\bfahrenheit\b|[(\[_, ]f[)\]]?$")
CELSIUS = re.compile(r"[°º]\s?c\b|\bdeg\.? ?c\b|\bcelsius\b|\bcentigrade\b|[(\[_, ]c[)\]]?$")
KELVIN = re.compile(r"[(\[, ]k[)\]]?$|\bkelvin\b")
OFFSET = re.compile(r"\b(?:GMT|UTC)\s*(?:([+-])\s*(\d{1,2})(?::?(\d{2}))?)?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Header:
    """Where the columns of a record stand."""

    line: int  # number of the header's line
    delimiter: str
    at: dict[str, int]  # role -> position of the column
    written: dict[str, str]  # role -> heading as it stands in the file
    unit: dict[str, str]  # role -> C, F, K, or nothing written
    zone: tzinfo | None  # named in the heading of the times
    day_first: bool | None  # told by the heading of the dates
    others: tuple[str, ...] = ()  # further columns that could have been the temperature


def find_header(text: str, roles: tuple[str, ...]) -> Header | None:
    """Return the first line that names a date or time and all the `roles` asked for."""
    head = text[:65_536].split("\n")[:LINES_SEARCHED]
    for delimiter in DELIMITERS:
        for number, line in enumerate(head, 1):
            if delimiter in line and (found := _header(number, cells(line, delimiter), delimiter, roles)):
                return found
    return None


def role_of(heading: str) -> str:
    """Return what a heading says its column holds: date, time, air, humidity, low, high, or nothing."""
    plain = _plain(heading)
    if not plain or NOT_A_READING.search(plain) or len(plain) > 60:
        return ""
    if HUMID.search(plain):
        return "humidity"
    if LOW.search(plain) and not TIME.search(plain):
        return "low"
    if HIGH.search(plain) and not TIME.search(plain):
        return "high"
    if AIR.search(plain):
        return "air"
    if DATE.search(plain):
        return "date"
    return "time" if TIME.search(plain) else ""


def _header(number: int, headings: list[str], delimiter: str, roles: tuple[str, ...]) -> Header | None:
    at: dict[str, int] = {}
    others = []
    for i, heading in enumerate(headings):
        role = role_of(heading)
        if role and role not in at:
            at[role] = i
        elif role == "air":
            others.append(heading)
    if "time" in at and "date" not in at:
        at["date"] = at.pop("time")  # one column, called time, holds both
    elif (
        "time" in at
        and DATE.search(_plain(headings[at["date"]]))
        and TIME.search(_plain(headings[at["date"]]))
    ):
        at.pop("time")  # "Date/Time" beside another time
    if "date" not in at or not set(roles) <= set(at):
        return None
    written = {role: headings[i] for role, i in at.items()}
    units = {role: _unit(heading) for role, heading in written.items() if role in ("air", "low", "high")}
    named = " ".join(written.get(role, "") for role in ("date", "time"))
    return Header(
        number,
        delimiter,
        at,
        written,
        units,
        _zone(named),
        order_in_header(named),
        tuple(others),
    )


def _plain(heading: str) -> str:
    kept = heading.replace("°", "\0").replace("º", "\0").replace("_", " ").lower()
    bare = unicodedata.normalize("NFKD", kept)
    return "".join(c for c in bare if not unicodedata.combining(c)).replace("\0", "°").strip()


def _unit(heading: str) -> str:
    plain = _plain(heading)
    for unit, form in (("F", FAHRENHEIT), ("C", CELSIUS), ("K", KELVIN)):
        if form.search(plain):
            return unit
    return ""


def _zone(heading: str) -> tzinfo | None:
    found = OFFSET.search(heading)
    if not found:
        return None
    size = timedelta(hours=int(found[2] or 0), minutes=int(found[3] or 0))
    return timezone(-size if found[1] == "-" else size) if size < timedelta(hours=24) else None
