"""Receiving a parcel by page: begun, noted step by step, left and resumed, finished once; the claim read back."""

import csv
import io
from uuid import uuid4

import pypdfium2
import pytest
from django.test import Client
from django.urls import reverse

from ortet.ledger import rules
from ortet.ledger.models import Movement, Received, ReceivedLine, Why
from ortet.work import receiving
from ortet.work.receiving import SlipLine
from ortet.work.today import today
from tests.writing import a_photo

pytestmark = pytest.mark.usefixtures("season_kept")

NUMBERED = ("parcel", "parcel-whole", "parcel-line", "parcel-finish")


@pytest.fixture
def parcel(book, ada, nursery):
    """A parcel of two lines that lies open."""
    lines = [SlipLine("Dusk", "blackcurrant", 25, 500.0), SlipLine("Fog Bell", "grape", 10)]
    yield receiving.begin("Hedge Farm", lines=lines, by=ada, at=nursery.now())
    assert rules.check() == []


def step(number: int, line: int, at: str) -> str:
    return reverse("parcel-step", args=[number, line, at])


def walk(client: Client, number: int) -> None:
    """Take every step of both lines, each from the page that the one before led to."""
    said = {
        "count": {"counted": "22", "came_g": "378,4"},
        "look": {"dead": "2", "mouldy": "3", "buds": "tight", "wrinkled": "on"},
        "scratch": {"scratch_of": "10", "scratch_green": "8"},
    }
    to = step(number, 1, "count")
    for line in (1, 2):
        for at in said:
            assert to == step(number, line, at)
            shown = (
                said[at]
                if line == 1
                else {**said[at], "counted": "10", "came_g": "", "dead": "0", "mouldy": "0"}
            )
            answer = client.post(to, shown)
            assert answer.status_code == 302, answer.content.decode()
            to = answer["Location"]
    assert to == reverse("parcel", args=[number])


def test_a_parcel_is_begun_once_with_its_first_line(book, at_desk):
    said = {
        "id": str(uuid4()), "at": "2027-02-12T08:00", "opened": "", "sender": "Hedge Farm", "posted_on": "2027-02-09",
        "variety": "Dusk", "species": "", "count": "25", "sent_g": "500",
    }  # fmt: skip
    first, second = (at_desk.post(reverse("receive"), said) for _ in range(2))
    assert first["Location"] == second["Location"] == reverse("parcel", args=[1])
    assert Received.objects.get().said["lines"][0]["species"] == "blackcurrant"
    assert "‘Dusk’" in at_desk.get(first["Location"]).content.decode()


def test_step_by_step_to_the_lots(parcel, at_desk):
    walk(at_desk, parcel.number)
    page = at_desk.get(reverse("parcel", args=[parcel.number])).content.decode()
    # by hand: 20 g sent and 17.2 g come a cutting: 14 % lost
    for words in (
        "Decide and finish",
        "14 % of its mass",
        "0.5 % NaOCl",
        "3 missing",
        "will probably strike",
    ):
        assert words in page
    to = reverse("parcel-finish", args=[parcel.number])
    assert "checked" in at_desk.get(to).content.decode()
    said = {
        "id": str(uuid4()),
        "store": "North",
        "quarantine": "Shed",
        "bench": "Bench",
        "then_1": "strike",
        "then_2": "store",
    }
    for _ in range(2):
        answer = at_desk.post(to, said)
        assert answer.status_code == 302, answer.content.decode()
    assert Movement.objects.filter(why=Why.RECEIVED).count() == 2
    page = at_desk.get(reverse("parcel", args=[parcel.number])).content.decode()
    lots = [one.lot for one in ReceivedLine.objects.all()]
    labels = reverse("labels") + "?" + "&amp;".join(f"lot={lot.code}" for lot in lots)
    assert labels in page
    traced = at_desk.get(reverse("trace"), {"code": lots[0].code}).content.decode()
    assert "Sender Hedge Farm" in traced and "received" in traced
    lot = at_desk.get(reverse("lot", args=[lots[0].code])).content.decode()
    assert "22 received from Hedge Farm" in lot
    assert at_desk.get(step(parcel.number, 1, "count")).status_code == 200
    assert at_desk.post(step(parcel.number, 1, "count"), {"counted": "9"}).status_code == 422


