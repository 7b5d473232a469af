"""Plant passports: what stands in one and where, and a sheet of them to be cut apart.

The content is that of Regulation (EU) 2016/2031, Annex VII, parts A and B, the layout that of Implementing Regulation
(EU) 2017/2313; for Great Britain that of the two as retained there. A passport only says what its issuer vouches for:
only an operator whom the plant-health authority authorised issues one. Typst lays it out (passport.typ beside this file).
"""

from collections.abc import Sequence
from dataclasses import asdict, dataclass

from ortet.wood.countries import EU, GREAT_BRITAIN
from ortet.wood.speech import say

from .sheet import Sheet, on_labels
from .symbol import symbol
from .typeset import SheetPaper

__all__ = ["LANGUAGES", "OWN_LANGUAGE", "Passport", "heading", "passport", "passport_labels"]

# The words in the official languages, as the language versions of Annex VII have them. Read on pages and labels of authorities and
# growers [published]: bg, cs, de, en, es, fr, it, lv, nl, pl, sv. The others [memory].
LANGUAGES = {
    "bg": "Растителен паспорт",
    "cs": "Rostlinolékařský pas",
    "da": "Plantepas",
    "de": "Pflanzenpass",
    "el": "Φυτοϋγειονομικό διαβατήριο",
    "en": "Plant Passport",
    "es": "Pasaporte fitosanitario",
    "et": "Taimepass",
    "fi": "Kasvipassi",
    "fr": "Passeport phytosanitaire",
    "hr": "Biljna putovnica",
    "hu": "Növényútlevél",
    "it": "Passaporto delle piante",
    "lt": "Augalo pasas",
    "lv": "Augu pase",
    "nl": "Plantenpaspoort",
    "pl": "Paszport roślin",
    "pt": "Passaporte fitossanitário",
    "ro": "Pașaport fitosanitar",
    "sk": "Rastlinný pas",
    "sl": "Rastlinski potni list",
    "sv": "Växtpass",
}
# The words for a protected zone where a language's own were read: its zone has letters of its own. German by Annex VII, part B,
# itself, Italian and Dutch by their authorities' models [published], French and Latvian by labels in use [common practice].
# In any other language English stands alone, which is an official language too and the one that part B always wants.
ZONES = {
    "de": "Pflanzenpass - Schutzgebiet",
    "fr": "Passeport phytosanitaire - ZP",
    "it": "Passaporto delle piante - ZP",
    "lv": "Augu pase - AZ",
    "nl": "Plantenpaspoort - PZ",
}
OWN_LANGUAGE = {
    "AT": "de", "BE": "nl", "BG": "bg", "CY": "el", "CZ": "cs", "DE": "de", "DK": "da", "EE": "et", "ES": "es", "FI": "fi",
    "FR": "fr", "GR": "el", "HR": "hr", "HU": "hu", "IE": "en", "IT": "it", "LT": "lt", "LU": "fr", "LV": "lv", "MT": "en",
    "NL": "nl", "PL": "pl", "PT": "pt", "RO": "ro", "SE": "sv", "SI": "sl", "SK": "sk", "XI": "en",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Passport:
    """What stands in one passport."""

    heading: str
    flag: bool  # of the Union, in the upper left corner
    pests: tuple[str, ...]  # of a protected zone, under the heading
    rows: tuple[tuple[str, str], ...]  # letter and what follows it
    address: str = ""  # where the code beside it leads; nothing: none is printed


def heading(country: str, language: str = "en", *, zone: bool = False) -> str:
    """Return the words of the upper right corner.

    Parameters
    ----------
    country
        Of the operator who issues it, ISO 3166-1.
    language
        One official language of the Union, of `LANGUAGES`; English follows after a slash where it is another. For a protected
        zone in a language whose own words for it are not known here, English stands alone.
    zone
        Whether it is for a protected zone, in Great Britain a pest-free area.

    References
    ----------
    Regulation (EU) 2016/2031, Annex VII, part A (1)(a) and part B; as retained, "UK Plant Passport", and Regulation
    (EU) 2019/2072 as retained, Article 14: "PFA". [published]; the dash before PZ as authorities print it. [published]
    """
    if country in GREAT_BRITAIN:
        return "UK Plant Passport" + (" - PFA" if zone else "")
    if language not in LANGUAGES:
        raise ValueError(
            say(
                "Language {language!r}: say {languages}. Nothing was printed.",
                language=language,
                languages=", ".join(LANGUAGES),
            )
        )
    english = LANGUAGES["en"] + (" - PZ" if zone else "")
    own = (ZONES if zone else LANGUAGES).get(language, english)
    return english if own == english else f"{own} / {english}"


def passport(
    *,
    botanical: str,
    country: str,
    operator: str,
    code: str,
    origin: str,
    language: str = "en",
    pests: Sequence[str] = (),
    address: str = "",
) -> Passport:
    """Return a passport for one trade unit.

    Parameters
    ----------
    botanical
        A: species or taxon; the variety's name may follow.
    country, operator
        B: of the operator who issues it, and the registration number there.
    code
        C: by which the unit is traced. The leave to omit it is not for plants that are to be grown on.
    origin
        D: ISO 3166-1 of the member state of origin, or the name of a third country.
    pests
        Scientific names or EPPO codes: for a protected zone only.

    Raises
    ------
    ValueError
        If a part is missing, or the country issues no such passport.
    """
    if country not in EU and country not in GREAT_BRITAIN:
        raise ValueError(
            say(
                "{country}: plant passports are issued in the European Union and in Great Britain. "
                "Ask the plant-health authority what wood must carry there. Nothing was printed.",
                country=country or say("No country"),
            )
        )
    if not operator.strip():
        raise ValueError(
            say(
                "Only an operator whom the plant-health authority authorised issues plant passports, and this nursery has no "
                "operator's number noted. If you have one: ortet nursery --operator, or the page The nursery. Nothing was printed."
            )
        )
    for letter, said, what in (
        ("A", botanical, say("the botanical name")),
        ("C", code, say("the traceability code, which cuttings that are to be grown on always need")),
        ("D", origin, say("the country of origin")),
    ):
        if not said.strip():
            raise ValueError(
                say(
                    "A plant passport without {letter}: {what} is missing. Nothing was printed.",
                    letter=letter,
                    what=what,
                )
            )
    number = operator.strip()
    if country in EU and not number.upper().startswith(f"{country}-"):
        number = f"{country}-{number}"
    rows = (("A", botanical), ("B", number), ("C", code), ("D", origin))
    return Passport(heading(country, language, zone=bool(pests)), country in EU, tuple(pests), rows, address)


# A grid like that of bag labels, so that one knife and one rule do both
_SHEET = Sheet(columns=2, rows=6, width=92, height=42)


def passport_labels(
    passports: Sequence[Passport], *, paper: SheetPaper = "a4", skip: int = 0, colour: bool = True
) -> bytes:
    """Return passports as labels, twelve to a sheet, as a PDF.

    Parameters
    ----------
    skip
        Places of the first sheet that are used up already.
    colour
        Whether the flag is printed in colour, else black on white.

    Raises
    ------
    ValueError
        If there is none, the paper is unknown, the sheet has not that many places, or no font has a letter of a name.
    """
    labels = [drawn(one) for one in passports]
    return on_labels(
        "passport", _SHEET, labels, paper=paper, skip=skip, what=say("plant passports"), colour=colour
    )


def drawn(one: Passport) -> dict[str, object]:
    """Return a passport as its template reads it, with its code drawn."""
    return asdict(one) | {"code": symbol(one.address) if one.address else ""}
