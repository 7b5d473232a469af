"""What goes out of the book by page: the archive, for the grower alone."""

import io
import zipfile

import pytest
from django.test import Client
from django.urls import reverse

from ortet.ledger.models import Movement
from ortet.work import nursery as hands


@pytest.fixture
def growers_desk(book) -> Client:
    """Return the grower's browser."""
    client = Client()
    client.force_login(hands.grower())
    return client


def test_the_grower_saves_the_whole_book(growers_desk):
    assert reverse("archive") in growers_desk.get(reverse("nursery")).content.decode()
    answer = growers_desk.get(reverse("archive"))
    assert answer["Content-Type"] == "application/zip"
    assert answer["Content-Disposition"] == 'attachment; filename="book-2027-02-12.zip"'
    with zipfile.ZipFile(io.BytesIO(b"".join(answer.streaming_content))) as pack:
        assert pack.testzip() is None
        assert pack.read("movement.csv").count(b"\r\n") == Movement.objects.count() + 1
    answer.close()


def test_nobody_else_gets_it_and_nothing_is_posted_to_it(growers_desk, at_desk, ben_at_desk):
    assert at_desk.get(reverse("archive")).status_code == 403
    assert ben_at_desk.get(reverse("archive")).status_code == 403
    assert reverse("archive") not in at_desk.get(reverse("nursery")).content.decode()
    stranger = Client(REMOTE_ADDR="192.0.2.1")
    assert stranger.get(reverse("archive"))["Location"].startswith(reverse("sign-in"))
    for method in ("post", "put", "delete"):
        assert getattr(growers_desk, method)(reverse("archive")).status_code == 405
