"""Who signs in, who is made to wait, and whose password it is to change."""

from datetime import UTC, datetime, timedelta

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse

from ortet.ledger.models import Nursery, SignInTry
from ortet.work import nursery as hands

START = datetime(2027, 2, 12, 7, 0, tzinfo=UTC)
RIGHT = {"ada": "black wood 27", "ben": "green wood 27"}


@pytest.fixture
def clock(monkeypatch):
    """A clock that is set by hand, in minutes after eight in Prague."""
    minutes = [0.0]
    monkeypatch.setattr("ortet.pages.views.hands.now", lambda: START + timedelta(minutes=minutes[0]))

    def set_to(after: float) -> None:
        minutes[0] = after

    return set_to


def sign_in(name: str, password: str, address: str = "192.0.2.7"):
    client = Client(REMOTE_ADDR=address)
    return client.post(reverse("sign-in"), {"username": name, "password": password})


def test_after_ten_wrong_passwords_even_the_right_one_waits(ben, nursery, clock):
    for minute in range(10):
        clock(minute)
        assert sign_in("ada", "a guess", f"192.0.2.{minute}").status_code == 422
    held = sign_in("ADA ", RIGHT["ada"], "198.51.100.4")
    assert held.status_code == 429 and held["Retry-After"] == str(6 * 60 + 1)
    assert "wait until 08:16. Nobody was signed in." in held.content.decode()
    assert sign_in("ben", RIGHT["ben"], "198.51.100.4").status_code == 302
    clock(15)
    assert sign_in("ada", RIGHT["ada"], "198.51.100.4").status_code == 302
    assert not SignInTry.objects.filter(name="ada").exists()


def test_one_machine_that_guesses_at_many_names_waits_and_no_other(ben, nursery, clock):
    for number in range(10):
        assert sign_in(f"guess{number}", "a guess").status_code == 422
    assert sign_in("ben", RIGHT["ben"]).status_code == 429
    assert sign_in("ben", RIGHT["ben"], "192.0.2.8").status_code == 302
    clock(15.1)
    assert sign_in("ben", RIGHT["ben"]).status_code == 302
    assert SignInTry.objects.count() == 0  # nothing older is kept


def test_an_ipv6_machine_cannot_shift_within_its_network(ben, nursery, clock):
    """RFC 4291 2.5.1: the last 64 bits are the interface's own choice."""
    for number in range(10):
        sign_in(f"guess{number}", "a guess", f"2001:db8::{number + 1}")
    assert sign_in("ben", RIGHT["ben"], "2001:db8::ffff").status_code == 429
    assert sign_in("ben", RIGHT["ben"], "2001:db8:0:1::1").status_code == 302


def test_a_proxy_on_this_machine_shuts_nobody_else_out(ben, nursery, clock):
    for number in range(12):
        assert sign_in(f"guess{number}", "a guess", "127.0.0.1").status_code == 422
    assert sign_in("ben", RIGHT["ben"], "127.0.0.1").status_code == 302


def test_nine_wrong_ones_and_the_right_one_begin_anew(ben, nursery, clock):
    for _ in range(3):
        for _ in range(9):
            assert sign_in("ben", "a guess").status_code == 422
        assert sign_in("ben", RIGHT["ben"]).status_code == 302


def test_a_new_password_set_at_the_machine_ends_the_wait(ben, nursery, clock):
    for _ in range(10):
        sign_in("ben", "a guess", "127.0.0.1")
    assert sign_in("ben", RIGHT["ben"], "127.0.0.1").status_code == 429
    hands.set_password("ben", "fresh wood 27")
    assert sign_in("ben", "fresh wood 27", "127.0.0.1").status_code == 302


@pytest.mark.parametrize("name", ["ada", "ben"])
def test_both_change_their_own_password_and_stay_signed_in(name, ada, ben, nursery):
    client = Client()
    client.force_login(User.objects.get(username=name))
    assert "Your own password" in client.get(reverse("nursery")).content.decode()
    answer = client.post(reverse("nursery"), {"do": "set-own", "new": "spring wood 28"})
    assert answer.status_code == 302
    assert client.get(reverse("nursery")).status_code == 200
    assert User.objects.get(username=name).check_password("spring wood 28")
    other = "ben" if name == "ada" else "ada"
    assert User.objects.get(username=other).check_password(RIGHT[other])


def test_too_short_a_password_is_refused_to_a_reader_too(ben_at_desk, nursery):
    answer = ben_at_desk.post(reverse("nursery"), {"do": "set-own", "new": "twig"})
    assert answer.status_code == 422 and "too short" in answer.content.decode()


@pytest.mark.parametrize("do", ["describe", "add-hand", "", "set-own "])
def test_a_reader_sends_nothing_else_from_there(do, ben_at_desk, nursery):
    asked = {"do": do, "name": "Ours", "new": "spring wood 28", "hand": "eve", "password": "spring wood 28"}
    assert ben_at_desk.post(reverse("nursery"), asked).status_code == 403
    assert ben_at_desk.post(reverse("load"), asked | {"do": "set-own"}).status_code == 403
    assert Nursery.get().name == "Hill Nursery" and not User.objects.filter(username="eve").exists()
