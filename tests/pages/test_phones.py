"""Phones: let in by a code once, known by a cookie, shut out at once; and what a phone may never do."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.contrib.sessions.models import Session
from django.db import connection
from django.test import Client
from django.urls import reverse

from ortet.ledger.models import Device, Movement, Pairing, SignInTry
from ortet.pages.access import PHONE
from ortet.wood import code as codes
from ortet.work import Refused, phones
from ortet.work import nursery as hands

START = datetime(2027, 2, 12, 7, 0, tzinfo=UTC)
SHED = "192.168.1.50"


@pytest.fixture
def clock(monkeypatch):
    """A clock that is set by hand, in minutes after eight in Prague."""
    minutes = [0.0]

    def now() -> datetime:
        return START + timedelta(minutes=minutes[0])

    for where in ("ortet.pages.views.pair", "ortet.pages.views.phones", "ortet.pages.access"):
        monkeypatch.setattr(f"{where}.now", now)

    def set_to(after: float) -> None:
        minutes[0] = after

    return set_to


@pytest.fixture
def grower(db) -> User:
    return hands.grower()


@pytest.fixture
def desk(grower, nursery) -> Client:
    """Return the browser at the desk, where the grower is signed in by nobody asking."""
    return Client(HTTP_HOST="localhost")


def shed() -> Client:
    """Return the browser of a phone on the farm's network, over https."""
    return Client(REMOTE_ADDR=SHED)


def get(phone: Client, name: str, *args):
    return phone.get(reverse(name, args=args), secure=True)


def post(phone: Client, name: str, data=None, *args):
    return phone.post(reverse(name, args=args), data or {}, secure=True)


def invited(grower: User, hand: str = "mina", **more) -> phones.Invitation:
    return phones.invite(hand, by=grower, now=START, **more)


def paired(grower: User, hand: str = "mina", **more) -> Client:
    """Return a phone that was paired by scanning."""
    phone = shed()
    answer = post(phone, "pair-by-scan", {}, invited(grower, hand, **more).token)
    assert answer.status_code == 302 and answer.url == reverse("shed")
    return phone


# The way in


def test_a_code_made_at_the_desk_lets_a_phone_in_as_its_helper(desk, clock):
    page = desk.post(reverse("phones"), {"do": "pair", "hand": "mina", "name": "", "may": "write"})
    made = page.context["made"]
    assert page.status_code == 200 and codes.show(made.code) in page.content.decode()
    phone = shed()
    asked = get(phone, "pair-by-scan", made.token)
    assert "books as <strong>mina</strong>" in asked.content.decode()
    assert get(phone, "pair-by-scan", made.token).status_code == 200  # looking uses nothing up
    assert post(phone, "pair-by-scan", {}, made.token).url == reverse("shed")
    seen = get(phone, "today")
    assert seen.status_code == 200 and seen.context["user"].username == "mina"
    assert "This phone books as mina." in seen.content.decode()
    assert Device.objects.get().name == "mina's phone"


def test_the_code_as_typed_lets_in_too(grower, nursery, clock):
    made = invited(grower)
    phone = shed()
    assert post(phone, "pair", {"code": codes.show(made.code).lower()}).status_code == 302
    assert get(phone, "today").context["user"].username == "mina"


def test_used_once_it_is_used_whichever_way(grower, nursery, clock):
    made = invited(grower)
    assert post(shed(), "pair-by-scan", {}, made.token).status_code == 302
    for answer in (
        post(shed(), "pair-by-scan", {}, made.token),
        get(shed(), "pair-by-scan", made.token),
        post(shed(), "pair", {"code": made.code}),
    ):
        assert answer.status_code in (410, 422) and PHONE not in answer.cookies
        assert "Nobody was let in." in answer.content.decode()
    assert Device.objects.count() == 1 and not Pairing.objects.exists()


def test_of_two_who_scan_at_once_one_is_let_in(grower, nursery, monkeypatch):
    made = invited(grower)
    both_saw = phones.invited(made.token, now=START)
    phones.pair(made.token, now=START)
    monkeypatch.setattr(phones, "invited", lambda *_, **__: both_saw)
    with pytest.raises(Refused, match="Nobody was let in"):
        phones.pair(made.token, now=START)
    assert Device.objects.count() == 1


