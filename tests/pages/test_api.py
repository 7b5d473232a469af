"""The API: tokens and their scopes, deeds sent twice, and how it says no."""

import json
import os
import subprocess
import sys
from datetime import date, datetime, timedelta
from uuid import UUID, uuid4

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.timezone import now
from openapi_spec_validator import OpenAPIV31SpecValidator

from ortet.ledger.models import Device, Lot, Movement, OrderLine, Sale, Sent, Weighing
from ortet.work import nursery as hands
from ortet.work import orders, phones
from ortet.work.brake import MOST
from ortet.work.programs import give_token

from .conftest import NOW

FARM = "192.168.1.50"


class Program:
    """A program with a token, on the farm's network."""

    def __init__(self, hand, *scopes: str, name: str = "scale") -> None:
        self.token = give_token(name, scopes, hand=hand, by=hands.grower(), now=now()).secret
        self.client = Client(REMOTE_ADDR=FARM, HTTP_AUTHORIZATION=f"Bearer {self.token}")

    def get(self, call: str, **asked):
        return self.client.get(f"/api/v1/{call}", asked, secure=True)

    def post(self, deed: str, **said):
        body = {"id": str(uuid4()), **said}
        return self.client.post(f"/api/v1/deeds/{deed}", body, content_type="application/json", secure=True)


@pytest.fixture
def program(book, ada) -> Program:
    return Program(ada, "read", "write", "orders", "buyers")


def refused(answer, status: int) -> dict:
    """Return the problem (RFC 9457, 3.1) that an answer is."""
    assert answer["Content-Type"] == "application/problem+json"
    said = answer.json()
    assert answer.status_code == said["status"] == status and said["title"] and said["type"] == "about:blank"
    return said


# Deeds


def test_a_deed_is_booked_as_the_hand_that_the_token_is_for(program, book, ada):
    answer = program.post("take", accession="M1", count=5, mark="A1", at="2027-02-12T06:00:00+01:00")
    assert answer.status_code == 200, answer.json()
    said = answer.json()
    assert (said["mark"], said["variety"], said["on_hand"]) == ("A1", "Dusk", 5)
    moved = Movement.objects.latest("number")
    assert (moved.by, moved.count, moved.at.isoformat()) == (ada, 5, "2027-02-12T05:00:00+00:00")


def test_what_is_sent_twice_is_booked_once_and_answered_alike(program, book):
    once = {"id": str(uuid4()), "bag": "K1", "gross_g": 311}
    first, second = (program.post("weigh", **once) for _ in range(2))
    assert first.json() == second.json() and Weighing.objects.count() == 2
    assert Weighing.objects.latest("at").pk == UUID(once["id"])
    other = refused(program.post("weigh", **once | {"gross_g": 300}), 409)
    assert "sent before, with something else" in other["detail"]
    assert Weighing.objects.count() == 2


def test_a_wish_cancelled_twice_under_one_id_is_cancelled_once(program, book, ada):
    orders.order(
        "Hedge", [orders.Line("Dusk", 3, *[date(2027, 2, 1)] * 2)], by=ada, at=datetime.fromisoformat(NOW)
    )
    said = {"id": str(uuid4()), "what": "1/1"}
    assert program.post("cancel", **said).json() == program.post("cancel", **said).json() == {"what": "1/1"}
    assert "no such line" in refused(program.post("cancel", what="1/1"), 409)["detail"]
    assert OrderLine.objects.get().ended_at is not None


def test_an_id_of_another_program_is_no_way_to_learn_what_it_sent(program, book, ada):
    said = {"id": str(uuid4()), "bag": "K1", "gross_g": 311}
    program.post("weigh", **said)
    refused(Program(ada, "write", name="other").post("weigh", **said), 409)


def test_what_was_refused_may_be_sent_again_under_its_id(program, book):
    said = {"id": str(uuid4()), "lot": "L3", "count": 20}
    refused(program.post("give-up", **said, from_place="K3"), 409)
    assert not Sent.objects.exists()
    assert program.post("give-up", **said | {"count": 2}, from_place="K3").status_code == 200


