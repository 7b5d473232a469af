"""The papers that the demo ends with: whatever the book has come to, and each a PDF."""

import pypdfium2
import pytest

from ortet.demo.papers import print_papers
from ortet.ledger.models import Lot

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
