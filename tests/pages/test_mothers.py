"""Mother plants: found and saved; one of them with the lots it gave."""

import csv
import io
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from ortet import work

pytestmark = pytest.mark.usefixtures("season_kept")


def accessions(answer) -> list[str]:
    return [plant.accession for plant in answer.context["page"]]


@pytest.mark.parametrize("path", ["/mothers", "/mothers.csv", "/mothers/M1"])
def test_who_may_look(book, at_desk, ben_at_desk, path):
    assert at_desk.get(path).status_code == 200
    assert ben_at_desk.get(path).status_code == 200
    assert at_desk.post(path).status_code == 405
    assert Client(REMOTE_ADDR="192.0.2.1").get(path)["Location"].startswith(reverse("sign-in"))


def test_plants_are_found_and_sorted(book, at_desk):
    assert accessions(at_desk.get("/mothers")) == ["M1", "M2"]
    assert accessions(at_desk.get("/mothers", {"q": "lantern"})) == ["M2"]
    assert accessions(at_desk.get("/mothers", {"q": "hill"})) == ["M1", "M2"]
    assert accessions(at_desk.get("/mothers", {"sort": "taken"})) == ["M2", "M1"]
    assert at_desk.get("/mothers", {"sort": "age"}).status_code == 422
    assert "No mother plant answers" in at_desk.get("/mothers", {"q": "oak"}).content.decode()


def test_the_file_holds_what_the_list_holds(book, at_desk):
    saved = list(csv.DictReader(io.StringIO(at_desk.get("/mothers.csv").content.decode())))
    assert [(row["accession"], row["variety"], row["site"], row["cuttings taken"]) for row in saved] == [
        ("M1", "Dusk", "Hill", "40"),
        ("M2", "Lantern", "Hill", "20"),
    ]


def test_a_plant_shows_what_was_taken_and_the_lots_it_gave(book, at_desk, ada):
    work.give_up("L1", 4, from_place="Bench", by=ada, at=book.lot.made_at.replace(month=2))
    answer = at_desk.get("/mothers/M1")
    assert answer.context["seen"].taken == 40
    assert [(lot.mark, lot.on_hand) for lot in answer.context["seen"].lots] == [("L1", 36)]
    assert reverse("place", args=[book.mothers["M1"].site.code]) in answer.content.decode()


def test_an_accession_may_hold_a_slash(book, at_desk):
    work.add_mother("2019/07 B", "Dusk", "blackcurrant")
    assert at_desk.get(reverse("mother", args=["2019/07 B"])).status_code == 200


def test_a_breeders_right_is_shown(book, at_desk):
    work.add_mother("M5", "Kept", "grape", right="protected until 2039")
    assert "protected until 2039" in at_desk.get("/mothers/M5").content.decode()


def test_an_unknown_plant_is_not_found(book, at_desk):
    answer = at_desk.get("/mothers/M77")
    assert answer.status_code == 404 and "M77" in answer.content.decode()


def test_ben_is_offered_no_deed(book, ben_at_desk):
    assert "/do/" not in ben_at_desk.get("/mothers/M1").content.decode()


def test_a_name_shows_as_it_came_as_the_code_writes_it_and_what_to_look_at(book, at_desk):
    said = {"accession": "M6", "variety": "Ribes nigrum 'gala nova' GALANOVA", "species": "blackcurrant"}
    said |= {"id": str(uuid4()), "opened": "2027-02-12T07:00:00+00:00"}
    answer = at_desk.post(reverse("add-mother"), said, follow=True)
    assert "(CAP)" in answer.content.decode()
    page = at_desk.get("/mothers/M6").content.decode()
    assert "Ribes nigrum ‘gala nova’ GALANOVA" in page
    assert "It came as: Ribes nigrum &#x27;gala nova&#x27; GALANOVA" in page
    assert "begins with a capital" in page
