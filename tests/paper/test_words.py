"""What papers themselves say, in the language they are printed in."""

import re
from importlib import import_module
from pathlib import Path

import pytest

import ortet.paper
from ortet.paper.sheet import TITLE
from ortet.paper.typeset import FOOT
from ortet.wood import speech
from tests.paper.reading import pages
from tests.paper.test_receipt import receipt_sheet, sheet

PAPER = Path(ortet.paper.__file__).parent
OF = {"bag": "labels", "wrap": "labels"}  # the module of a template, where it has another name
SHARED = ("words", "frame", "sheet", "block")


@pytest.mark.parametrize(
    "template", sorted({path.stem for path in PAPER.glob("*.typ")} - set(SHARED)), ids=str
)
def test_a_template_says_only_what_its_module_gives_it(template):
    said = set(re.findall(r'say\("([^"]+)"', (PAPER / f"{template}.typ").read_text()))
    words = getattr(import_module(f"ortet.paper.{OF.get(template, template)}"), "WORDS", ())
    assert said <= {*words, FOOT, TITLE}
    assert OF.get(template) or set(words) <= said


def test_a_receipt_is_printed_in_the_language_that_is_asked_for(monkeypatch):
    dutch = {
        "Receipt": "Kwitantie",
        FOOT: "Blad {page} van {pages}",
        "Paid on {day}, {how}": "Betaald {day}, {how}",
    }
    monkeypatch.setattr(speech, "_one", lambda text: dutch.get(text, text))
    monkeypatch.setattr(speech, "_language", lambda: "nl")
    (text,) = pages(receipt_sheet(sheet()))
    assert "Kwitantie 17" in text
    assert "Blad 1 van 1" in text
    assert "Betaald 1 February 2027, deposit" in text
    assert "Receipt" not in text
