"""The pick page in a real browser on a phone: from bag to bag by typing, with the script and without it, seen with axe."""

from datetime import date

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from django.urls import reverse

from ortet.ledger.models import Movement
from ortet.work import orders

THUMB = 48  # px


@pytest.fixture
def phone(chromium, served, book, at_desk, ada, nursery):
    """Return how to open a phone's browser, signed in as Ada, over a book with an order of two lines."""
    first, last = date(2027, 2, 8), date(2027, 2, 20)
    lines = [orders.Line("Dusk", 8, first, last), orders.Line("Lantern", 5, first, last)]
    orders.order("Hedge Farm", lines, by=ada, at=nursery.now())
    contexts = []

    def opened(**how):
        context = chromium.new_context(
            viewport={"width": 390, "height": 844}, base_url=served.url, has_touch=True, **how
        )
        cookie = at_desk.cookies[settings.SESSION_COOKIE_NAME].value
        context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": cookie, "url": served.url}])
        contexts.append(context)
        return context.new_page()

    yield opened
    for context in contexts:
        context.close()


def packs(page) -> None:
    """Walk from the first bag to the parcel."""
    page.goto(reverse("pick") + "?order=1")
    page.get_by_role("link", name="Begin at Bench").tap()
    page.get_by_label("Scan the label").fill("L3")
    page.get_by_role("button", name="Pack it").tap()
    assert "That is the label of lot" in page.get_by_role("alert").inner_text()
    for mark in ("L1", "L3"):
        page.get_by_label("Scan the label").fill(mark)
        page.get_by_role("button", name="Pack it").tap()
    page.get_by_role("heading", name="Parcel 1").wait_for()
    assert [row.count for row in Movement.objects.filter(why="packed")] == [8, 5]


@pytest.mark.once
def test_an_order_is_packed_without_a_script(phone):
    packs(phone(java_script_enabled=False))


@pytest.mark.once
def test_the_script_adds_a_scanner_and_nothing_is_in_a_thumbs_way(phone):
    page = phone()
    said = []
    page.on("console", lambda line: said.append(line.text))
    page.goto(reverse("pick") + "?order=1")
    page.get_by_role("link", name="Begin at Bench").tap()
    page.get_by_role("button", name="Scan", exact=True).wait_for()
    assert page.evaluate("document.documentElement.scrollWidth") == 390
    small = page.evaluate(
        "least => [...document.querySelectorAll('main button, main .quiet, main .act, main input:not([type=hidden])')]"
        ".map(e => e.getBoundingClientRect()).filter(box => box.height && box.height < least).length",
        THUMB,
    )
    assert small == 0
    found = Axe().run(page, options={"resultTypes": ["violations"]}).response["violations"]
    assert [one["id"] for one in found if one["impact"] in ("serious", "critical")] == []
    assert said == []
    packs(page)


@pytest.mark.once
def test_the_scanner_speaks_the_language_of_the_page(phone):
    page = phone(locale="nl-NL")
    page.goto(reverse("pick") + "?order=1")
    page.locator("main .act").first.tap()
    page.get_by_role("button", name="Scannen", exact=True).tap()
    page.get_by_text("De camera kan niet worden gebruikt").wait_for()  # this machine has none
