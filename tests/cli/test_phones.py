"""Commands for phones: a code to scan in the terminal, the list, and shutting one out."""

import json
import re
from datetime import UTC, datetime

import pytest
import zxingcpp
from PIL import Image
from typer.testing import CliRunner

from ortet.cli import app
from ortet.ledger.models import Device, Pairing
from ortet.pages.farm.where import Where
from ortet.work import nursery as hands
from ortet.work import phones

pytestmark = pytest.mark.django_db
FARM = Where("https://192.168.1.20:8138", "http://192.168.1.20:8139", "https://hill.local:8138", "AB CD")
START = datetime(2027, 3, 1, tzinfo=UTC)


def ortet(*words: str, ends: int = 0) -> str:
    result = CliRunner().invoke(app, list(words))
    assert result.exit_code == ends, result.output + str(result.exception)
    return result.output


@pytest.fixture
def served(monkeypatch) -> None:
    """The farm's network is served."""
    monkeypatch.setattr("ortet.pages.farm.where.open_now", lambda: FARM)


def paired(hand: str) -> Device:
    return phones.pair(phones.invite(hand, by=hands.grower(), now=START).token, now=START)[0]


def scanned(printed: str) -> list[str]:
    """Return what a camera reads off a terminal, which shows two rows of a code in each line."""
    lines = [re.sub(r"\x1b\[[0-9;]*m", "", line) for line in printed.splitlines() if set("▀▄█") & set(line)]
    width = max(map(len, lines))
    shown = Image.new("L", (width + 8, 2 * len(lines) + 8), 0)  # a dark terminal
    for y, line in enumerate(lines):
        for x, half in enumerate(line):
            for row, lit in enumerate((half in "▀█", half in "▄█")):
                shown.putpixel((x + 4, 2 * y + row + 4), 255 * lit)
    return [
        found.text for found in zxingcpp.read_barcodes(shown.resize((shown.width * 6, shown.height * 6), 0))
    ]


def test_a_code_is_shown_that_a_phone_scans_off_the_terminal(served):
    said = ortet("pair", "mina", "--phone", "the blue one")
    (link,) = scanned(said)
    made = phones.invited(
        link.removeprefix(f"{FARM.pages}/pair/"), now=Pairing.objects.get().until - phones.LASTS
    )
    assert made.user.username == "mina" and made.name == "the blue one"
    typed = re.search(r"^ {4}(\w{4}-\w{4})$", said, re.MULTILINE)[1]
    assert phones.invited(typed.replace("-", ""), now=made.until - phones.LASTS) == made
    assert FARM.trust in said and FARM.fingerprint in said


def test_a_new_helper_may_be_let_read_only(served):
    ortet("pair", "ola", "--only-read")
    assert not hands.may_write(Pairing.objects.get().user)


def test_no_code_is_made_while_no_phone_could_use_it(monkeypatch):
    monkeypatch.setattr("ortet.pages.farm.where.open_now", lambda: None)
    assert "No code was made" in ortet("pair", "mina", ends=1)
    assert not Pairing.objects.exists()


def test_phones_are_listed_and_shut_out():
    assert "No phone is paired" in ortet("phones")
    paired("mina"), paired("ola")
    assert "mina's phone" in ortet("phones")
    assert "mina's phone is shut out" in ortet("shut-out", "Mina's phone")
    assert "mina" not in ortet("phones")
    both = json.loads(ortet("phones", "--all", "--json"))
    assert {one["hand"]: bool(one["shut_out_at"]) for one in both} == {"mina": True, "ola": False}
    assert "Shut out" in ortet("phones", "--all")
    refused = ortet("shut-out", "mina's phone", ends=1)
    assert "Let in are: ola's phone. Nothing was changed." in refused
