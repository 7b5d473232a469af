"""The docs as pages of the house: found in the checkout or where a wheel laid them, and written as HTML.

No HTML in a page of the docs is let through. What a page links to and is not here, such as a test, stays as words.
"""

import re
import sysconfig
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path, PurePosixPath
from posixpath import normpath

from django.urls import reverse
from markdown_it import MarkdownIt
from markdown_it.token import Token

import ortet
from ortet.wood.speech import say, to_say

__all__ = ["FIGURES", "ROOMS", "START", "as_html", "files", "says_first", "seek", "title_of"]

START = "index"
ROOMS = {"how": to_say("How to"), "science": to_say("How it computes"), "why": to_say("Why it is as it is")}
FIGURES = {".svg": "image/svg+xml", ".png": "image/png", ".webp": "image/webp"}
_PLACES = (Path(ortet.__file__).parents[2] / "docs", Path(sysconfig.get_path("data")) / "share/ortet/docs")


@lru_cache(maxsize=1)
def files() -> dict[str, Path]:
    """Return where each page and each picture lies: pages by name (science/bag), pictures by name and ending."""
    folder = next((place for place in _PLACES if (place / f"{START}.md").is_file()), None)
    found = sorted(folder.rglob("*")) if folder else []
    names = {path: path.relative_to(folder).as_posix() for path in found if folder}
    return {
        name.removesuffix(".md"): path
        for path, name in names.items()
        if path.suffix == ".md" or path.suffix in FIGURES
    }


def _is_page(name: str) -> bool:
    return name in files() and files()[name].suffix == ".md"


def _text(name: str) -> str:
    return files()[name].read_text(encoding="utf-8")


def title_of(name: str) -> str:
    """Return a page's first heading, or its name where it has none."""
    first = _text(name).partition("\n")[0]
    return first.removeprefix("# ").strip() if first.startswith("# ") else name


def says_first(name: str) -> str:
    """Return the first sentence of a page that is plain prose, without its marks."""
    prose = (part for part in _text(name).split("\n\n")[1:] if not part.startswith((" ", "|", "#", "!", "-")))
    plain = re.sub(r"\[([^]]*)\]\([^)]*\)|[*`]", r"\1", next(prose, "")).replace("\n", " ")
    return re.split(r"(?<=[.:?])\s", plain.removeprefix("Answers: "), maxsplit=1)[0]


def seek(words: str) -> list[str]:
    """Return the pages that hold all these words, those that have them in their title first."""
    asked = words.casefold().split()
    pages = [name for name in files() if _is_page(name)]
    found = [name for name in pages if all(word in _text(name).casefold() for word in asked)]
    return sorted(found, key=lambda name: not all(word in title_of(name).casefold() for word in asked))


def _led(target: str, page: str) -> str:
    """Return where a link of a page leads within the house, or nothing where it leads to what is not here."""
    if target.startswith("#"):
        return target
    path, _, part = target.partition("#")
    there = normpath(str(PurePosixPath(page).parent / path)).removesuffix(".md")
    if there not in files() and there not in ROOMS:
        return ""
    return reverse("docs-page", args=[there]) + (f"#{part}" if part else "")


def _slug(words: str) -> str:
    return re.sub(r"[^\w -]", "", words.casefold()).strip().replace(" ", "-")


def _lead(inline: Iterable[Token], page: str) -> None:
    """Turn links and pictures to their addresses in the house."""
    unled: list[Token] = []
    for token in inline:
        if token.type == "image":
            token.attrs["src"] = _led(str(token.attrs["src"]), page)
            token.attrs["loading"] = "lazy"
        elif token.type == "link_open" and not (to := str(token.attrs["href"])).startswith("https://"):
            token.attrs["href"] = _led(to, page)
            if not token.attrs["href"]:
                token.tag = "span"
                del token.attrs["href"]
            unled.append(token)
        elif token.type == "link_close" and unled:
            token.tag = unled.pop().tag


def as_html(name: str) -> str:
    """Write a page as HTML.

    Raises
    ------
    KeyError
        If there is no such page.
    """
    mark = MarkdownIt("commonmark", {"html": False}).enable("table")
    mark.add_render_rule("table_open", _table_open)
    mark.add_render_rule("table_close", _table_close)
    tokens = mark.parse(_text(name))
    for before, token in zip([None, *tokens], tokens, strict=False):
        if token.type == "inline":
            _lead(token.children or (), name)
            if before and before.type == "heading_open":
                before.attrs["id"] = _slug(token.content)
        elif token.type == "th_open":
            token.attrs = {"scope": "col"}
        elif token.type in ("fence", "code_block"):
            token.type = "fence"
            token.attrs = {}
    mark.add_render_rule("fence", _code)
    return str(mark.renderer.render(tokens, mark.options, {}))


def _table_open(*_: object) -> str:
    return (
        f'<div class="scroll" tabindex="0" role="region" aria-label="{say("Table")}"><table class="list">\n'
    )


def _table_close(*_: object) -> str:
    return "</table></div>\n"


def _code(self: object, tokens: list[Token], at: int, *_: object) -> str:
    from django.utils.html import escape

    return f'<pre tabindex="0"><code>{escape(tokens[at].content)}</code></pre>\n'
