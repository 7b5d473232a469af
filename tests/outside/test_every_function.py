"""Every public function of science is checked against something outside the project: a new one without a check fails here."""

import ast
import inspect
from importlib import import_module
from pathlib import Path

import pytest

import ortet.science

HERE = Path(__file__).parent
ROOM = Path(ortet.science.__file__).parent
# these reckon nothing: the numbers they hand out are checked through `species`
READERS = {"species.known_species", "species.read_species"}


def names_in(node):
    """Name everything a piece of code speaks of."""
    out = {part.id for part in ast.walk(node) if isinstance(part, ast.Name)}
    out |= {part.attr for part in ast.walk(node) if isinstance(part, ast.Attribute)}
    out |= {part.arg for part in ast.walk(node) if isinstance(part, ast.arg)}
    return out | {
        part.value
        for part in ast.walk(node)
        if isinstance(part, ast.Constant) and isinstance(part.value, str)
    }


def checks():
    """Return for each test of this folder the names it uses, its helpers' included."""
    out = {}
    for file in HERE.glob("test_*_outside.py"):
        tree = ast.parse(file.read_text(encoding="utf-8"))
        made = {node.name: names_in(node) for node in tree.body if isinstance(node, ast.FunctionDef)}
        made |= {
            target.id: names_in(node.value)
            for node in tree.body
            if isinstance(node, ast.Assign)
            for target in node.targets
            if isinstance(target, ast.Name)
        }
        for name in [name for name in made if name.startswith("test_")]:
            used, todo = set(), [name]
            while todo:
                new = made[todo.pop()] - used
                used |= new
                todo += [helper for helper in new if helper in made and not helper.startswith("test_")]
            out[f"{file.name}::{name}"] = used
    return out


def functions():
    """List the public functions that compute: module.function. `checked`, `compiled` and its loops hold no science of their own."""
    out = []
    for file in sorted(ROOM.glob("*.py")):
        if file.stem in ("__init__", "checked", "compiled") or file.stem.endswith(("_loop", "_kernel")):
            continue
        room = import_module(f"ortet.science.{file.stem}")
        own = [
            n
            for n in room.__all__
            if inspect.isfunction(getattr(room, n)) and getattr(room, n).__module__ == room.__name__
        ]
        out += [f"{file.stem}.{name}" for name in own]
    return [name for name in out if name not in READERS]


@pytest.fixture(scope="module")
def used():
    return checks()


@pytest.mark.parametrize("function", functions())
def test_a_function_is_checked_against_the_world_outside(function, used):
    name = function.split(".")[1]
    assert [test for test, names in used.items() if name in names], (
        f"write a check of {function} in tests/outside"
    )


def test_every_file_of_values_is_read_by_a_test():
    said = {
        word
        for file in HERE.glob("test_*.py")
        for word in names_in(ast.parse(file.read_text(encoding="utf-8")))
    }
    assert {file.stem for file in (HERE / "values").glob("*.csv")} - said == set()


@pytest.mark.parametrize("file", sorted((HERE / "values").glob("*.csv")), ids=lambda file: file.stem)
def test_a_file_of_values_says_how_near_is_near_enough(file):
    head = " ".join(line for line in file.read_text(encoding="utf-8").splitlines() if line.startswith("#"))
    assert "olerance" in head or "xact" in head
