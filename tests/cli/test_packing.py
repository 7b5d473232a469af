"""`ortet pick`, `pack`, `send` and what comes after, by command."""

import json

import pytest

from tests.cli.test_commands import ortet

pytestmark = pytest.mark.django_db


def refused(*words: str) -> str:
    """Give a command that must be refused; return its sentence."""
    return ortet(*words, ends=1).stderr


@pytest.fixture
def ordered(db):
    """An order of ten of Dusk, whose bag holds twelve."""
    ortet("add-place", "North")
    ortet("add-mother", "M1", "Dusk", "blackcurrant")
    ortet("take", "M1", "15", "--mark", "L1", "--at", "2027-02-01T09:00")
    ortet("bag", "L1=12", "--name", "K1", "--store", "North", "--at", "2027-02-01T10:00")
    ortet("order", "Hedge", "Dusk=10", "--until", "2027-03-06", "--from", "2027-03-01", "--price", "1.50")


def test_from_the_walk_to_what_the_buyer_tells(ordered):
    walked = json.loads(ortet("pick", "--order", "1", "--json").output)
    assert sum(stop["count"] for stop in walked) == 10
    assert "ortet pack 1/1 LABEL" in ortet("pick").output
    assert "Scan the label" in refused("pack", "1/1", " ", "5")
    done = json.loads(ortet("pack", "1/1", "L1", "6", "--lot", "L1", "--from", "K1", "--json").output)
    assert (done["parcel"], done["count"], done["from"]) == (1, 6, "K1")
    assert "still lacks 2" in ortet("found-only", "1/1", "L1", "2", "--lot", "L1", "--from", "K1").output
    assert "say what became" in refused("found-only", "1/1", "L1", "2", "--lot", "L1", "--rest", "eaten")
    (row,) = json.loads(ortet("outgoing", "--json").output)
    assert (row["parcel"], row["cuttings"], row["sent"]) == (1, 8, "")
    sent = ortet("send", "1", "--gross", "420g", "--carrier", "Post").output
    assert "8 cuttings are sold to Hedge" in sent and "/r/" in sent
    assert "sent already" in refused("send", "1")
    seen = json.loads(ortet("outgoing", "1", "--json").output)
    assert seen["gross_g"] == 420 and [one["count"] for one in seen["contents"]] == [8]
    assert seen["missing"] == [{"line": 1, "variety": "Dusk", "missing": 2}]
    assert "2 of Dusk" in ortet("outgoing", "1").output
    sale = seen["told"][0]["sale"]
    assert "5 of 8 rooted" in ortet("told", str(sale), "8", "5").output
    assert "were sent" in refused("told", str(sale), "9", "5")
    assert "/r/" in ortet("report-link", "1").output
    assert "5/8" in ortet("evidence", "--told").output
    (row,) = json.loads(ortet("evidence", "--told", "--json").output)
    assert (row["variety"], row["struck"], row["rooted"]) == ("Dusk", 8, 5)


def test_complaints_are_answered(ordered):
    ortet("pack", "1", "L1", "--lot", "L1", "--from", "K1")
    ortet("send", "1")
    assert "dry" in ortet("arrived", "1", "dry").output
    assert "say good, dry" in refused("arrived", "1", "splendid")
    assert "ortet replace 1/1" in ortet("complain", "1/1", "mouldy", "4", "--parcel", "1").output
    assert "4 mouldy, open" in ortet("outgoing", "--order", "1").output
    assert "Order 2 replaces them: 4" in ortet("replace", "1/1").output
    assert "No complaint" in refused("replace", "1/1")
    after = json.loads(ortet("outgoing", "--order", "1", "--json").output)
    assert after["complaints"][0]["answer"] == "replaced by order 2"
    assert "Nothing was heard" in ortet("outgoing", "--order", "2").output
    assert "No parcel fits" in ortet("outgoing", "--still").output
