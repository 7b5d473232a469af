"""The season's plan as a PDF by address: whoever may read may print, and nothing is booked."""

from datetime import datetime

import pypdfium2
import pytest
from django.test import Client
from django.urls import reverse

from ortet.ledger.models import Plan
from ortet.work.orders import want
from ortet.work.plan.whole import plan_season

from .conftest import NOW

PATH = "/plan/sheet.pdf"


@pytest.fixture
def planned(book, ada):
    at = datetime.fromisoformat(NOW)
    want("Dusk", 8, by=ada, at=at)
    plan_season(by=ada, now=at)


def test_who_may_print(planned, at_desk, ben_at_desk):
    before = Plan.objects.count()
    for client in (at_desk, ben_at_desk):
        answer = client.get(PATH)
        assert answer.status_code == 200 and answer["Content-Type"] == "application/pdf"
        assert answer.content.startswith(b"%PDF") and "season-a4.pdf" in answer["Content-Disposition"]
    assert ben_at_desk.head(PATH).status_code == 200
    assert at_desk.post(PATH).status_code == 405 and at_desk.delete(PATH).status_code == 405
    assert Client(REMOTE_ADDR="192.0.2.1").get(PATH)["Location"].startswith(reverse("sign-in"))
    assert Plan.objects.count() == before


def test_the_wishes_stand_on_it_on_the_paper_asked_for(planned, at_desk):
    with pypdfium2.PdfDocument(at_desk.get(PATH, {"paper": "letter"}).content) as sheets:
        assert sheets[0].get_size() == pytest.approx((8.5 * 72, 11 * 72), abs=0.1)
        text = " ".join(one.get_textpage().get_text_bounded() for one in sheets)
    assert "target 1" in text and "Dusk" in text and "Hill Nursery" in text


def test_no_plan_and_no_such_paper_are_said_plainly(book, at_desk):
    answer = at_desk.get(PATH)
    assert answer.status_code == 422 and "ortet plan" in answer.content.decode()
    assert "say a4 or letter" in at_desk.get(PATH, {"paper": "a9"}).content.decode()
