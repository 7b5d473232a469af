"""The shed's page, its copy of the book and its records, as a phone asks for them; photos as they are shown."""

import base64
import json
import re

import pytest
from django.test import Client
from django.urls import reverse
from uuid_utils.compat import uuid7

from ortet.ledger.models import (
    Batch,
    Count,
    Inspection,
    Kind,
    Movement,
    Note,
    Photo,
    Place,
    Standing,
    Weighing,
)
from ortet.pages.policy import POLICY, SHED_POLICY
from ortet.pages.shed import ACTS, MOST
from ortet.pages.views.shed import STATIC
from tests.writing import a_photo

pytestmark = pytest.mark.usefixtures("season_kept")

AT = "2027-02-12T06:30:00+00:00"
GET = ("shed", "shed-book", "shed-worker")
PICTURE = base64.b64encode(a_photo()).decode()


@pytest.fixture(autouse=True)
def folder(settings, tmp_path):
    """Keep photos apart for each test."""
    settings.FOLDER = tmp_path
    return tmp_path


def which(client: Client) -> str:
    return client.get(reverse("shed-book")).json()["book"]


def record(act: str, *about: str, **said) -> dict:
    """Return a record as the page makes one."""
    made = {"id": str(uuid7()), "act": act, "at": AT, "by": "ada", "about": list(about), "said": said}
    return made | ({"picture": PICTURE} if act == "photo" else {})


def sent(client: Client, *records: object) -> list[tuple[str, str]]:
    """Send records; return what became of each, and why."""
    answer = client.post(
        reverse("shed-records"), {"book": which(client), "records": records}, content_type="application/json"
    )
    assert answer.status_code == 200, answer.content
    assert [one["id"] for one in answer.json()["answers"]] == [
        one.get("id", "") if isinstance(one, dict) else "" for one in records
    ]
    return [(one["became"], one["says"]) for one in answer.json()["answers"]]


# Who may


@pytest.mark.parametrize("name", [*GET, "shed-records", "note"])
def test_a_stranger_is_led_to_sign_in(name, book):
    answer = Client(REMOTE_ADDR="192.0.2.1").get(reverse(name))
    assert answer.status_code == 302 and answer.url.startswith(reverse("sign-in"))


@pytest.mark.parametrize("name", GET)
@pytest.mark.parametrize("method", ["post", "put", "delete"])
def test_what_only_shows_takes_no_other_method(name, method, book, at_desk):
    assert getattr(at_desk, method)(reverse(name)).status_code == 405


@pytest.mark.parametrize("method", ["get", "put", "delete"])
def test_records_are_posted(method, book, at_desk):
    assert getattr(at_desk, method)(reverse("shed-records")).status_code == 405


def test_whoever_may_only_read_may_look_and_sends_nothing(book, ben_at_desk):
    assert ben_at_desk.get(reverse("shed")).status_code == 200
    said = ben_at_desk.get(reverse("shed-book")).json()
    assert (said["hand"], said["may_write"]) == ("ben", False)
    one = record("note", place="K1", note="dry") | {"by": "ben"}
    answer = ben_at_desk.post(
        reverse("shed-records"), {"book": said["book"], "records": [one]}, content_type="application/json"
    )
    assert answer.status_code == 403 and not Note.objects.exists()


def test_another_site_cannot_have_records_sent(book, ada):
    client = Client(enforce_csrf_checks=True)
    client.force_login(ada)
    said = {"book": which(client), "records": [record("note", place="K1", note="dry")]}
    ask = {"path": reverse("shed-records"), "data": said, "content_type": "application/json"}
    assert client.post(**ask).status_code == 403 and not Note.objects.exists()
    token = client.cookies["csrftoken"].value  # which asking for the book gave
    assert client.post(**ask, headers={"x-csrftoken": token}).status_code == 200


# The page


