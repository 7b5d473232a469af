"""What every list shares: search, sort, pages of fifty, and the same rows as a file."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.core.paginator import Page, Paginator
from django.http import HttpRequest, HttpResponse
from django.utils.http import urlencode
from django.utils.translation import override

from ortet.tables.out import as_csv
from ortet.wood.speech import ENGLISH
from ortet.work.lists import Found

__all__ = ["Asked", "Heading", "as_file", "turned_to"]

ROWS = 50


@dataclass(frozen=True, slots=True)
class Heading:
    """A column's head: its name, and where a press on it leads."""

    name: str
    to: str = ""  # the query that sorts by it; empty where it does not sort
    order: str = ""  # ascending or descending, where the list is sorted by it
    kind: str = ""  # number, wide


@dataclass(frozen=True, slots=True)
class Asked:
    """What was asked of a list, as it stands in the address."""

    search: str
    sort: str
    more: tuple[tuple[str, str], ...] = ()  # further choices of this list

    @classmethod
    def of(cls, request: HttpRequest, sort: str, *more: str) -> "Asked":
        """Read it from a request."""
        given = tuple((name, request.GET[name]) for name in more if request.GET.get(name))
        return cls(request.GET.get("q", "").strip()[:200], request.GET.get("sort") or sort, given)

    def query(self, **change: str) -> str:
        """Return the address's query with some of it changed."""
        whole = {"q": self.search, "sort": self.sort, **dict(self.more), **change}
        return urlencode({name: value for name, value in whole.items() if value})

    def heading(self, name: str, word: str = "", kind: str = "") -> Heading:
        """Return the head of a column that sorts by this word; pressed again it turns round."""
        if not word:
            return Heading(name, kind=kind)
        order = {word: "ascending", f"-{word}": "descending"}.get(self.sort, "")
        return Heading(name, self.query(sort=f"-{word}" if order == "ascending" else word), order, kind)


def turned_to(rows: Found[Any], request: HttpRequest) -> Page:
    """Return the page of a list that was asked for; the nearest where there is no such page."""
    return Paginator(rows, ROWS).get_page(request.GET.get("page"))


def as_file(name: str, columns: Sequence[str], rows: Iterable[Sequence[object]]) -> HttpResponse:
    """Answer with a CSV file, whose words are English for whichever program reads it."""
    with override(ENGLISH):
        content = as_csv(columns, rows)
    answer = HttpResponse(content, content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{name}.csv"'
    return answer