@pytest.mark.parametrize(("minutes", "status"), [(9.99, 302), (10, 410), (600, 410)])
def test_after_ten_minutes_it_has_run_out(minutes, status, grower, nursery, clock):
    made = invited(grower)
    clock(minutes)
    assert post(shed(), "pair-by-scan", {}, made.token).status_code == status


def test_a_code_that_ran_out_is_not_kept(grower, clock):
    invited(grower)
    phones.invite("ada", by=grower, now=START + phones.LASTS)
    assert Pairing.objects.count() == 1


def test_a_slip_of_the_finger_is_caught_and_is_no_try(grower, nursery, clock):
    code = invited(grower).code
    wrong = code[:-1] + ("A" if code[-1] != "A" else "B")
    answer = post(shed(), "pair", {"code": wrong})
    assert answer.status_code == 422 and "one of its characters is wrong" in answer.content.decode()
    assert not SignInTry.objects.exists()


def test_after_ten_wrong_codes_even_the_right_one_waits(grower, nursery, clock):
    made = invited(grower)
    for number in range(10):
        assert post(shed(), "pair", {"code": codes.make(number)}).status_code == 422
    held = post(shed(), "pair", {"code": made.code})
    assert held.status_code == 429 and "wait until 08:16" in held.content.decode()
    assert held["Retry-After"] == str(15 * 60 + 1)
    other = Client(REMOTE_ADDR="192.168.1.51")
    assert post(other, "pair", {"code": made.code}).status_code == 302


def test_nothing_is_paired_without_tls(grower, nursery, clock):
    made = invited(grower)
    phone = Client(REMOTE_ADDR=SHED)
    for answer in (
        phone.post(reverse("pair-by-scan", args=[made.token])),
        phone.post(reverse("pair"), {"code": made.code}),
        phone.get(reverse("pair")),
    ):
        assert answer.status_code == 403 and "Nobody was let in." in answer.content.decode()
    assert Pairing.objects.exists() and not Device.objects.exists()


def test_the_book_holds_no_secret_only_its_hash(grower, nursery, clock):
    made = invited(grower)
    _, token = phones.pair(made.token, now=START)
    other = invited(grower, "ola")
    with connection.cursor() as cursor:
        for table in ("ledger_device", "ledger_pairing"):
            cursor.execute(f"SELECT * FROM {table}")
            kept = str(cursor.fetchall())
            for secret in (made.token, made.code, token, other.token, other.code):
                assert secret not in kept


def test_the_cookie_is_kept_from_scripts_other_sites_and_plain_http(grower, nursery, clock):
    answer = post(shed(), "pair-by-scan", {}, invited(grower).token)
    cookie = answer.cookies[PHONE]
    assert PHONE.startswith("__Host-") and cookie["path"] == "/" and not cookie["domain"]
    assert cookie["secure"] and cookie["httponly"] and cookie["samesite"] == "Lax"
    assert cookie["max-age"] == 400 * 24 * 3600


def test_cookies_over_tls_are_for_tls_and_the_desks_are_not(desk, grower):
    assert desk.get(reverse("nursery")).cookies["csrftoken"]["secure"] == ""
    assert get(shed(), "sign-in").cookies["csrftoken"]["secure"] is True


# Whose phone


def test_a_hand_of_the_book_gets_a_phone_and_keeps_what_it_may(ben, nursery, clock):
    phone = paired(hands.grower(), "BEN")
    assert get(phone, "lots").context["user"].username == "ben"
    assert post(phone, "add-place", {"name": "East"}).status_code == 403


def test_a_new_helper_may_be_let_read_only(grower, nursery, clock):
    phone = paired(grower, "ola", may_write=False)
    assert get(phone, "today").status_code == 200 and get(phone, "take").status_code == 200
    assert post(phone, "take").status_code == 403


