"""Passport data of a collection: the 41 fields of the Multi-Crop Passport Descriptors, each declared once, and their file.

Alercia, Diulgheroff & Mackay 2015, FAO/Bioversity Multi-Crop Passport Descriptors V.2.1 (MCPD). No form of file is laid down
there; a CSV file in UTF-8 with one row of field names is usual. What breaks a rule is a problem; what is legal and odd is noted.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from ortet.wood.countries import ALPHA_3
from ortet.wood.naming import fold
from ortet.wood.speech import say, to_say

from .problem import Problem
from .sheet import DELIMITERS, Source, Unreadable, cells, read_text

__all__ = [
    "BY_NAME",
    "FIELDS",
    "Field",
    "Passport",
    "PassportsRead",
    "broken",
    "is_passports",
    "odd",
    "read_passports",
    "write_passports",
]

SAMPSTAT = frozenset((
    "100", "110", "120", "130", "200", "300", "400", "410", "411", "412", "413", "414", "415", "416", "420",
    "421", "422", "423", "500", "600", "999",
))  # fmt: skip
COLLSRC = frozenset((
    "10", "11", "12", "13", "14", "15", "20", "21", "22", "23", "24", "25", "26", "27", "28",
    "30", "40", "50", "60", "61", "62", "99",
))  # fmt: skip
STORAGE = frozenset(["10", "11", "12", "13", "20", "30", "40", "50", "99"])
MLSSTAT = frozenset(("0", "1", "99"))
OTHERWISE = {
    "SAMPSTAT": "999",
    "COLLSRC": "99",
    "STORAGE": "99",
    "MLSSTAT": "99",
}  # to be explained in REMARKS
TWINS = (("COLLNAME", "COLLCODE"), ("COLLINSTADDRESS", "COLLCODE"), ("BREDNAME", "BREDCODE"), ("DONORNAME", "DONORCODE"))  # fmt: skip
RANKS = ("subsp.", "convar.", "var.", "f.", "Group")

_DATE = re.compile(r"(\d{4})(\d\d|--)(\d\d|--)", re.ASCII)
_LATITUDE = re.compile(r"(\d\d)(\d\d|--)(\d\d|--)[NS]", re.ASCII)
_LONGITUDE = re.compile(r"(\d{3})(\d\d|--)(\d\d|--)[EW]", re.ASCII)
_INSTITUTE = re.compile(r"[A-Z]{3}\d{3,}", re.ASCII)
_NUMBER = re.compile(r"[+-]?\d+(\.\d+)?", re.ASCII)
NOUGHT = ("--", "00")

Rule = Callable[[str], str]  # what is wrong with a text, and what to write; empty where it is right


def _anything(text: str) -> str:
    return ""


def _institute(text: str) -> str:
    if _INSTITUTE.fullmatch(text):
        return ""
    return say(
        "{text!r} is no institute's code: three capitals of its country and its number, such as PER001.",
        text=text,
    )


def _genus(text: str) -> str:
    ok = text.lstrip("×x ")[:1].isupper()
    return "" if ok else say("{text!r} does not begin with a capital.", text=text)


def _species(text: str) -> str:
    return (
        ""
        if text == text.lower()
        else say("{text!r} has a capital: write the epithet in small letters, or sp.", text=text)
    )


def _day(text: str) -> str:
    wrong = say(
        "{text!r} is no date: write YYYYMMDD, what is unknown as hyphens, such as 197506-- or 1975----.",
        text=text,
    )
    found = _DATE.fullmatch(text)
    if not found:
        return wrong
    year, month, day = found.groups()
    if month in NOUGHT:
        return "" if day in NOUGHT else wrong  # a day without its month says nothing [our choice]
    try:
        date(int(year), int(month), 1 if day in NOUGHT else int(day))
    except ValueError:
        return wrong
    return ""


def _degrees(pattern: re.Pattern[str], most: int, like: str) -> Rule:
    def check(text: str) -> str:
        wrong = say(
            "{text!r} is none: write {like}, minutes and seconds that are unknown as hyphens.",
            text=text,
            like=like,
        )
        found = pattern.fullmatch(text)
        if not found:
            return wrong
        degrees, minutes, seconds = found.groups()
        if minutes == "--" and seconds != "--":
            return wrong
        parts = [0 if part == "--" else int(part) for part in (degrees, minutes, seconds)]
        within = parts[0] < most or (parts[0] == most and not any(parts[1:]))
        return "" if within and max(parts[1:]) < 60 else wrong

    return check


def _between(low: float, high: float, unit: str) -> Rule:
    def check(text: str) -> str:
        if _NUMBER.fullmatch(text) and low <= float(text) <= high:
            return ""
        return say(
            "{text!r} is none: write a number from {low:g} to {high:g} [{unit}], with a point.",
            text=text,
            low=low,
            high=high,
            unit=unit,
        )

    return check


def _code(of: frozenset[str]) -> Rule:
    def check(text: str) -> str:
        return (
            ""
            if text in of
            else say(
                "{text!r} is no code: write one of {codes}.", text=text, codes=", ".join(sorted(of, key=int))
            )
        )

    return check


def _country(text: str) -> str:
    if re.fullmatch(r"[A-Z]{3}", text):
        return ""
    return say("{text!r} is no country: write its three letters by ISO 3166-1, such as DEU.", text=text)


def _other(text: str) -> str:
    institute, colon, number = text.partition(":")
    if colon and number and not number.startswith(" ") and (not institute or not _institute(institute)):
        return ""
    return say(
        "{text!r}: write the institute's code, a colon and the number; without a code the colon first.",
        text=text,
    )


@dataclass(frozen=True, slots=True)
class Field:
    """One field: its number in the standard, what it holds, how each of its values is checked."""

    number: str
    name: str
    about: str
    rule: Rule = _anything
    is_list: bool = False  # several values, between semicolons without spaces

    def wrong(self, text: str) -> str:
        """Return what breaks the standard in a text, and what to write instead; empty where nothing does."""
        if not text:
            return ""
        if not self.is_list:
            return self.rule(text)
        values = text.split(";")
        if any(value != value.strip() or not value for value in values):
            return say(
                "{text!r}: write several values with a semicolon between them, without spaces.", text=text
            )
        return next((said for value in values if (said := self.rule(value))), "")


FIELDS = (
    Field("0", "PUID", to_say("Persistent unique identifier of the accession, a DOI; without one INSTCODE:ACCENUMB:GENUS.")),
    Field("1", "INSTCODE", to_say("FAO WIEWS code of the institute that keeps it."), _institute),
    Field("2", "ACCENUMB", to_say("Accession number.")),
    Field("3", "COLLNUMB", to_say("Number its collector gave it.")),
    Field("4", "COLLCODE", to_say("FAO WIEWS code of the collecting institute."), _institute, True),
    Field("4.1", "COLLNAME", to_say("Name of the collecting institute, where it has no code."), is_list=True),
    Field("4.1.1", "COLLINSTADDRESS", to_say("Address of the collecting institute, where it has no code."), is_list=True),
    Field("4.2", "COLLMISSID", to_say("Identifier of the collecting mission.")),
    Field("5", "GENUS", to_say("Genus, with a capital."), _genus),
    Field("6", "SPECIES", to_say("Epithet of the species in small letters, or sp."), _species),
    Field("7", "SPAUTHOR", to_say("Authority for the species' name.")),
    Field("8", "SUBTAXA", to_say("What lies below the species: subsp., convar., var., f. or Group.")),
    Field("9", "SUBTAUTHOR", to_say("Authority for the lowest rank of these.")),
    Field("10", "CROPNAME", to_say("Common name of the crop.")),
    Field("11", "ACCENAME", to_say("Registered or other name, with a capital."), is_list=True),
    Field("12", "ACQDATE", to_say("Date it came into the collection."), _day),
    Field("13", "ORIGCTY", to_say("Country of origin, three letters by ISO 3166-1."), _country),
    Field("14", "COLLSITE", to_say("Where it was collected, in words.")),
    Field("15.1", "DECLATITUDE", to_say("Latitude in decimal degrees, south below nought."), _between(-90, 90, "°")),
    Field("15.2", "LATITUDE", to_say("Latitude as DDMMSS and N or S."), _degrees(_LATITUDE, 90, "103020S")),
    Field("15.3", "DECLONGITUDE", to_say("Longitude in decimal degrees, west below nought."), _between(-180, 180, "°")),
    Field("15.4", "LONGITUDE", to_say("Longitude as DDDMMSS and E or W."), _degrees(_LONGITUDE, 180, "0762510W")),
    Field("15.5", "COORDUNCERT", to_say("Uncertainty of the coordinates in metres."), _between(0, 20_100_000, "m")),
    Field("15.6", "COORDDATUM", to_say("Geodetic datum, such as WGS84.")),
    Field("15.7", "GEOREFMETH", to_say("How the place was found, such as GPS, map or gazetteer.")),
    Field("16", "ELEVATION", to_say("Metres above the sea, below it with a minus."), _between(-500, 9000, "m")),
    Field("17", "COLLDATE", to_say("Date it was collected."), _day),
    Field("18", "BREDCODE", to_say("FAO WIEWS code of the institute that bred it."), _institute, True),
    Field("18.1", "BREDNAME", to_say("Name of the breeder, where it has no code."), is_list=True),
    Field("19", "SAMPSTAT", to_say("Biological status: 300 traditional cultivar, 416 clonal selection, 500 improved cultivar."), _code(SAMPSTAT)),
    Field("20", "ANCEST", to_say("Pedigree or other ancestry.")),
    Field("21", "COLLSRC", to_say("Where it was had from: 22 orchard, 23 garden, 30 market or shop, 40 institute."), _code(COLLSRC)),
    Field("22", "DONORCODE", to_say("FAO WIEWS code of the donor."), _institute),
    Field("22.1", "DONORNAME", to_say("Name of the donor, where it has no code.")),
    Field("23", "DONORNUMB", to_say("Number the donor gave it.")),
    Field("24", "OTHERNUMB", to_say("Other numbers, each after its institute's code and a colon."), _other, True),
    Field("25", "DUPLSITE", to_say("FAO WIEWS code of where a safety duplicate is kept."), _institute, True),
    Field("25.1", "DUPLINSTNAME", to_say("Name of where a safety duplicate is kept."), is_list=True),
    Field("26", "STORAGE", to_say("How it is kept: 20 in the field, 30 in vitro."), _code(STORAGE), True),
    Field("27", "MLSSTAT", to_say("In the Multilateral System of the Treaty: 0 no, 1 yes, 99 other."), _code(MLSSTAT)),
    Field("28", "REMARKS", to_say("Remarks, each after its field's name and a colon.")),
)  # fmt: skip
BY_NAME = {field.name: field for field in FIELDS}


def broken(said: Mapping[str, str]) -> list[tuple[str, str]]:
    """Return each field that breaks the standard, with what is wrong and what to write; other names are let be."""
    found = ((name, BY_NAME[name].wrong(text)) for name, text in said.items() if name in BY_NAME)
    return [(name, wrong) for name, wrong in found if wrong]


def odd(said: Mapping[str, str]) -> list[str]:
    """Return what is legal and yet worth a look, in sentences."""
    told = []
    remarks = said.get("REMARKS", "")
    for name, code in OTHERWISE.items():
        if code in said.get(name, "").split(";") and f"{name}:" not in remarks:
            told.append(
                say(
                    "{name} {code} wants explaining: write {name}: and your words in REMARKS.",
                    name=name,
                    code=code,
                )
            )
    for part in filter(None, remarks.split(";")):
        name, colon, text = part.partition(":")
        if not colon or name not in BY_NAME or text[:1] == " ":
            told.append(say("REMARKS {part!r} names no field: it is kept word for word.", part=part))
    country = said.get("ORIGCTY", "")
    if country and country not in ALPHA_3:
        told.append(say("ORIGCTY {country} is no country's code of today.", country=country))
    for name, code in TWINS:
        if said.get(name) and said.get(code):
            told.append(
                say(
                    "{name} is for donors, breeders and others without a code, and {code} is given.",
                    name=name,
                    code=code,
                )
            )
    if any(name[:1].islower() for name in said.get("ACCENAME", "").split(";")):
        told.append(say("ACCENAME is written with a capital."))
    species = said.get("SPECIES", "")
    if species.endswith(".") and species != "sp.":
        told.append(say("SPECIES {species}: the standard knows no short form but sp.", species=species))
    below = said.get("SUBTAXA", "")
    if below and not any(rank in below.split() for rank in RANKS):
        told.append(say("SUBTAXA {below!r} names no rank of {ranks}.", below=below, ranks=", ".join(RANKS)))
    return told


@dataclass(frozen=True, slots=True)
class Passport:
    """One row as it came: every named cell, an empty one as an empty text."""

    line: int
    said: Mapping[str, str]


@dataclass(slots=True)
class PassportsRead:
    """A file of passport data. Load nothing while there are problems."""

    rows: list[Passport] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def _header(text: str) -> tuple[str, list[str]]:
    first = text.split("\n", 1)[0]
    delimiter = next((mark for mark in DELIMITERS if mark in first), ",")
    return delimiter, [cell.strip().upper() for cell in cells(first, delimiter)]


def is_passports(text: str) -> bool:
    """Whether a file's first row names an accession and a genus as the standard does."""
    return {"ACCENUMB", "GENUS"} <= set(_header(text)[1])


