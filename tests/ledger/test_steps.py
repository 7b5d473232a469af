"""A new book is made in one go, one begun earlier step by step: both come to the same tables."""

import os
import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from ortet.ledger import migrations

HERE = Path(migrations.__file__).parent
IN_ONE_GO = "0001_whole"
AN_EARLIER = "0007_batches"  # a step that a book in use stood at

pytestmark = pytest.mark.once


def migrated(folder: Path, *to: str, steps: Path | None = None) -> None:
    """Migrate the book in a folder, by the steps in another folder where one is named."""
    env = {**os.environ, "ORTET_FOLDER": str(folder), "DJANGO_SETTINGS_MODULE": "ortet.settings"}
    env.pop("ORTET_DATABASE", None)
    folder.mkdir(exist_ok=True)
    if steps:
        (steps / "by_steps.py").write_text(
            "from ortet.settings import *\nMIGRATION_MODULES = {'ledger': 'steps'}\n"
        )
        env |= {
            "DJANGO_SETTINGS_MODULE": "by_steps",
            "PYTHONPATH": os.pathsep.join([str(steps), *sys.path]),
        }
    subprocess.run([sys.executable, "-m", "django", "migrate", "--verbosity", "0", *to], env=env, check=True)


def made(folder: Path) -> dict[tuple[str, str], object]:
    """Return what a book is made of: each table's columns, and whatever else bears a name."""
    book = sqlite3.connect(next(folder.glob("*.sqlite3")))
    found = book.execute("SELECT type, name, sql FROM sqlite_master WHERE sql IS NOT NULL").fetchall()
    return {
        (kind, name): sorted(row[1:] for row in book.execute(f"PRAGMA table_info({name})"))
        if kind == "table"
        else sql
        for kind, name, sql in found
    }


def test_a_book_in_use_comes_to_the_same_tables_as_a_new_one(tmp_path):
    by_steps = tmp_path / "by"
    shutil.copytree(HERE, by_steps / "steps", ignore=shutil.ignore_patterns(f"{IN_ONE_GO}.py", "__pycache__"))
    migrated(tmp_path / "old", "ledger", AN_EARLIER, steps=by_steps)
    migrated(tmp_path / "old")
    migrated(tmp_path / "new")
    assert len(made(tmp_path / "new")) > 200
    assert made(tmp_path / "old") == made(tmp_path / "new")


def test_the_one_go_stands_for_every_step_that_came_before():
    whole = __import__(f"{migrations.__name__}.{IN_ONE_GO}", fromlist=["Migration"]).Migration
    steps = sorted(file.stem for file in HERE.glob("0*.py"))
    named = [name for _, name in whole.replaces]
    assert named == [step for step in steps if step in named]
    assert not {step for step in steps if step <= named[-1]} - {IN_ONE_GO, *named}