def test_only_the_shed_runs_web_assembly(book, at_desk):
    assert at_desk.get(reverse("shed"))["Content-Security-Policy"] == SHED_POLICY
    assert "script-src 'self' 'wasm-unsafe-eval';" in SHED_POLICY
    assert SHED_POLICY.replace(" 'wasm-unsafe-eval'", "") == POLICY
    assert at_desk.get(reverse("record"))["Content-Security-Policy"] == POLICY


def test_the_worker_keeps_what_the_page_asks_for(book, at_desk):
    answer = at_desk.get(reverse("shed-worker"))
    assert answer["Content-Type"].startswith("text/javascript")
    kept = json.loads(re.search(r"const KEPT = (\[.*\]);", answer.content.decode())[1])
    page = at_desk.get(reverse("shed")).content.decode()
    loaded = set(re.findall(r'(?:src|href)="(/static/[^"]+)"', page)) - {"/static/ortet/icon-180.png"}
    assert loaded and loaded <= set(kept)
    assert {"/shed", "/static/ortet/shed/reader/zxing_reader.wasm"} <= set(kept)


def test_the_page_speaks_dutch_and_the_worker_keeps_its_words(book, at_desk):
    english = at_desk.get(reverse("shed-worker")).content.decode()
    assert '<html lang="en">' in at_desk.get(reverse("shed")).content.decode()
    at_desk.cookies["django_language"] = "nl"
    dutch = at_desk.get(reverse("shed-worker")).content.decode()
    assert '<html lang="nl">' in at_desk.get(reverse("shed")).content.decode()
    assert "/static/ortet/shed/nl.json" in dutch
    assert english.split("\n")[0] != dutch.split("\n")[0]  # the page is kept anew where its language changes


def test_all_that_the_scripts_say_is_kept_in_dutch_too():
    dutch = json.loads((STATIC / "shed" / "nl.json").read_text())
    own = [*STATIC.glob("*.js"), *(STATIC / "shed").glob("*.js")]
    scripts = "".join(path.read_text() for path in sorted(own))
    assert dutch.keys() == set(re.findall(r'\bsay\("([^"]+)"', scripts))


def test_the_copy_of_the_book_says_what_lies_where(book, at_desk):
    said = at_desk.get(reverse("shed-book")).json()
    lots, places = said["lots"], said["places"]
    holds = {(lots[lot][1], places[place][2]): count for lot, place, count in said["holds"]}
    assert holds == {("L1", "K1"): 30, ("L1", "Bench"): 10, ("L3", "K3"): 12, ("L3", "Bench"): 8}
    bag = next(place for place in places if place[2] == "K1")
    assert places[bag[3]][2] == "North" and bag[4:6] == [320, 20]
    assert {"South", "Shelf"} <= {place[2] for place in places}  # empty, and yet something may go there
    assert lots[0][2] == "‘Dusk’" and said["hand"] == "ada" and said["may_write"]


# Records


def acts(book) -> dict[str, dict]:
    """Return a record of each act."""
    l1, k1 = book.lot.code, book.places["K1"].code
    return {
        "move": record("move", l1, lot=l1, from_place=book.bench.code, to_place="Shelf", count=4),
        "stand": record("stand", k1, bag=k1, store="South", from_store="North"),
        "weigh": record("weigh", k1, bag=k1, gross_g="311,5"),
        "inspect": record("inspect", l1, place=k1, lot=l1, sound="25", free_water="droplets", callus="1"),
        "strike": record("strike", l1, lot=l1, from_place="Bench", count=5, bench="Shelf", treatment="none"),
        "give-up": record("give-up", l1, lot=l1, from_place=k1, count=2, not_found="1", note="?"),
        "note": record("note", l1, lot=l1, place=k1, note="two shoots bent"),
        "photo": record("photo", l1, lot=l1, place=k1, note="mould"),
    }


