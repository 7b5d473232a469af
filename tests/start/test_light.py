"""Light commands start light: what is heavy is imported by the function that needs it, never along with a module."""

import importlib.util
import json
import os
import pkgutil
import subprocess
import sys

import pytest

import ortet

HEAVY = {"cryptography", "numba", "ortools", "pandas", "polars", "scipy", "segno", "typst"}

LOADED = """
import importlib, json, sys
names = json.loads(sys.argv[1])
if "django" in names:
    import django
    django.setup()
for name in names:
    importlib.import_module(name)
print(json.dumps([name for name in sys.modules if "." not in name]))
"""


def loaded(names: list[str]) -> set[str]:
    """Return the top packages that a fresh process holds after importing these modules."""
    env = {**os.environ, "DJANGO_SETTINGS_MODULE": "ortet.settings"}
    words = [sys.executable, "-c", LOADED, json.dumps(names)]
    done = subprocess.run(words, env=env, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return set(json.loads(done.stdout))


def modules(room: str) -> list[str]:
    """Return every module of a room but compiled kernels, which functions import."""
    package = pkgutil.resolve_name(f"ortet.{room}")
    names = [module.name for module in pkgutil.walk_packages(package.__path__, f"ortet.{room}.")]
    return [f"ortet.{room}", *(name for name in names if not is_kernel(name))]


def is_kernel(name: str) -> bool:
    """Return whether a module is itself compiled: whoever imports it at its head brings the compiler, and is found out."""
    file = importlib.util.find_spec(name).origin
    with open(file, encoding="utf-8") as source:
        return name.endswith("_kernel") or any(line.startswith("from numba import") for line in source)


@pytest.mark.parametrize("room", ["science", "evidence", "wood", "tables", "decisions", "paper"])
def test_a_room_below_the_ledger_brings_nothing_heavy_and_no_django(room):
    assert loaded(modules(room)) & (HEAVY | {"django"}) == set()


def test_the_commands_bring_nothing_heavy_and_no_django():
    assert loaded(["ortet.cli"]) & (HEAVY | {"django", "numpy"}) == set()


def test_the_deeds_and_the_kept_answer_of_today_bring_no_numpy():
    light = ["ortet.work", "ortet.work.check", "ortet.work.lists", "ortet.work.today"]
    assert loaded(["django", *light]) & (HEAVY | {"numpy"}) == set()


def test_the_rest_brings_nothing_heavy():
    rooms = [module for room in ("ledger", "work", "pages", "demo") for module in modules(room)]
    assert loaded(["django", *rooms]) & HEAVY == set()


def test_every_room_is_tried():
    assert {module.name for module in pkgutil.iter_modules(ortet.__path__)} == {
        "__main__", "cli", "decisions", "demo", "evidence", "ledger", "pages", "paper", "science", "settings", "tables",
        "wood", "work",
    }  # fmt: skip