def test_what_was_noted_is_there_again_on_another_device(parcel, at_desk, ada):
    at_desk.post(step(parcel.number, 1, "count"), {"counted": "22", "came_g": "378.4"})
    other = Client()
    other.force_login(ada)
    page = other.get(reverse("parcel", args=[parcel.number])).content.decode()
    assert f'href="{step(parcel.number, 1, "look")}">Go on: line 1, look' in page
    assert 'value="378.4"' in other.get(step(parcel.number, 1, "count")).content.decode()


@pytest.mark.parametrize(
    ("at", "said", "says"),
    [
        ("count", {"counted": "many"}, "whole number"),
        ("count", {}, "required"),
        ("look", {"dead": "1"}, "required"),
        ("look", {"dead": "26", "mouldy": "0"}, "26 dead and 0 bored of 22"),
        ("scratch", {"scratch_of": "10"}, "needs both"),
        ("scratch", {"scratch_of": "5", "scratch_green": "6"}, "6 green of 5"),
        ("slip", {"variety": "", "species": ""}, "needs the name"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_lost(parcel, at_desk, at, said, says):
    at_desk.post(step(parcel.number, 1, "count"), {"counted": "22"})
    before = Received.objects.get().said
    answer = at_desk.post(step(parcel.number, 1, at), said)
    assert answer.status_code == 422 and says in answer.content.decode()
    assert Received.objects.get().said == before


def test_today_asks_to_go_on_and_then_for_what_is_left(parcel, at_desk, nursery):
    lies = "Parcel 1 of Hedge Farm lies open: 2 of 2 lines not looked at."
    page = at_desk.get(reverse("today"))
    assert page.status_code == 200
    assert [one.task.act for one in page.context["todos"] if "arcel" in one.task.act] == [lies]
    assert lies in page.content.decode()
    walk(at_desk, parcel.number)
    said = {
        "id": str(uuid4()),
        "store": "North",
        "quarantine": "Shed",
        "bench": "Bench",
        "then_1": "store",
        "then_2": "store",
    }
    at_desk.post(reverse("parcel-finish", args=[parcel.number]), said)
    kinds = {task.kind: task for task in today(nursery.now()).tasks}
    assert "parcel" not in kinds and "0.5 % NaOCl for 8 minutes" in kinds["dip"].act
    page = at_desk.get(reverse("today")).content.decode()
    lot = ReceivedLine.objects.get(position=1).lot
    to = reverse("treat")
    form = at_desk.get(to, {"place": "Bench", "lot": lot.code, "kind": "disinfect", "agent": "bleach"})
    assert form.status_code == 200 and f"{to}?place=" in page
    from ortet import work

    work.treat("Bench", "disinfect", lot=lot.code, by=parcel.by, at=nursery.now())
    kinds = {task.kind: task for task in today(nursery.now()).tasks}
    assert "dip" not in kinds and "out of its water" in kinds["soak"].act
    work.bag([(lot.code, None, "Bench")], store="Shed", by=parcel.by, at=nursery.now())
    assert "soak" not in {task.kind for task in today(nursery.now()).tasks if lot.code in task.lots}


def test_the_claim_says_the_figures_and_shows_the_photo(parcel, at_desk, ben_at_desk):
    assert at_desk.get(reverse("parcel-claim", args=[parcel.number])).status_code == 422
    walk(at_desk, parcel.number)
    photo = io.BytesIO(a_photo())
    photo.name = "p.jpg"
    assert at_desk.post(reverse("parcel-photo", args=[parcel.number]), {"photo": photo}).status_code == 302
    answer = ben_at_desk.get(reverse("parcel-claim", args=[parcel.number]))
    assert answer["Content-Type"] == "application/pdf"
    document = pypdfium2.PdfDocument(answer.content)
    words = " ".join(" ".join(page.get_textpage().get_text_bounded() for page in document).split())
    for part in (
        "Hedge Farm",
        "‘Dusk’: 25 stated, 22 came: 3 missing.",
        "14.0 %",
        "8 of 10",
        "500.0 g",
        "378.4 g",
    ):
        assert part in words
    from pypdfium2.raw import FPDF_PAGEOBJ_IMAGE

    assert sum(len(list(page.get_objects([FPDF_PAGEOBJ_IMAGE]))) for page in document) == 1


def test_what_came_as_stated_is_not_claimed(parcel, at_desk):
    receiving.drop_line(parcel.number, 1, at=parcel.opened_at)
    receiving.note_found(parcel.number, 2, at=parcel.opened_at, counted=10, mouldy=0, dead=0)
    answer = at_desk.get(reverse("parcel-claim", args=[parcel.number]))
    assert answer.status_code == 422 and "nothing to claim" in answer.content.decode()


def test_the_slip_is_mended_added_to_and_thrown_away(parcel, at_desk):
    number = parcel.number
    line = {"variety": "Ash", "species": "elder", "count": "7", "use": "rooting"}
    assert at_desk.post(reverse("parcel-line", args=[number]), line).status_code == 302
    assert at_desk.post(step(number, 3, "slip"), line | {"count": "8"}).status_code == 302
    assert Received.objects.get().said["lines"][2]["count"] == 8
    assert at_desk.post(reverse("parcel-drop", args=[number, 1])).status_code == 302
    said = {"stock": "5 % by mass", "sent_g": "900", "came_g": "800", "address": "1 Lane"}
    assert at_desk.post(reverse("parcel-whole", args=[number]), said).status_code == 302
    assert at_desk.post(reverse("parcel-discard", args=[number])).status_code == 302
    assert not Received.objects.exists()


def test_the_list_is_found_sorted_and_saved(parcel, at_desk):
    page = at_desk.get(reverse("parcels"), {"q": "fog"}).content.decode()
    assert "Hedge Farm" in page and "lies open" in page
    assert "No parcel answers" in at_desk.get(reverse("parcels"), {"q": "zebra"}).content.decode()
    assert at_desk.get(reverse("parcels"), {"sort": "weight"}).status_code == 422
    rows = list(csv.DictReader(io.StringIO(at_desk.get(reverse("parcels-table")).content.decode())))
    assert [(row["variety"], row["stated"]) for row in rows] == [("Dusk", "25"), ("Fog Bell", "10")]


def test_an_empty_list_says_what_to_do_first(book, at_desk):
    page = at_desk.get(reverse("parcels")).content.decode()
    assert "No parcel yet" in page and reverse("receive") in page


def test_ben_looks_and_changes_nothing(parcel, ben_at_desk):
    number = parcel.number
    reads = [reverse(name, args=[number]) for name in NUMBERED] + [
        step(number, 1, "look"),
        reverse("parcels"),
    ]
    for to in reads:
        assert ben_at_desk.get(to).status_code == 200
    writes = [
        *reads[1:-1],
        reverse("parcel-drop", args=[number, 1]),
        reverse("parcel-discard", args=[number]),
    ]
    for to in (*writes, reverse("parcel-photo", args=[number]), reverse("receive")):
        assert ben_at_desk.post(to, {}).status_code == 403
    assert Received.objects.get().said["lines"][0]["found"] == {}


def test_the_wrong_method_is_refused(parcel, at_desk):
    number = parcel.number
    for name in ("parcel-discard", "parcel-photo"):
        assert at_desk.get(reverse(name, args=[number])).status_code == 405
    assert at_desk.get(reverse("parcel-drop", args=[number, 1])).status_code == 405
    for to in (reverse("parcels"), reverse("parcels-table"), reverse("parcel-claim", args=[number])):
        assert at_desk.post(to, {}).status_code == 405
    for name in NUMBERED[1:]:
        assert at_desk.delete(reverse(name, args=[number])).status_code == 405


def test_a_stranger_and_an_unknown_number_find_nothing(parcel, at_desk):
    assert Client().get(reverse("parcels"), REMOTE_ADDR="192.0.2.7").status_code == 302
    for to in (
        reverse("parcel", args=[99]),
        step(99, 1, "look"),
        step(parcel.number, 9, "look"),
        step(parcel.number, 1, "sing"),
    ):
        assert at_desk.get(to).status_code == 404


def test_a_book_that_begins_with_a_parcel_is_not_called_empty(ada, nursery, at_desk):
    receiving.begin("Hedge Farm", by=ada, at=nursery.now())
    page = at_desk.get(reverse("today")).content.decode()
    assert "An empty book" not in page and "no line of its slip noted yet" in page