def test_orders_and_sales_carry_money_as_text(program, book):
    line = {
        "variety": "Dusk",
        "count": 4,
        "first_day": "2027-02-20",
        "last_day": "2027-03-01",
        "price": "2.50",
    }
    said = program.post("order", buyer="Hedge", lines=[line], country="DE", carriage="6.9").json()
    assert (said["carriage"], said["is_swap"], said["lines"][0]["tax_percent"]) == ("6.90", False, None)
    assert (said["number"], said["buyer"], said["lines"][0]["price"]) == (1, "Hedge", "2.50")
    assert program.get("orders").json()["rows"] == said["lines"]
    assert program.get("orders/1").json() == said
    assert program.post("sell", lot="L1", count=2, from_place="K1", order="1", price="3").status_code == 200
    assert str(Sale.objects.get().price) == "3.00"
    fine = program.post("order", buyer="Hedge", lines=[line | {"tax_percent": "8.875"}]).json()
    assert fine["lines"][0]["tax_percent"] == "8.875"
    for wrong in (2.5, "2.505", "-1", "1e3", "2,50", "NaN"):
        refused(program.post("sell", lot="L1", count=1, from_place="K1", buyer="Hedge", price=wrong), 422)


def test_where_buyers_live_needs_its_own_scope(program, book, ada):
    noted = {"name": "Hedge", "address": "Mill Lane 3", "email": "hedge@example.org", "is_trade": True}
    assert program.post("buyer", **noted).json() == {**noted, "country": ""}
    assert "no letter" in refused(program.post("buyer", name="Hedge", address="a\0b"), 409)["detail"]
    assert program.get("buyers").json()["rows"][0]["address"] == "Mill Lane 3"
    nosy = Program(ada, "read", "write", "orders", name="nosy")
    said = refused(nosy.get("buyers"), 403)
    refused(nosy.post("buyer", name="Hedge", address="elsewhere"), 403)
    assert said["missing"] == ["buyers"] and "Mill Lane" not in json.dumps(said)


# Who comes in


def test_a_token_does_what_its_scopes_say_and_no_more(book, ada):
    for scope in ("write", "orders", "buyers"):
        one = Program(ada, scope, name=scope)
        answer = one.get("lots")
        assert refused(answer, 403)["missing"] == ["read"]
        said = answer["WWW-Authenticate"]
        assert said == 'Bearer error="insufficient_scope", scope="read"'  # RFC 6750, 3.1
        answer = one.post("weigh", bag="K1", gross_g=311)
        assert answer.status_code == (200 if scope == "write" else 403)


def test_a_calendars_address_is_no_token_for_calls(book, ada):
    for call in ("lots", "buyers", "orders"):
        refused(Program(ada, "calendar", name=call).get(call), 403)


def test_nobody_comes_in_without_a_token_or_with_a_cookie(book, at_desk):
    for client in (Client(), at_desk, Client(HTTP_HOST="localhost")):
        answer = client.get("/api/v1/lots")
        refused(answer, 401)
        assert answer["WWW-Authenticate"].startswith("Bearer")
        refused(client.post("/api/v1/deeds/weigh", {}, content_type="application/json"), 401)


def test_a_phones_cookie_is_no_token_and_a_token_no_cookie(book, ada, nursery):
    from ortet.pages.access import PHONE

    made = phones.invite("ada", by=hands.grower(), now=now())
    _, secret = phones.pair(made.token, now=now())
    refused(Client(HTTP_AUTHORIZATION=f"Bearer {secret}").get("/api/v1/lots", secure=True), 401)
    phone = Client(REMOTE_ADDR=FARM)
    phone.cookies[PHONE] = Program(ada, "read").token
    assert phone.get(reverse("today"), secure=True).status_code == 403


def test_who_is_shut_out_is_out_at_once(program, book):
    assert program.get("lots").status_code == 200
    phones.shut_out("scale", by=hands.grower(), now=now())
    refused(program.get("lots"), 401)


def test_a_hand_that_may_no_longer_write_has_no_program_that_writes(program, book, ada):
    ada.user_permissions.clear()
    said = refused(program.post("weigh", bag="K1", gross_g=311), 403)
    assert said["missing"] == ["write"] and program.get("lots").status_code == 200
    ada.is_active = False
    ada.save()
    refused(program.get("lots"), 401)


