"""The papers that the demo ends with: whatever the book has come to, and each a PDF."""

import os
import subprocess
import sys

import pypdfium2
import pytest

from ortet.demo.papers import print_papers
from ortet.ledger.models import Lot
from tests.paper.reading import pages as pages_of
from tests.serving import a_demo

pytestmark = pytest.mark.django_db


def test_papers_are_printed_as_far_as_the_book_has_come(full_book, tmp_path):
    files = print_papers(tmp_path / "papers")
    names = {file.stem.rstrip("0123456789 ") for file in files}
    assert {"labels", "packing slip", "advice", "receipt"} <= names
    assert "season sheet" not in names, "nothing is planned"
    for file in files:
        with pypdfium2.PdfDocument(file) as pages:
            assert len(pages) > 0
    with pypdfium2.PdfDocument(tmp_path / "papers" / "labels.pdf") as pages:
        assert str(Lot.objects.latest("made_at", "pk")) in pages[0].get_textpage().get_text_range()


def test_printing_again_writes_over(full_book, tmp_path):
    assert print_papers(tmp_path) == print_papers(tmp_path)
    assert {file.suffix for file in tmp_path.iterdir()} == {".pdf"}


@pytest.mark.once
def test_a_demo_that_stops_by_itself_plans_the_season_and_prints_it(tmp_path_factory):
    here = a_demo(tmp_path_factory)
    env = {name: value for name, value in os.environ.items() if name != "ORTET_DATABASE"}
    run = [sys.executable, "-m", "ortet", "demo", "--once"]
    done = subprocess.run(run, env=env | {"ORTET_DEMO_FOLDER": str(here)}, capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (0, "")
    assert "Its papers, in" in done.stdout and "not planned yet" not in done.stdout
    text = " ".join(pages_of((here / "papers" / "season sheet.pdf").read_bytes()))
    assert "The season’s plan" in text and "Pick in the week" in text
