"""The commands by which a book goes out by open standards and comes in again, as typed."""

import json

import pytest

from .test_commands import ortet

pytestmark = pytest.mark.django_db


def test_a_name_is_read_written_and_remarked_on():
    said = ortet("name", "apple 'Cripps Pink' PINK LADY").output
    assert "apple ‘Cripps Pink’ PINK LADY" in said and "selling name      PINK LADY" in said
    assert "Nothing to remark on" in said
    assert "By the ICNCP (CAP)" in ortet("name", "Malus 'gala'").output
    told = json.loads(ortet("name", "Malus 'Best of All'", "--json").output)
    assert told["parts"]["variety"] == "Best of All"
    assert [(one["code"], one["hint"]) for one in told["remarks"]] == [("CLAIM", True)]


def test_a_mother_with_an_odd_name_is_added_and_told():
    said = ortet("add-mother", "M1", "Ribes nigrum 'dusk'", "blackcurrant").output
    assert "is in the book" in said and "(CAP)" in said and "stays as it came" in said
    ortet("add-mother", "M2", " ", "blackcurrant", ends=1)


def test_a_book_is_archived_once_and_restored_into_an_empty_one_only(full_book, tmp_path):
    file = tmp_path / "book.zip"
    assert "tables, 1 photos" in ortet("archive", str(file)).output
    assert "is there already" in ortet("archive", str(file), ends=1).output
    assert [path.name for path in tmp_path.iterdir()] == ["book.zip"], "nothing half"
    assert "not empty" in ortet("restore", str(file), ends=1).output
    assert "No such file" in ortet("restore", str(tmp_path / "none.zip"), ends=1).output


def test_an_archive_is_restored_as_typed(full_book, tmp_path):
    from tests.work.test_archive import empty_the_book

    ortet("archive", str(tmp_path / "book.zip"))
    empty_the_book()
    said = ortet("restore", str(tmp_path / "book.zip")).output
    assert "Restored:" in said and "The account holds" in said
