"""What every test stands on: a folder of its own, a browser, and steady random input."""

import copy
import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import django
import hypothesis
import pytest
from django.utils import translation

if TYPE_CHECKING:
    from django.contrib.auth.models import User
    from playwright.sync_api import Browser
    from pytest_django import DjangoDbBlocker

    from tests.writing import Book

# Named here and not in pytest.ini: the folder must be there before Django reads its settings, so that no test can
# reach the grower's own book.
_FOLDER = os.environ["ORTET_FOLDER"] = tempfile.mkdtemp(prefix="ortet-tests-")
os.environ["DJANGO_SETTINGS_MODULE"] = "ortet.settings"
django.setup()
# Not handed on to processes that share the tests: they would read the settings, and this folder, before their own is made.
del os.environ["DJANGO_SETTINGS_MODULE"]
# A password is hashed slowly on purpose; Ada and Ben, who are made anew for each test, need not be.
django.conf.settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]

# The same examples in every run, and no time limit on a single one: the machine may be busy.
hypothesis.settings.register_profile("steady", derandomize=True, deadline=None)
hypothesis.settings.load_profile("steady")


def pytest_unconfigure() -> None:
    """Take the folder away again."""
    shutil.rmtree(_FOLDER, ignore_errors=True)


@pytest.fixture(autouse=True)
def nothing_remembered() -> None:
    """Forget what Today was in the last test, whose book was rolled back and whose count of rows may come again, and its language."""
    translation.deactivate()
    assert Path(_FOLDER) == django.conf.settings.FOLDER
    Path(_FOLDER, "today.json").unlink(missing_ok=True)


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None, django_db_blocker: "DjangoDbBlocker") -> Iterator[None]:
    """Drop the tests' database even where a browser's last request still holds it open."""
    from django.db import connection

    yield
    if connection.vendor == "postgresql":
        with django_db_blocker.unblock(), connection.cursor() as cursor:
            cursor.execute(
                "SELECT pg_terminate_backend(pid) FROM pg_stat_activity "
                "WHERE datname = current_database() AND pid <> pg_backend_pid()"
            )


@pytest.fixture(scope="session")
def chromium() -> "Iterator[Browser]":
    """Chromium, started once for all browser tests of a process."""
    from playwright.sync_api import sync_playwright

    path = os.environ.get("ORTET_CHROMIUM")
    if not path:
        from tests.machine.chromium import find

        path = find()
    if not path:
        pytest.fail(
            "No Chromium: name one in ORTET_CHROMIUM, or run `python3 start.py test`, which finds or installs one."
        )
    quiet = [
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-gpu",
        "--disable-quic",
    ]
    quiet += ["--disable-sync", "--no-first-run"]
    # Chromium's sandbox cannot be had by root.
    as_root = ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
    # Playwright keeps an event loop in this thread, and Django would take every query for one made inside it.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=quiet + as_root)
        yield browser
        browser.close()


def _ada() -> "User":
    from django.contrib.auth.models import Permission, User

    user = User.objects.create_user("ada", password="three-dry-sticks")
    user.user_permissions.add(Permission.objects.get(codename="add_movement"))
    return user


@pytest.fixture
def ada(request: pytest.FixtureRequest, db: None) -> "User":
    """Ada may write."""
    from django.contrib.auth.models import User

    return User.objects.get(username="ada") if "full_book_kept" in request.fixturenames else _ada()


@pytest.fixture
def ben(db: None) -> "User":
    """Ben may read."""
    from django.contrib.auth.models import User

    return User.objects.create_user("ben", password="three-wet-sticks")


@pytest.fixture(scope="module")
def full_book_kept(django_db_setup: None, django_db_blocker: "DjangoDbBlocker") -> "Iterator[Book]":
    """The full book, written once for a module that asks for it with `usefixtures`: its tests all find it in the database."""
    from tests.keeping import kept
    from tests.writing import FULL, write

    with kept(django_db_blocker):
        yield write(FULL, _ada())


@pytest.fixture
def full_book(request: pytest.FixtureRequest, ada: "User") -> "Book":
    """A small book in which every deed was done once."""
    from tests.writing import FULL, write

    if "full_book_kept" in request.fixturenames:
        return copy.deepcopy(request.getfixturevalue("full_book_kept"))
    return write(FULL, ada)
