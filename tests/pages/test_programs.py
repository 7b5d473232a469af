"""Programs and calendars by page: let in, shown once, shut out; and the calendar by its private address."""

import logging
import re

import pytest
import vobject
from django.test import Client
from django.urls import reverse
from django.utils.timezone import now

from ortet.ledger.models import Device
from ortet.pages.access import PHONE
from ortet.pages.logs import KeepKeys
from ortet.work import nursery as hands
from ortet.work import phones
from ortet.work.brake import MOST
from ortet.work.programs import give_token

FARM = "192.168.1.50"


def let_in(desk: Client, **said):
    return desk.post(reverse("programs"), {"do": "let-in", "name": "weighbridge", **said})


def address_of(page) -> str:
    return re.search(r"/calendar/[\w-]+\.ics", page.content.decode())[0]


@pytest.fixture
def calendar(book, ben_at_desk) -> str:
    """Return the private address of Ben's calendar."""
    page = ben_at_desk.post(reverse("programs"), {"do": "calendar", "calendar-name": "my phone"})
    assert page.status_code == 200
    return address_of(page)


def test_a_token_is_shown_once_and_kept_as_a_hash(book, ada, at_desk):
    page = let_in(at_desk, hand="ada", scope_write="on")
    made = page.context["made"]
    assert made.secret in page.content.decode() and made.device.scopes == "write"
    assert made.secret not in at_desk.get(reverse("programs")).content.decode()
    assert made.secret not in str(Device.objects.values())
    answer = Client(REMOTE_ADDR=FARM, HTTP_AUTHORIZATION=f"Bearer {made.secret}").post(
        "/api/v1/deeds/weigh",
        {"id": "019c4c55-6a00-7000-8000-000000000001", "bag": "K1", "gross_g": 311},
        content_type="application/json",
    )
    assert answer.status_code == 200 and answer.json()["by"] == "ada"


def test_who_may_only_read_lets_no_program_write(book, ben, ben_at_desk):
    assert "scope_write" not in ben_at_desk.get(reverse("programs")).content.decode()
    made = let_in(ben_at_desk, hand="ben", scope_read="on", scope_write="on").context["made"]
    assert made.device.scopes == "read"
    with pytest.raises(hands.Refused, match="not write in it"):
        give_token("x", ["read", "write"], hand=ben, by=hands.grower(), now=now())


def test_nobody_but_the_grower_gives_a_token_for_somebody_else(book, ada, ben, ben_at_desk):
    assert let_in(ben_at_desk, hand="ada", scope_read="on").status_code == 422
    assert not Device.objects.exists()
    desk = Client()
    desk.force_login(hands.grower())
    assert let_in(desk, hand="ada", scope_read="on").context["made"].device.user == ada


def test_what_says_too_little_is_asked_again(book, at_desk):
    for wrong in ({"name": ""}, {}, {"hand": "nobody", "scope_read": "on"}):
        page = let_in(at_desk, **{"hand": "ada", **wrong})
        assert page.status_code == 422 and not Device.objects.exists()


def test_each_sees_and_shuts_out_their_own_and_the_grower_all(book, at_desk, ben_at_desk):
    let_in(at_desk, hand="ada", scope_read="on")
    assert "weighbridge" not in ben_at_desk.get(reverse("programs")).content.decode().split("<h3>")[0]
    refused = ben_at_desk.post(reverse("programs"), {"do": "shut-out", "program": "weighbridge"})
    assert refused.status_code == 422 and Device.objects.get().shut_out_at is None
    assert at_desk.post(reverse("programs"), {"do": "shut-out", "program": "weighbridge"}).status_code == 302
    assert Device.objects.get().shut_out_at is not None
    desk = Client()
    desk.force_login(hands.grower())
    assert "weighbridge, ada" in desk.get(reverse("programs")).content.decode()


def test_strangers_and_paired_phones_let_nothing_in(book, ada):
    assert Client(REMOTE_ADDR=FARM).get(reverse("programs")).url.startswith(reverse("sign-in"))
    _, secret = phones.pair(phones.invite("ada", by=hands.grower(), now=now()).token, now=now())
    phone = Client(REMOTE_ADDR=FARM)
    phone.cookies[PHONE] = secret
    assert phone.get(reverse("programs"), secure=True).status_code == 403
    assert phone.post(reverse("programs"), {"do": "let-in"}, secure=True).status_code == 403


def test_no_other_method_is_taken(at_desk, nursery):
    for method in (at_desk.put, at_desk.delete):
        assert method(reverse("programs")).status_code == 405


# The calendar by its address


def test_the_calendar_comes_by_its_address_without_signing_in(calendar):
    for secure in (False, True):  # at the desk, and by the farm's door
        answer = Client(REMOTE_ADDR=FARM).get(calendar, secure=secure)
        assert answer.status_code == 200 and answer["Content-Type"] == "text/calendar; charset=utf-8"
        assert vobject.readOne(answer.content.decode()).contents["vevent"]
    assert "BEGIN:VTODO" in Client().get(f"{calendar}?todos").content.decode()
    assert Client().post(calendar).status_code == 405


def test_the_address_opens_nothing_else(calendar):
    secret = calendar.removeprefix("/calendar/").removesuffix(".ics")
    assert Client(HTTP_AUTHORIZATION=f"Bearer {secret}").get("/api/v1/lots").status_code == 403
    assert Client(REMOTE_ADDR=FARM).get(reverse("today")).status_code == 302


def test_another_address_finds_nothing_and_guessing_is_slowed(calendar, at_desk):
    stranger = Client(REMOTE_ADDR=FARM)
    token = let_in(at_desk, hand="ada", scope_read="on").context["made"].secret
    assert stranger.get(f"/calendar/{token}.ics").status_code == 404  # a token is no calendar's address
    for _ in range(MOST - 1):
        assert stranger.get("/calendar/guessed.ics").status_code == 404
    assert stranger.get("/calendar/guessed.ics").status_code == 429
    assert stranger.get(calendar).status_code == 200


def test_shut_out_it_is_gone_at_once(calendar, ben_at_desk):
    assert ben_at_desk.post(reverse("programs"), {"do": "shut-out", "program": "my phone"}).status_code == 302
    assert Client().get(calendar).status_code == 404


def test_no_log_holds_the_address(calendar, ben_at_desk, capsys, monkeypatch):
    ben_at_desk.post(reverse("programs"), {"do": "shut-out", "program": "my phone"})
    heard = logging.StreamHandler()
    heard.addFilter(KeepKeys())
    monkeypatch.setattr(heard, "stream", __import__("sys").stderr)
    logger = logging.getLogger("django.request")
    logger.addHandler(heard)
    try:
        Client().get(calendar)
    finally:
        logger.removeHandler(heard)
    said = capsys.readouterr().err
    secret = calendar.removeprefix("/calendar/").removesuffix(".ics")
    assert "Not Found: /calendar/…" in said and secret not in said


def test_the_books_own_log_leaves_keys_out():
    from django.conf import settings

    assert all(handler["filters"] == ["keep_keys"] for handler in settings.LOGGING["handlers"].values())
    for key in ("pair", "r", "calendar"):
        record = logging.LogRecord("x", 30, "", 1, "%s: %s", ("Gone", f"/{key}/abc-123"), None)
        assert KeepKeys().filter(record) and record.getMessage() == f"Gone: /{key}/…"
