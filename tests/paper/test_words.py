"""What papers themselves say, in the language they are printed in."""

import re
from importlib import import_module
from pathlib import Path

import pytest

import ortet.paper
from ortet.paper.declaration import SupplierLabel
from ortet.paper.sheet import TITLE
from ortet.paper.typeset import FOOT
from ortet.wood import speech
from tests.paper.reading import pages
from tests.paper.test_receipt import receipt_sheet, sheet

PAPER = Path(ortet.paper.__file__).parent
OF = {"bag": "labels", "wrap": "labels"}  # the module of a template, where it has another name
SHARED = ("words", "frame", "sheet", "block", "empty")


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


def test_a_suppliers_document_is_in_one_language_whatever_is_asked_for(monkeypatch):
    """Directive 2014/96/EU, Article 5 (4): in one of the Union's official languages. [published]"""
    label = SupplierLabel("NL", "the body", "NL-1", "7K3Q-9M2D", "Ribes nigrum", "Dusk", "12 February 2027")
    before = label.rows
    monkeypatch.setattr(speech, "_one", lambda text: f"{text} in Dutch")
    monkeypatch.setattr(speech, "_language", lambda: "nl")
    assert label.rows == before and before[1] == ("Member state", "NL")
