"""Forms in a real browser on a phone's screen, without JavaScript: from a lot's page to the book, and back by the link."""

import pytest
from django.conf import settings
from django.urls import reverse

from ortet.ledger.models import Movement, Weighing


@pytest.fixture
def phone(chromium, served, book, at_desk):
    """Return a phone's browser with JavaScript switched off, signed in as Ada, and the book behind it."""
    context = chromium.new_context(
        viewport={"width": 390, "height": 844},
        java_script_enabled=False,
        base_url=served.url,
        has_touch=True,
    )
    cookie = at_desk.cookies[settings.SESSION_COOKIE_NAME].value
    context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": cookie, "url": served.url}])
    yield context.new_page()
    context.close()


def test_a_bag_is_weighed_and_the_mistake_withdrawn(phone):
    phone.goto(reverse("weigh") + "?bag=K1")
    phone.get_by_label("Weight, bag and all (g)").fill("399.5")
    phone.get_by_role("button", name="Record", exact=True).tap()
    assert phone.get_by_role("status").inner_text().startswith("Bag K1 weighs 399.5 g.")
    phone.get_by_role("link", name="Mistaken? Withdraw it").tap()
    phone.get_by_label("What was wrong").fill("misread the scale")
    phone.get_by_role("button", name="Withdraw it").tap()
    assert "It no longer counts" in phone.get_by_role("status").inner_text()
    assert Weighing.objects.count() == 2


def test_what_is_refused_stays_on_the_screen(phone):
    phone.goto(reverse("move") + "?lot=L1")
    phone.get_by_label("10 on Bench").check()
    phone.get_by_label("Cuttings").fill("11")
    phone.get_by_label("To", exact=True).fill("K1")
    before = Movement.objects.count()
    phone.get_by_role("button", name="Move", exact=True).tap()
    assert "10 left in Bench" in phone.get_by_role("alert").inner_text()
    assert phone.get_by_label("Cuttings").input_value() == "11"
    assert phone.get_by_label("10 on Bench").is_checked()
    assert Movement.objects.count() == before


def test_what_is_folded_away_never_blocks_a_form(phone):
    """A browser refuses to send a form with an empty required field that it cannot show."""
    phone.goto(reverse("weigh") + "?bag=K1")
    phone.locator("summary").tap()
    phone.get_by_label("When").fill("")
    phone.locator("summary").tap()
    phone.get_by_label("Weight, bag and all (g)").fill("311")
    phone.get_by_role("button", name="Record", exact=True).tap()
    phone.get_by_text(
        "This field is required."
    ).wait_for()  # visible: the group with what is missing stands open
    assert phone.get_by_label("When").is_visible()
