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
