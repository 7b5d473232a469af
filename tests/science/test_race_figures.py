"""The figures in docs/science are what the code draws today."""

import runpy
from pathlib import Path
from xml.etree import ElementTree

import pytest

HERE = Path(__file__).parents[2] / "docs" / "science" / "figures"


@pytest.fixture(scope="module")
def drawn():
    return runpy.run_path(str(HERE / "race.py"))["drawings"]()


@pytest.mark.parametrize("name", ["roots.svg", "race.svg"])
def test_the_figure_in_the_docs_is_the_one_the_code_draws(drawn, name):
    """If this fails after a number changed, draw again: .venv/bin/python docs/science/figures/race.py"""
    assert (HERE / name).read_text(encoding="utf-8") == drawn[name]
    assert ElementTree.fromstring(drawn[name]).tag.endswith("svg")