def test_a_helper_writes_and_the_book_says_who(book, clock):
    phone = paired(hands.grower(), "mina")
    before = Movement.objects.count()
    asked = {"lot": "L3", "from_place": "K3", "count": "1", "id": str(uuid4())}
    asked |= {"opened": "2027-02-12T07:00:00+00:00", "at": "2027-02-12T08:00"}
    answer = post(phone, "give-up", asked)
    assert answer.status_code == 302, answer.content.decode()
    assert Movement.objects.count() == before + 1 and Movement.objects.latest("number").by.username == "mina"


def test_two_phones_of_one_hand_have_two_names(grower, nursery, clock):
    paired(grower), paired(grower), paired(grower, name="the  blue one")
    assert {str(device) for device in Device.objects.all()} == {
        "mina's phone", "mina's phone 2", "the blue one",
    }  # fmt: skip


@pytest.mark.parametrize("hand", ["", "   ", "x" * 61])
def test_a_phone_belongs_to_somebody(hand, grower, nursery):
    with pytest.raises(Refused):
        invited(grower, hand)
    assert not Pairing.objects.exists() and User.objects.count() == 1


def test_a_form_not_filled_in_makes_no_code(desk, clock):
    answer = desk.post(reverse("phones"), {"do": "pair", "hand": "", "may": "write"})
    assert answer.status_code == 422 and not Pairing.objects.exists()


def test_a_helper_without_a_password_does_not_lock_the_grower_out_at_the_desk(desk, ada, clock):
    User.objects.filter(username="ada").delete()
    paired(hands.grower(), "mina")
    assert desk.get(reverse("today")).status_code == 200
    hands.add_hand("eve", "third wood 27")
    assert desk.get(reverse("today")).status_code == 302


def test_https_from_this_machine_is_not_the_desk(grower, nursery):
    there = Client(REMOTE_ADDR="127.0.0.1", HTTP_HOST="127.0.0.1")
    assert there.get("/", secure=True).status_code == 302
    assert there.get("/").status_code == 200


# Shut out


def test_a_lost_phone_is_shut_out_by_one_press_in_the_middle_of_its_work(desk, grower, clock):
    lost, other = paired(grower), paired(grower, "ola")
    assert get(lost, "today").status_code == 200
    pressed = desk.post(reverse("phones"), {"do": "shut-out", "phone": "mina's phone"}, follow=True)
    assert "mina&#x27;s phone is shut out" in pressed.content.decode()
    answer = post(lost, "add-place", {"name": "East"})
    assert answer.status_code == 403 and "Nothing that it sent was booked" in answer.content.decode()
    assert answer.cookies[PHONE]["max-age"] == 0
    assert get(lost, "today").status_code == 302  # a stranger now
    assert get(other, "today").status_code == 200


def test_whoever_kept_its_cookie_is_still_shut_out(grower, nursery, clock):
    phone = paired(grower)
    kept = phone.cookies[PHONE].value
    phones.shut_out("MINA'S PHONE", by=grower, now=START)
    for name in ("today", "lots", "record", "nursery"):
        thief = shed()
        thief.cookies[PHONE] = kept
        assert get(thief, name).status_code == 403
        assert get(thief, name).status_code == 302  # the cookie was taken away


def test_a_session_on_a_phone_that_was_shut_out_ends_with_it(ben, nursery, clock):
    phone = paired(hands.grower(), "ben")
    phones.shut_out("ben's phone", by=hands.grower(), now=START)
    phone.force_login(ben)
    assert get(phone, "today").status_code == 403
    assert not Session.objects.exists() and get(phone, "today").status_code == 302


def test_pairing_ends_the_session_there_was_and_makes_none(ben, nursery, clock):
    phone = shed()
    phone.force_login(ben)
    assert post(phone, "pair-by-scan", {}, invited(hands.grower()).token).status_code == 302
    assert not Session.objects.exists()
    assert get(phone, "today").context["user"].username == "mina"
    assert post(phone, "sign-in", {"username": "ben", "password": "green wood 27"}).status_code == 302
    assert not Session.objects.exists() and get(phone, "today").context["user"].username == "mina"