def test_wrong_tokens_are_slowed_and_the_right_one_still_comes_in(program, book):
    wrong = Client(REMOTE_ADDR=FARM, HTTP_AUTHORIZATION="Bearer guessed")
    for _ in range(MOST):
        refused(wrong.get("/api/v1/lots"), 401)
    answer = wrong.get("/api/v1/lots")
    refused(answer, 429)
    assert 0 < int(answer["Retry-After"]) <= 900
    assert program.get("lots").status_code == 200
    assert (
        Client(REMOTE_ADDR=FARM)
        .post(reverse("sign-in"), {"username": "ada", "password": "black wood 27"})
        .status_code
        == 302
    )


@pytest.mark.parametrize(("after", "is_noted"), [(timedelta(seconds=30), False), (timedelta(hours=3), True)])
def test_when_a_program_was_last_seen_is_known_to_the_minute(after, is_noted, program, book, monkeypatch):
    before = Device.objects.get().last_seen
    monkeypatch.setattr("ortet.pages.api.token.now", lambda: before + after)
    program.get("lots")
    assert Device.objects.get().last_seen == (before + after if is_noted else before)


# How it says no


REFUSED = [
    ("weigh", {"bag": "K9", "gross_g": 311}, 404, "There is no bag called 'K9'"),
    ("weigh", {"bag": "K1", "gross_g": 3110}, 409, "Is a digit or the unit wrong?"),
    ("weigh", {"bag": "K1", "gross_g": 311, "at": "2027-03-01T09:00:00Z"}, 409, "still to come"),
    ("weigh", {"bag": "K1", "gross_g": 311, "at": "1849-03-01T09:00:00Z"}, 409, "long ago"),
    ("weigh", {"bag": "K1", "gross_g": 311, "at": "9999-12-31T23:59:59-12:00"}, 409, "still to come"),
    ("weigh", {"bag": "K1", "gross_g": 311, "at": "0001-01-01T00:00:00+12:00"}, 409, "long ago"),
    ("weigh", {"bag": "K1", "gross_g": 311, "at": "2027-02-12"}, 422, "with its offset"),
    ("weigh", {"bag": "K1", "gross_g": 311, "at": 1800000000}, 422, "with its offset"),
    ("weigh", {"bag": "K1", "gross_g": 311, "grams": 1}, 422, "body.grams"),
    ("weigh", {"bag": "K1", "gross_g": "311"}, 422, "body.gross_g"),
    ("weigh", {"bag": "K\0", "gross_g": 311}, 404, "no bag"),
    ("note", {"lot": "L1", "words": "a\0b"}, 409, "no letter"),
    ("give-up", {"lot": "L3", "count": 1, "from_place": "K3", "note": "a\0b"}, 409, "no letter"),
    ("cancel", {"what": "9" * 150}, 409, "write 3 for order 3"),
    ("cancel", {"what": "99"}, 404, "There is no order 99"),
    ("move", {"lot": "L1", "count": 10**30, "to_place": "Bench"}, 422, "body.count"),
    ("move", {"lot": "L1", "count": True, "to_place": "Bench"}, 422, "whole number"),
    ("move", {"lot": "L1", "count": 31, "from_place": "K1", "to_place": "Bench"}, 409, "30 left in K1"),
    ("correct", {"number": 99, "note": "wrong"}, 404, "There is no movement 99"),
    ("weigh", {"id": "no uuid", "bag": "K1", "gross_g": 311}, 422, "body.id"),
]


def test_every_no_says_why_and_books_nothing(program, book):
    before = Movement.objects.count(), Weighing.objects.count()
    for deed, said, status, words in REFUSED:
        assert words in refused(program.post(deed, **said), status)["detail"], (deed, said)
    assert (Movement.objects.count(), Weighing.objects.count()) == before and not Sent.objects.exists()


def test_what_is_no_json_object_is_refused(program, book):
    for body in (b"", b"{", b"[" * 5000, b"\xff", b'"x"', b"9" * 5000, b'{"id": NaN}'):
        answer = program.client.post(
            "/api/v1/deeds/weigh", body, content_type="application/json", secure=True
        )
        assert refused(answer, answer.status_code)["status"] in (400, 422)


