"""Commands for programs and calendars."""

import json
import re

import pytest
import vobject
from django.test import Client
from typer.testing import CliRunner

from ortet.cli import app
from ortet.ledger.models import Device
from tests.writing import write

pytestmark = pytest.mark.django_db


def ortet(*words: str, ends: int = 0) -> str:
    result = CliRunner().invoke(app, list(words))
    assert result.exit_code == ends, result.output + str(result.exception)
    return result.output


def test_a_token_given_by_command_lets_a_program_in(ada):
    said = ortet("token", "the scale", "--may", "read", "--may", "write", "--as", "ada")
    secret = re.search(r"^ {4}(\S+)$", said, re.MULTILINE)[1]
    assert "comes in as ada and may read, write" in said
    assert Client(HTTP_AUTHORIZATION=f"Bearer {secret}").get("/api/v1/lots").status_code == 200


def test_programs_are_listed_and_shut_out():
    assert "No program is let in" in ortet("tokens")
    ortet("token", "books", "--may", "read")
    assert "books" in ortet("tokens")
    assert "books is shut out" in ortet("shut-out", "Books")
    (row,) = json.loads(ortet("tokens", "--all", "--json"))
    assert (row["program"], row["may"]) == ("books", ["read"]) and row["shut_out_at"]
    assert "No phone is paired" in ortet("phones")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--may", "everything"], "no such scope"),
        (["--may", "read", "--as", "nobody"], "nobody of that name"),
        (["--may", "calendar", "--may", "read"], "a token of its own"),
        (["--may", "write", "--as", "ben"], "not write in it"),
    ],
)
def test_what_cannot_be_given_says_why(words, says, ben):
    assert says in ortet("token", "x", *words, ends=1) and not Device.objects.exists()


def test_the_calendar_is_printed_and_its_address_given(ada):
    write("2027-01-05 08:00 mother M1 Dusk grape\n2027-01-05 09:00 take M1 20 as L1", ada)
    assert vobject.readOne(ortet("calendar")).contents["vevent"]
    assert vobject.readOne(ortet("calendar", "--todos")).contents["vtodo"]
    path = re.search(r"/calendar/\S+", ortet("token", "my phone", "--may", "calendar"))[0]
    assert Client().get(path)["Content-Type"].startswith("text/calendar")
