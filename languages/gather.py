"""Gather the sentences that Ortet says, for those who translate them, and make ready what they wrote.

   python languages/gather.py                  # gathers anew into every language; says what lacks
   python languages/gather.py fill nl a.json   # fills in translations: {"English": "Nederlands"}, a list where it is counted

Sentences are marked in Python by `say`, `say_many`, `to_say` and `to_say_many`, where Django makes forms and tables by
`gettext_lazy` and `pgettext_lazy`, in templates by `translate` and `blocktranslate`, and in scripts by `say`. The catalogues are
gettext's: src/ortet/languages/<language>/LC_MESSAGES/django.po, and .mo beside it; what scripts say of them is written to
src/ortet/pages/static/ortet/shed/<language>.json as well, beside the shed's own, which phones keep.
"""

import ast
import io
import json
import sys
from collections.abc import Iterator
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po
from django.utils.translation.template import templatize

ROOT = Path(__file__).resolve().parents[1] / "src" / "ortet"
LANGUAGES = ROOT / "languages"
SCRIPTS = ROOT / "pages" / "static" / "ortet"
SHED = SCRIPTS / "shed"
ENGLISH_ONLY = ("cli", "demo")  # the command line, and what the demo season is called
KEYWORDS = {
    "_": None,
    "say": None,
    "to_say": None,
    "say_many": (1, 2),
    "to_say_many": (1, 2),
    "gettext": None,
    "gettext_lazy": None,
    "ngettext": (1, 2),
    "pgettext": ((1, "c"), 2),
    "pgettext_lazy": ((1, "c"), 2),
}

Found = tuple[str | tuple[str, ...], str | None, str]


def found() -> Iterator[Found]:
    """Yield every sentence that is marked: the words, their context, and the file."""
    for path in sorted(
        [*ROOT.rglob("*.py"), *ROOT.rglob("*.html"), *SCRIPTS.glob("*.js"), *SHED.glob("*.js")]
    ):
        where = path.relative_to(ROOT.parent).as_posix()
        if where.split("/")[1] in ENGLISH_ONLY:
            continue
        source = path.read_text()
        if path.suffix == ".py":
            yield from ((said, context, where) for said, context in in_python(source))
            continue
        if path.suffix == ".html":
            source = templatize(source, origin=where)
        for _, said, _, context in extract("javascript", io.BytesIO(source.encode()), KEYWORDS, (), {}):
            yield said, context, where


def in_python(source: str) -> Iterator[tuple[str | tuple[str, ...], str | None]]:
    """Yield what Python marks, its words and their context; within f-strings as well, where Babel looks in newer Pythons only."""
    for call in ast.walk(ast.parse(source)):
        func = getattr(call, "func", None)
        name = getattr(func, "id", "") or getattr(func, "attr", "")
        if name not in KEYWORDS:
            continue
        words = tuple(one.value for one in call.args if isinstance(one, ast.Constant) and isinstance(one.value, str))  # fmt: skip
        if name.startswith("pgettext"):
            yield words[1], words[0]
        elif words:
            yield words[:2] if KEYWORDS[name] else words[0], None


def path_of(language: str) -> Path:
    """Return where the catalogue of a language lies."""
    return LANGUAGES / language / "LC_MESSAGES" / "django.po"


def kept(language: str) -> Catalog:
    """Return the catalogue of a language as it lies there."""
    with path_of(language).open("rb") as lies:
        return read_po(lies, locale=language, domain="django")


def gathered(language: str) -> Catalog:
    """Return the catalogue of a language with all that is said now, and nothing that is said no more."""
    before = kept(language)
    new = Catalog(
        locale=language, domain="django", project="Ortet", header_comment="# Ortet, as said in another language.\n#",
        fuzzy=False, creation_date=before.creation_date, revision_date=before.creation_date,
        last_translator=before.last_translator, language_team=before.language_team,
    )  # fmt: skip
    for said, context, where in found():
        new.add(said, locations=[(where, None)], context=context)
    for message in new:
        if (
            message.id
            and (old := before.get(message.id, message.context))
            and old.pluralizable == message.pluralizable
        ):
            message.string = old.string
    return new


def as_po(catalog: Catalog) -> bytes:
    """Return a catalogue as it is written."""
    out = io.BytesIO()
    write_po(out, catalog, width=120, sort_output=True, include_lineno=False)
    return out.getvalue()


def as_mo(catalog: Catalog) -> bytes:
    """Return a catalogue as programs read it."""
    out = io.BytesIO()
    write_mo(out, catalog)
    return out.getvalue()


def as_json(catalog: Catalog) -> bytes:
    """Return what scripts say, as they read it: each sentence and what it means."""
    said = {
        message.id: message.string
        for message in catalog
        if message.string and any(where.endswith(".js") for where, _ in message.locations)
    }
    return (json.dumps(said, ensure_ascii=False, indent=0, sort_keys=True) + "\n").encode()


def lacking(catalog: Catalog) -> list[object]:
    """Return what has no translation yet."""
    return [
        message.id
        for message in catalog
        if message.id and not all(message.string if message.pluralizable else [message.string])
    ]


def write(language: str, catalog: Catalog) -> None:
    """Write a catalogue, for people and for programs."""
    path_of(language).write_bytes(as_po(catalog))
    path_of(language).with_suffix(".mo").write_bytes(as_mo(catalog))
    (SHED / f"{language}.json").write_bytes(as_json(catalog))


def fill(language: str, paths: list[str]) -> None:
    """Fill translations into a catalogue; a word of two meanings is looked up behind its context and \\x04, as gettext does."""
    catalog = gathered(language)
    filled = {said: meant for path in paths for said, meant in json.loads(Path(path).read_text()).items()}
    for message in catalog:
        one = message.id[0] if message.pluralizable else message.id
        meant = filled.get(f"{message.context}\x04{one}" if message.context else one)
        if one and isinstance(meant, list if message.pluralizable else str):
            message.string = tuple(meant) if message.pluralizable else meant
    write(language, catalog)


def main(words: list[str]) -> None:
    """Gather, or fill in."""
    if words[:1] == ["fill"]:
        fill(words[1], words[2:])
    for language in sorted(folder.name for folder in LANGUAGES.iterdir()):
        catalog = gathered(language)
        write(language, catalog)
        lacks = lacking(catalog)
        print(f"{language}: {len(catalog)} sentences, {len(lacks)} not translated")
        for one in lacks[:5]:
            print(f"  {one}")


if __name__ == "__main__":
    main(sys.argv[1:])