def read_passports(source: Source, file: str) -> PassportsRead:
    """Read a file of passport data, every cell word for word but for the spaces around it.

    Columns that the standard does not know are kept under their own name, and noted.
    """
    read = PassportsRead()
    try:
        text = read_text(source)
    except Unreadable as error:
        read.problems.append(Problem(file, None, None, error.message, error.remedy))
        return read
    if "\0" in text:
        read.problems.append(
            Problem(file, None, None, say("this is not text."), say("Save it as CSV in UTF-8."))
        )
        return read
    delimiter, names = _header(text)
    for name in ("ACCENUMB", "GENUS"):
        if name not in names:
            read.problems.append(Problem(file, 1, name, say("this column is missing."), say("Add it.")))
    for name in sorted({name for name in names if names.count(name) > 1}):
        read.problems.append(
            Problem(file, 1, name or None, say("two columns have this name."), say("Rename one."))
        )
    if read.problems:
        return read
    if unknown := [name for name in names if name not in BY_NAME]:
        read.notes.append(
            say("no field of the standard, kept word for word: {names}.", names=", ".join(unknown))
        )
    try:
        _rows(text, delimiter, names, file, read)
    except csv.Error:  # over its longest cell, as where a quotation mark never ends
        told = say(
            "a cell in row {line} or after has over {most} characters.",
            line=read.rows[-1].line + 1 if read.rows else 2,
            most=csv.field_size_limit(),
        )
        read.problems.append(Problem(file, None, None, told, say("Shorten it, or close its quotation mark.")))
    return read