def test_too_much_is_refused_before_it_is_read(program, book):
    answer = program.client.post(
        "/api/v1/deeds/note", b" " * 1_000_001, content_type="application/json", secure=True
    )
    refused(answer, 413)


def test_other_methods_and_other_paths_are_refused_as_problems(program, book):
    for call in ("lots", "deeds/weigh"):
        answer = program.client.delete(f"/api/v1/{call}", secure=True)
        refused(answer, 405)
        assert answer["Allow"] == ("GET" if call == "lots" else "POST")
    refused(Client(enforce_csrf_checks=True).post("/api/v1/openapi.json"), 405)
    for call in ("", "lot", "deeds/burn", "openapi", "lots/L9", "orders/99"):
        refused(program.get(call), 404)
    for call in ("orders/0", "orders/99999999999999999999"):
        refused(program.get(call), 422)


LISTS = ("lots", "places", "mothers", "varieties", "buyers", "orders", "evidence")


def test_a_list_is_searched_sorted_and_told_in_parts(program, book):
    for call in LISTS:
        whole = program.get(call).json()
        assert whole["total"] == len(whole["rows"])
        assert program.get(call, first=1, most=1).json()["rows"] == whole["rows"][1:2]
        assert program.get(call, search="a\0zz nowhere").json() == {"total": 0, "rows": []}
        refused(program.get(call, sort="colour"), 422)


def test_what_is_no_letter_is_asked_for_in_vain(program, book):
    for call in ("trace?code=a%00b", "scan?label=a%00b", "lots/a%00b", "labels?lot=%00", "orders/1%00"):
        answer = program.client.get(f"/api/v1/{call}", secure=True)
        assert answer.status_code in (200, 404, 422), answer.content


def test_labels_say_what_stands_on_them_and_where_they_lead(program, book):
    hands.describe(address="https://farm.example:8138")
    (row,) = program.get("labels", lot="L1").json()["rows"]
    code = Lot.objects.get(mark="L1").code
    assert (row["variety"], row["count"], row["note"]) == ("‘Dusk’", 40, "L1")
    assert row["address"] == f"https://farm.example:8138/l/{code}" and row["code"].replace("-", "") == code


def test_moments_are_told_with_the_nurserys_offset(program, book):
    assert program.get("today").json()["now"] == "2027-02-12T08:00:00+01:00" and NOW.startswith(
        "2027-02-12T07"
    )


def test_pages_and_light_commands_do_not_bring_the_api_along():
    code = (
        "import django, sys; django.setup(); import ortet.pages.urls, ortet.pages.views.today, ortet.pages.views.api, ortet.cli;"
        "print([name for name in ('ninja', 'pydantic', 'icalendar') if name in sys.modules])"
    )
    env = {**os.environ, "DJANGO_SETTINGS_MODULE": "ortet.settings"}
    done = subprocess.run([sys.executable, "-c", code], env=env, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_every_call_is_shown_on_a_page_of_our_own(book, ben_at_desk):
    page = ben_at_desk.get(reverse("calls")).content.decode()
    document = Client().get(reverse("openapi")).json()
    for path, calls in document["paths"].items():
        for method in calls:
            assert f"{method.upper()} {path}" in page
    assert document["openapi"].startswith("3.1") and "http" not in json.dumps(document["info"])
    assert Client(REMOTE_ADDR=FARM).get(reverse("calls")).url.startswith(reverse("sign-in"))
    assert ben_at_desk.post(reverse("calls")).status_code == 403


def test_the_document_is_one_by_openapis_own_schema(book):
    """OpenAPI 3.1: its published JSON Schema, references and identifiers, as openapi-spec-validator looks at them. [published]"""
    document = Client().get(reverse("openapi")).json()
    assert [str(error) for error in OpenAPIV31SpecValidator(document).iter_errors()] == []
    named = [call["operationId"] for calls in document["paths"].values() for call in calls.values()]
    assert len(named) == len(set(named)) > 30
    document["paths"]["/api/v1/lots"]["get"]["responses"]["200"].pop("description")
    assert list(OpenAPIV31SpecValidator(document).iter_errors())
