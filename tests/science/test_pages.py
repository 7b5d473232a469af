"""Every page of docs/science is whole, its figure is the one the code draws, and every public function stands on a page."""

import re
import runpy
import sys
from importlib import import_module
from pathlib import Path
from xml.etree import ElementTree

import pytest

import ortet.science

DOCS = Path(__file__).parents[2] / "docs" / "science"
PAGES = sorted(DOCS.glob("*.md"))
ROOM = Path(ortet.science.__file__).parent
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
SAME = 0.11  # a tenth of a picture's unit: the last figure printed may fall the other way on another machine


@pytest.fixture(scope="module")
def figures():
    here = str(DOCS / "figures")
    before = set(sys.modules)
    sys.path.insert(0, here)
    try:
        yield runpy.run_path(f"{here}/draw.py")["FIGURES"]
    finally:
        sys.path.remove(here)
        for name in set(sys.modules) - before:
            if str(getattr(sys.modules[name], "__file__", "")).startswith(here):
                del sys.modules[name]


@pytest.mark.parametrize("name", [page.stem for page in PAGES])
def test_the_figure_of_a_page_is_the_one_the_code_draws(figures, name):
    """If this fails after a number changed, draw again: .venv/bin/python docs/science/figures/draw.py, and look at it."""
    kept, drawn = (DOCS / "figures" / f"{name}.svg").read_text(encoding="utf-8"), figures[name]()
    assert ElementTree.fromstring(drawn).tag.endswith("svg")
    assert NUMBER.sub("#", kept) == NUMBER.sub("#", drawn)
    for was, now in zip(NUMBER.findall(kept), NUMBER.findall(drawn), strict=True):
        assert abs(float(was) - float(now)) < SAME


def test_no_figure_is_left_without_a_page(figures):
    kept = {file.stem for file in (DOCS / "figures").glob("*.svg")}
    assert kept == set(figures) == {page.stem for page in PAGES}


def test_words_of_a_figure_stay_inside_and_off_one_another(figures):
    """Words are measured as seven tenths of their height for each letter, which is more than sans-serif letters take."""
    for name, figure in figures.items():
        for group in ElementTree.fromstring(figure()).iter("{http://www.w3.org/2000/svg}g"):
            boxes = []
            for text in group.iter("{http://www.w3.org/2000/svg}text"):
                x, y, wide = float(text.get("x")), float(text.get("y")), 5.2 * len(text.text)
                left = x - {"start": 0.0, "middle": wide / 2, "end": wide}[text.get("text-anchor")]
                assert left >= -1, (name, text.text)
                boxes.append((left, y - 9, left + wide, y, text.text))
            for n, (a, b, c, d, words) in enumerate(boxes):
                for e, f, g, h, others in boxes[n + 1 :]:
                    assert min(c, g) <= max(a, e) or min(d, h) <= max(b, f), (name, words, others)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_a_page_has_all_its_parts(page):
    text = page.read_text(encoding="utf-8")
    assert text.startswith("# ") and "**Answers:**" in text
    assert f"(figures/{page.stem}.svg)" in text, "its figure"
    assert re.search(r"!\[[^\]]{20,}\]\(figures/", text), "its figure, told in words"
    assert re.search(r"^ {4,}\S.*[=:<]", text, re.MULTILINE), "an equation, set apart by four spaces"
    assert re.search(r"^\| (symbol|name) \|.*unit", text, re.MULTILINE), "a table of symbols and their units"
    for part in ("**Holds", "**Sources", "**We do not know"):
        assert part in text, part


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_what_a_page_refers_to_is_there(page):
    text = page.read_text(encoding="utf-8")
    for path in re.findall(r"`((?:tests|docs|benchmarks|src)/[^`\s]+)`", text):
        assert (DOCS.parents[1] / path).exists(), path
    for dotted in re.findall(r"`(ortet(?:\.\w+)+)`", text):
        assert (DOCS.parents[1] / "src" / Path(*dotted.split("."))).with_suffix(".py").exists(), dotted


def subjects():
    """Name the modules of science that are subjects; `compiled` and what it compiles, `..._kernel`, only make them fast."""
    stems = sorted(file.stem for file in ROOM.glob("*.py"))
    return [
        stem
        for stem in stems
        if stem not in ("__init__", "checked", "compiled") and not stem.endswith("_kernel")
    ]


@pytest.mark.parametrize("module", subjects())
def test_every_public_function_of_science_stands_on_a_page(module):
    room = import_module(f"ortet.science.{module}")
    named = "\n".join(page.read_text(encoding="utf-8") for page in PAGES)
    assert f"ortet.science.{module}" in named
    public = [name for name in room.__all__ if callable(getattr(room, name))]
    assert [name for name in public if not re.search(rf"`[^`\n]*\b{name}\b[^`\n]*`", named)] == []