def test_paired_anew_a_phone_is_not_the_old_one_too(grower, nursery, clock):
    phone = paired(grower)
    post(phone, "pair-by-scan", {}, invited(grower, "ola").token)
    assert get(phone, "today").context["user"].username == "ola"
    assert [str(device) for device in Device.objects.filter(shut_out_at=None)] == ["ola's phone"]


def test_a_hand_that_may_no_longer_come_in_does_not_by_phone(grower, nursery, clock):
    phone, late = paired(grower), invited(grower, "mina")
    User.objects.filter(username="mina").update(is_active=False)
    assert get(phone, "today").status_code == 403
    assert post(shed(), "pair-by-scan", {}, late.token).status_code == 410
    with pytest.raises(Refused, match="no longer"):
        invited(grower, "mina")


def test_a_phone_not_seen_for_400_days_is_paired_no_more(grower, nursery, clock):
    phone = paired(grower)
    clock(399 * 24 * 60)
    answer = get(phone, "today")
    assert answer.status_code == 200 and answer.cookies[PHONE]["max-age"] == 400 * 24 * 3600  # begun anew
    clock((399 + 400) * 24 * 60)
    assert get(phone, "today").status_code == 403


def test_it_is_noted_when_a_phone_was_last_seen(grower, nursery, clock):
    phone = paired(grower)
    clock(7)
    get(phone, "today")
    assert Device.objects.get().last_seen == START + timedelta(minutes=7)


def test_nobody_is_shut_out_by_a_name_that_no_phone_has(desk, grower, clock):
    paired(grower)
    answer = desk.post(reverse("phones"), {"do": "shut-out", "phone": "the red one"})
    assert answer.status_code == 422 and "Let in are: mina&#x27;s phone" in answer.content.decode()
    assert Device.objects.filter(shut_out_at=None).count() == 1


# What a phone may not, and who else


@pytest.mark.parametrize("do", ["set-own", "add-hand", "describe"])
def test_a_phone_changes_no_password_and_lets_nobody_in(do, grower, nursery, clock):
    phone = paired(grower, hands.GROWER)
    asked = {
        "do": do,
        "new": "thief wood 27",
        "hand": "eve",
        "password": "thief wood 27",
        "own": "thief wood 27",
    }
    assert post(phone, "nursery", asked | {"may": "write", "name": "Theirs"}).status_code == 403
    assert not hands.grower().has_usable_password() and User.objects.count() == 1


def test_a_phone_sees_no_codes_and_shuts_nobody_out(grower, nursery, clock):
    phone = paired(grower, hands.GROWER)
    assert get(phone, "phones").status_code == 403
    for asked in (
        {"do": "pair", "hand": "eve", "may": "write"},
        {"do": "shut-out", "phone": "grower's phone"},
    ):
        assert post(phone, "phones", asked).status_code == 403
    assert not Pairing.objects.exists() and get(phone, "today").status_code == 200


@pytest.mark.parametrize("name", ["ada", "ben"])
def test_only_the_grower_lets_phones_in(name, ben, nursery, clock):
    client = Client()
    client.force_login(User.objects.get(username=name))
    assert client.get(reverse("phones")).status_code == 403
    assert client.post(reverse("phones"), {"do": "pair", "hand": name, "may": "write"}).status_code == 403
    with pytest.raises(Refused, match="Only the grower"):
        invited(User.objects.get(username=name))
    with pytest.raises(Refused, match="Only the grower"):
        phones.shut_out("any", by=User.objects.get(username=name), now=START)
    assert not Pairing.objects.exists()


def test_a_stranger_is_led_to_sign_in_and_from_there_to_pair(grower, nursery):
    assert get(shed(), "phones").url.startswith(reverse("sign-in"))
    assert f'href="{reverse("pair")}"' in get(shed(), "sign-in").content.decode()


@pytest.mark.parametrize("method", ["put", "delete", "patch"])
def test_no_other_method_is_taken(method, desk):
    assert getattr(desk, method)(reverse("phones")).status_code == 405
    for path in (reverse("pair"), reverse("pair-by-scan", args=["x"])):
        assert getattr(shed(), method)(path, secure=True).status_code == 405
