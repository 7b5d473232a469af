"""Passport data by page: the collection's file, a plant's own data, and who may do what."""

import pytest
from django.test import Client
from django.urls import reverse

from ortet.ledger.models import PassportData
from ortet.tables.mcpd import read_passports
from tests.pages.test_house import upload

pytestmark = pytest.mark.usefixtures("season_kept")


def sent(client: Client, **said: str):
    form = client.get(reverse("passport"), {"accession": "M1"}).context["form"]
    return client.post(reverse("passport"), {"id": str(form["id"].value()), "accession": "M1", **said})


def test_the_collection_is_saved_and_loaded_again(book, at_desk, ben_at_desk):
    to = reverse("passports")
    assert to in at_desk.get(reverse("mothers")).content.decode()
    answer = ben_at_desk.get(to)
    assert answer["Content-Disposition"] == 'attachment; filename="passports.csv"'
    assert [row.said["ACCENUMB"] for row in read_passports(answer.content, "x").rows] == ["M1", "M2"]
    loaded = at_desk.post(reverse("load"), {"files": upload("collection.csv", answer.content.decode())})
    assert "Nothing new" in loaded.content.decode()
    bad = at_desk.post(
        reverse("load"), {"files": upload("x.csv", "ACCENUMB,GENUS,STORAGE\r\nM1,Ribes,15\r\n")}
    )
    assert bad.status_code == 422
    assert "x.csv, line 2, STORAGE" in bad.content.decode()


def test_a_plants_data_is_noted_and_shown(book, at_desk):
    answer = sent(at_desk, SAMPSTAT="416", COLLSRC="99")
    assert answer.url == reverse("mother", args=["M1"])
    shown = at_desk.get(answer.url).content.decode()
    assert "<dt>SAMPSTAT</dt><dd>416" in shown and "<dt>SPAUTHOR</dt><dd>L." in shown
    assert "COLLSRC 99 wants explaining" in shown
    assert PassportData.objects.get().said == {"SAMPSTAT": "416", "COLLSRC": "99"}
    asked = at_desk.get(reverse("passport"), {"accession": "M1"}).content.decode()
    assert 'value="416"' in asked
    wrong = sent(at_desk, SAMPSTAT="150")
    assert wrong.status_code == 422 and "150" in wrong.content.decode()
    assert PassportData.objects.get().said["SAMPSTAT"] == "416"


def test_who_may_do_what(book, at_desk, ben_at_desk):
    assert ben_at_desk.post(reverse("passport"), {"accession": "M1", "SAMPSTAT": "300"}).status_code == 403
    assert not PassportData.objects.exists()
    for method in ("post", "put", "delete"):
        assert getattr(at_desk, method)(reverse("passports")).status_code == 405
    for method in ("put", "delete"):
        assert getattr(at_desk, method)(reverse("passport")).status_code == 405
    for name in ("passports", "passport"):
        assert Client(REMOTE_ADDR="192.0.2.1").get(reverse(name))["Location"].startswith(reverse("sign-in"))
    assert at_desk.get(reverse("passport"), {"accession": "none"}).status_code == 200