def test_each_act_is_booked_once_however_often_it_is_sent(book, at_desk):
    records = list(acts(book).values())
    assert [became for became, _ in sent(at_desk, *records)] == ["booked"] * len(records)
    batch = Batch.objects.get()
    counted = record(
        "count", batch.place.code, place=batch.place.code, rooted="2", dead="1", give_up_dead=True
    )
    assert sent(at_desk, counted) == [("booked", "")]
    rows = (Movement, Standing, Weighing, Inspection, Count, Note, Photo)
    before = [model.objects.count() for model in rows]
    assert {became for became, _ in sent(at_desk, *records, counted, counted)} == {"known"}
    assert [model.objects.count() for model in rows] == before
    assert set(ACTS) == {*acts(book), "count"}
    weighed, seen = Weighing.objects.get(gross_g=311.5), Inspection.objects.get()
    assert weighed.at.isoformat() == AT and str(weighed.pk) == records[2]["id"]
    assert (seen.sound, seen.callus, seen.mouldy, seen.free_water) == (25, 1, None, "droplets")
    assert Movement.objects.filter(why="lost", count=2).exists()


def test_a_moment_is_kept_to_the_split_second(book, at_desk):
    one = record("weigh", bag="K1", gross_g="311") | {"at": "2027-02-12T06:30:17.250Z"}
    sent(at_desk, one)
    assert Weighing.objects.get(pk=one["id"]).at.isoformat() == "2027-02-12T06:30:17.250000+00:00"


def test_after_a_refusal_what_rests_on_it_is_held_and_the_rest_is_booked(book, at_desk):
    l1, k1, k3 = book.lot.code, book.places["K1"].code, book.places["K3"].code
    told = sent(
        at_desk,
        record("move", l1, lot=l1, from_place="Bench", to_place="Shelf", count=99),
        record("note", l1, k1, lot=l1, place=k1, note="of the same lot"),
        record("weigh", k1, bag=k1, gross_g="311"),  # rests on the note before it
        record("weigh", k3, bag=k3, gross_g="150"),
    )
    assert [became for became, _ in told] == ["refused", "held", "held", "booked"]
    assert "10 left in Bench" in told[0][1] and "Nothing was booked" in told[0][1]
    assert Note.objects.count() == 0 and Weighing.objects.count() == 2


def test_two_phones_that_moved_one_bag_are_told(book, at_desk):
    k1 = book.places["K1"].code
    Place.objects.create(kind=Kind.STORE, name="East", code="00000000")
    first = record("stand", k1, bag=k1, store="South", from_store="North")
    second = record("stand", k1, bag=k1, store="East", from_store="North")
    assert sent(at_desk, first) == [("booked", "")]
    ((became, says),) = sent(at_desk, second)
    assert became == "refused" and "since 12 Feb 2027 07:30 it stands in South, by ada" in says


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"at": "2027-02-12T08:30:00Z"}, "12 Feb 2027 09:30 is still to come"),
        ({"at": "2027-02-12T06:30:00"}, "says no time zone"),
        ({"at": "yesterday"}, "cannot be read"),
        ({"id": "7"}, "cannot be read"),
        ({"act": "sell"}, "'sell' is none of move, stand"),
        ({"said": None}, "This is no record"),
        ({"said": {"bag": "K1", "gross_g": "heavy"}}, "Weight, bag and all (g): 'heavy'"),
        ({"said": {"bag": "K9", "gross_g": "311"}}, "no bag called 'K9'"),
        ({"said": {"bag": "K1", "gross_g": "3110"}}, "Is a digit or the unit wrong?"),
        ({"said": {"bag": ["K1"], "gross_g": "311"}}, "Bag: This field is required."),
        ({"by": "mina"}, "mina recorded this, and this phone now books as ada"),
    ],
)
def test_what_is_refused_says_why_and_books_nothing(wrong, sentence, book, at_desk):
    before = Weighing.objects.count()
    ((became, says),) = sent(at_desk, record("weigh", bag="K1", gross_g="311") | wrong)
    assert became == "refused" and sentence in says and "othing was booked" in says
    assert Weighing.objects.count() == before


