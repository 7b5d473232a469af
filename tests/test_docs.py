"""Every command and every setting is documented, and every link in the docs leads somewhere."""

import re
from pathlib import Path

import pytest

from ortet.cli import app

ROOT = Path(__file__).parent.parent
PAGES = [ROOT / "README.md", ROOT / "CHANGELOG.md", *sorted((ROOT / "docs").rglob("*.md"))]
HOW = "\n".join(page.read_text() for page in (ROOT / "docs" / "how").glob("*.md"))


def commands() -> list[str]:
    return [command.name or command.callback.__name__ for command in app.registered_commands]


@pytest.mark.parametrize("name", commands())
def test_every_command_has_a_how_to(name):
    assert f"ortet {name}" in HOW or f"start.py {name}" in HOW


def test_every_setting_is_documented():
    read = set(re.findall(r"\bORTET_[A-Z_]+", "\n".join(p.read_text() for p in (ROOT / "src").rglob("*.py"))))
    read -= {"ORTET_VERSION"}
    written = (ROOT / "docs" / "index.md").read_text()
    assert read and {name for name in read if f"`{name}`" not in written} == set()


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_every_link_in_the_docs_leads_somewhere(page):
    links = re.findall(r"\]\((?!https?:|#)([^)#\s]+)", page.read_text())
    assert [link for link in links if not (page.parent / link).exists()] == []


def test_every_page_of_the_docs_can_be_reached_from_the_start_page():
    reached, todo = set(), [ROOT / "docs" / "index.md"]
    while todo:
        page = todo.pop().resolve()
        if page in reached:
            continue
        reached.add(page)
        for link in re.findall(r"\]\((?!https?:|#)([^)#\s]+)", page.read_text()):
            there = (page.parent / link).resolve()
            if there.is_dir():
                todo += sorted(there.glob("*.md"))
            elif there.suffix == ".md" and there.exists():
                todo.append(there)
    assert {page for page in PAGES if page.resolve() not in reached} == set()
