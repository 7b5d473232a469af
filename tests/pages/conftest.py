"""Two hands and a book: Ada may write, Ben may read."""

import copy
import threading
from contextlib import contextmanager

import pytest
from django.contrib.auth.models import User
from django.core.signals import request_finished, request_started
from django.db import connection
from django.test import Client

from ortet.ledger import guard
from ortet.ledger.models import Nursery
from ortet.work import nursery as hands
from tests.keeping import kept
from tests.writing import Book, write

SEASON = """
    2027-01-04 08:00  mother M1 Dusk blackcurrant
    2027-01-04 08:00  mother M2 Lantern gooseberry
    2027-01-04 08:00  place store North
    2027-01-04 08:00  place store South
    2027-01-04 08:00  place bench Shelf
    2027-01-05 09:00  take M1 40 as L1
    2027-01-05 11:00  bag L1 30 into K1 at North
    2027-01-06 09:00  take M2 20 as L3
    2027-01-06 10:00  bag L3 12 into K3 at North
    2027-01-20 09:00  weigh K1 320
"""
NOW = "2027-02-12T07:00:00+00:00"  # 08:00 in Prague


@pytest.fixture(autouse=True)
def quick_passwords(settings):
    """Hash passwords quickly: how well they are hashed is Django's to test."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


def _ada() -> User:
    hands.set_password(hands.GROWER, "bud swell 27")
    return hands.add_hand("ada", "black wood 27", may_write=True)


def _nursery() -> Nursery:
    here = Nursery.objects.create(id=1, name="Hill Nursery", zone="Europe/Prague", fixed_now=NOW)
    here.refresh_from_db()
    return here


@pytest.fixture(scope="module")
def season_kept(django_db_setup, django_db_blocker):
    """The small season, written once for a module that asks for it with `usefixtures`: its tests all find it there."""
    with kept(django_db_blocker):
        ada = _ada()
        _nursery()
        yield write(SEASON, ada)


@pytest.fixture
def ada(request, db) -> User:
    """Return a hand that may write."""
    return User.objects.get(username="ada") if "season_kept" in request.fixturenames else _ada()


@pytest.fixture
def ben(ada) -> User:
    """Return a hand that may only read."""
    return hands.add_hand("ben", "green wood 27", may_write=False)


@pytest.fixture
def nursery(request, db) -> Nursery:
    """Return a nursery whose clock stands still on a February morning in Prague."""
    return Nursery.get() if "season_kept" in request.fixturenames else _nursery()


@pytest.fixture
def book(request, ada, nursery) -> Book:
    """Return a small season."""
    if "season_kept" in request.fixturenames:
        return copy.deepcopy(request.getfixturevalue("season_kept"))
    return write(SEASON, ada)


@pytest.fixture
def at_desk(ada) -> Client:
    """Return Ada's browser."""
    client = Client()
    client.force_login(ada)
    return client


@pytest.fixture
def ben_at_desk(ben) -> Client:
    """Return Ben's browser."""
    client = Client()
    client.force_login(ben)
    return client


@contextmanager
def answered_in_full():
    """Wait at the end until every question was answered, those that the browser no longer waits for included."""
    under_way, change = set(), threading.Condition()

    def begun(**_):
        with change:
            under_way.add(threading.get_ident())

    def ended(**_):
        with change:
            under_way.discard(threading.get_ident())
            change.notify_all()

    request_started.connect(begun, weak=False)
    request_finished.connect(ended, weak=False)
    try:
        yield
        with change:
            change.wait_for(lambda: not under_way, timeout=30)
    finally:
        request_started.disconnect(begun)
        request_finished.disconnect(ended)


@pytest.fixture
def served(transactional_db, live_server):
    """Return the pages served over a book that is emptied afterwards, which its guard would not allow."""
    with answered_in_full():
        yield live_server
    guard.remove(connection)
