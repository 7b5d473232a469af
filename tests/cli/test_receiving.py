"""`ortet receive`: begun, noted, finished and claimed by command."""

import json

import pypdfium2
import pytest

from tests.cli.test_commands import ortet

pytestmark = pytest.mark.django_db

SEEN = "1 counted=24 came=412.8g dead=2 mouldy=3 buds=tight scratch=8/10 wrinkled note=wrap torn"


@pytest.fixture
def begun(db):
    return ortet(
        "receive", "Hedge Farm", "--posted", "2027-01-15", "--line", "Dusk; blackcurrant; 25; 500 g", "--at", "2027-01-20"
    ).output  # fmt: skip


def test_a_parcel_from_the_slip_to_the_claim(begun, tmp_path):
    assert "Parcel 1 of Hedge Farm: lies open." in begun and "Not counted or not looked at yet" in begun
    told = ortet(
        "receive", "--parcel", "1", "--found", SEEN, "--bleach", "5 % by mass", "--at", "2027-01-20"
    ).output
    for words in (
        "Soak: 24 h. Disinfect: 0.5 % NaOCl, 8 min. Keep apart: yes. Then: strike.",
        "will probably strike",
        "Caution:",
    ):
        assert words in told
    claim = tmp_path / "claim.pdf"
    place = ("--quarantine", "Shed", "--at", "2027-01-21")
    done = ortet("receive", "--parcel", "1", "--finish", *place, "--claim", str(claim)).output
    assert "Parcel 1 of Hedge Farm: finished." in done and "ortet labels" in done
    words = " ".join(page.get_textpage().get_text_bounded() for page in pypdfium2.PdfDocument(claim))
    assert "25 stated, 24 came: 1 missing" in " ".join(words.split())
    assert "The account holds: 0 taken + 24 received = 22 on hand + 2 given up" in ortet("check").output
    (line,) = json.loads(ortet("receive", "--parcel", "1", "--json").output)["lines"]
    assert line["found"]["note"] == "wrap torn" and line["lot"] and line["advice"]["soak_h"] == 24
    assert "dip it in 0.5 % NaOCl" in ortet("today").output


def test_a_slip_comes_as_a_file(tmp_path):
    empty = ortet("receive", "--template").output
    assert empty.startswith("variety,species,count,sent_g,use,mark")
    slip = tmp_path / "slip.csv"
    slip.write_text(empty)
    told = ortet("receive", "Mill", "--slip", str(slip), "--at", "2027-01-20").output
    assert "1. ‘Larkfield Amber’, grape: 25 stated." in told and "2. ‘Ash Lantern’" in told


@pytest.mark.parametrize(
    ("said", "says"),
    [
        (("--found", "1 counted=many"), "cannot be read"),
        (("--found", "x counted=1"), "cannot be read"),
        (("--found", "1 weight=1"), "cannot be read"),
        (("--found", "1 counted=3 dead=4"), "4 dead and 0 bored of 3"),
        (("--then", "store", "--finish"), "write 1=store"),
        (("--line", "Dusk;;many"), "is no count"),
        (("--finish", "--store", "Cellar"), "Not counted or not looked at"),
    ],
)
def test_what_is_refused_leaves_all_as_it_was(begun, said, says):
    before = ortet("receive", "--parcel", "1", "--json").output
    assert (
        says
        in ortet(
            "receive", "--parcel", "1", "--line", "Fog; elder; 3", *said, "--at", "2027-01-20", ends=1
        ).output
    )
    assert ortet("receive", "--parcel", "1", "--json").output == before


def test_a_parcel_begun_by_mistake_is_thrown_away(begun):
    assert "thrown away" in ortet("receive", "--parcel", "1", "--discard").output
    assert "no parcel 1" in ortet("receive", "--parcel", "1", ends=1).output
