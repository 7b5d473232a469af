"""Trials by command: designed, printed, struck, counted and read."""

import json

import pytest

from ortet.ledger.models import Batch, Trial
from tests.writing import write

from .test_commands import ortet

pytestmark = pytest.mark.django_db
BOOK = """
    2027-01-04 08:00  mother M1 Dusk blackcurrant
    2027-01-04 08:00  place bench Warm
    2027-01-05 09:00  take M1 60 as L1
"""
DESIGN = ("design", "Dip", "Does it pay?", "-t", "none", "-t", "K-IBA", "-v", "Dusk", "--tray", "4x10", "--plot", "5", "--seed", "3")  # fmt: skip


@pytest.fixture
def book(ada):
    return write(BOOK, ada)


def test_from_the_question_to_the_answer(book, tmp_path):
    looked = ortet(*DESIGN, "--sought", "0.4", "--look").output
    assert "cuttings of each treatment" in looked and not Trial.objects.exists()
    assert "Trial 1, Dip: drawn with seed 3." in ortet(*DESIGN, "--blocks", "3").output
    files = [tmp_path / "map.pdf", tmp_path / "labels.pdf"]
    told = ortet("trial", "1", "--map", str(files[0]), "--labels", str(files[1]), "--plots").output
    assert all(file.read_bytes().startswith(b"%PDF") for file in files) and "0 of 6 plots struck" in told
    made = ortet("strike-trial", "1", "L1", "--bench", "Warm", "--heat", "22C").output
    assert "6 plots struck, batches T1-1 to T1-6" in made
    for plot in json.loads(ortet("trial", "1", "--json").output)["plots"]:
        ortet("count", plot["batch"], "--rooted", "5" if plot["letter"] == "B" else "0")
    read = " ".join(ortet("trial", "1").output.split())
    assert "about 100 more had rooted with K-IBA than with none" in read and "one in 20" in read
    assert "100 more" in " ".join(ortet("trials").output.split())
    assert json.loads(ortet("trials", "--json").output)[0]["looks"][0]["is_done"]


def test_one_plot_at_a_time(book):
    ortet(*DESIGN, "--blocks", "3")
    assert "Batch T1-2" in ortet("strike", "L1", "--bench", "Warm", "--trial", "1", "--plot", "2").output
    assert Batch.objects.get().plot == 2


def test_nothing_to_show_is_said(book):
    assert "No trial yet" in ortet("trials").output
    assert "Nothing to compare" in ortet("hints").output
    assert json.loads(ortet("hints", "--json").output) == []


def test_what_cannot_be_is_refused(book):
    for words, said in (
        (("trial", "4"), "no trial 4"),
        ((*DESIGN, "--tray", "four"), "rows and columns"),
        ((*DESIGN, "--edge", "none"), "use, guard, block"),
        ((*DESIGN, "--alike", "diagonal"), "rows, columns, none, trays"),
        ((*DESIGN, "-v", "Noon"), "No variety"),
        (("strike-trial", "4", "L1", "--bench", "Warm"), "no trial 4"),
    ):
        assert said in ortet(*words, ends=1).output
    assert not Trial.objects.exists()