def _rows(text: str, delimiter: str, names: Sequence[str], file: str, read: PassportsRead) -> None:
    seen: dict[str, int] = {}
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    next(reader)
    for row in reader:
        line = reader.line_num
        if not any(cell.strip() for cell in row):
            continue
        if len(row) != len(names):
            told = say("{cells} cells under {headings} headings.", cells=len(row), headings=len(names))
            read.problems.append(
                Problem(file, line, None, told, say("Put cells that hold a comma in quotation marks."))
            )
            continue
        said = {name: cell.strip() for name, cell in zip(names, row, strict=True)}
        for name in ("ACCENUMB", "GENUS"):
            if not said[name]:
                read.problems.append(Problem(file, line, name, say("this cell is empty."), say("Fill it.")))
        if (before := seen.setdefault(fold(said["ACCENUMB"]), line)) != line:
            told = say("{accession} stands in row {line} already.", accession=said["ACCENUMB"], line=before)
            read.problems.append(Problem(file, line, "ACCENUMB", told, say("Leave one out.")))
        read.problems += [Problem(file, line, name, wrong, "") for name, wrong in broken(said)]
        read.notes += [say("row {line}: {what}", line=line, what=sentence) for sentence in odd(said)]
        read.rows.append(Passport(line, said))


def write_passports(rows: Iterable[Mapping[str, str]]) -> str:
    """Return rows as a CSV file (RFC 4180): the 41 fields in order, then what else came with them.

    Codes and dates are written as they are, leading noughts and all: open the file as text.
    """
    rows = list(rows)
    others = sorted({name for row in rows for name in row} - BY_NAME.keys())
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, [*BY_NAME, *others], restval="")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()