@pytest.mark.parametrize("wrong", [b"", b"[]", b"{", b'{"records": 7}', b"\xff", b"[" * 100_000])
def test_what_is_no_list_of_records_is_refused_whole(wrong, book, at_desk):
    answer = at_desk.post(reverse("shed-records"), wrong, content_type="application/json")
    assert answer.status_code == 400 and "Nothing was booked" in answer.json()["says"]


def test_records_of_another_book_and_too_many_are_refused(book, at_desk):
    for said in (
        {"book": "0" * 16, "records": [record("note", place="K1", note="x")]},
        {"book": which(at_desk), "records": [record("note", place="K1", note="x")] * (MOST + 1)},
    ):
        answer = at_desk.post(reverse("shed-records"), said, content_type="application/json")
        assert answer.status_code == 400
    assert not Note.objects.exists()


def test_a_photo_that_did_not_come_along_is_refused(book, at_desk):
    lost = record("photo", lot="L1")
    del lost["picture"]
    broken = record("photo", lot="L3") | {"picture": "%%%"}
    no_photo = record("photo", place="K3") | {"picture": base64.b64encode(b"<svg/>").decode()}
    says = [says for _, says in sent(at_desk, lost, broken, no_photo)]
    assert "take it again" in says[0] and "picture cannot be read" in says[1] and "no photo" in says[2]
    assert not Photo.objects.exists()


# Notes and photos on the pages


def test_photos_and_notes_stand_with_their_lot_and_their_place(book, ben_at_desk, at_desk):
    sent(at_desk, *(acts(book)[act] for act in ("note", "photo")))
    photo = Photo.objects.get()
    for page in (reverse("lot", args=[book.lot.code]), reverse("place", args=[book.places["K1"].code])):
        text = ben_at_desk.get(page).content.decode()
        assert reverse("photo", args=[photo.pk]) in text and "two shoots bent" in text
    answer = ben_at_desk.get(reverse("photo", args=[photo.pk]))
    assert (answer["Content-Type"], answer["X-Content-Type-Options"]) == ("image/jpeg", "nosniff")
    assert answer["Content-Security-Policy"] == "default-src 'none'; sandbox"
    assert b"".join(answer)[:3] == b"\xff\xd8\xff"
    withdraw = at_desk.get(reverse("withdraw"), {"reading": photo.pk})
    assert "Photo of K1" in withdraw.content.decode()


@pytest.mark.parametrize("method", ["post", "put", "delete"])
def test_a_photo_is_only_looked_at(method, book, at_desk):
    sent(at_desk, acts(book)["photo"])
    path = reverse("photo", args=[Photo.objects.get().pk])
    assert getattr(at_desk, method)(path).status_code == 405
    stranger = Client(REMOTE_ADDR="192.0.2.1").get(path)
    assert stranger.status_code == 302 and stranger.url.startswith(reverse("sign-in"))


def test_a_photo_whose_file_is_gone_is_not_found(book, at_desk, folder):
    sent(at_desk, acts(book)["photo"])
    (path,) = (folder / "photos").iterdir()
    path.unlink()
    assert at_desk.get(reverse("photo", args=[Photo.objects.get().pk])).status_code == 404


def test_a_note_is_noted_at_the_desk_too(book, at_desk):
    form = at_desk.get(reverse("note"), {"lot": "L1"})
    said = {"id": uuid7(), "at": "2027-02-12T07:30", "lot": "L1", "place": "", "note": "labels faded"}
    answer = at_desk.post(reverse("note"), said)
    assert form.status_code == 200 and answer.url == reverse("lot", args=[book.lot.code])
    assert "labels faded" in at_desk.get(answer.url).content.decode()
    assert at_desk.post(reverse("note"), said | {"id": uuid7(), "lot": ""}).status_code == 422
