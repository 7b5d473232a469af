"""The plan in a real browser: it fits and is reachable on a phone, and a bar that is dragged is looked at at once."""

import pytest
from django.conf import settings
from django.urls import reverse

from ortet.ledger.models import Slot

from .test_every_page import PHONE, swept
from .test_plan import planned, wished  # noqa: F401, fixtures


@pytest.fixture
def opened(chromium, served, planned, at_desk):  # noqa: F811
    """Return a way to open a page of the planned season as Ada, and what the page complained of."""
    contexts, complaints = [], []

    def at(path, width=1280, height=900, **more):
        context = chromium.new_context(
            viewport={"width": width, "height": height}, base_url=served.url, **more
        )
        contexts.append(context)
        cookie = at_desk.cookies[settings.SESSION_COOKIE_NAME].value
        context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": cookie, "url": served.url}])
        page = context.new_page()
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on("console", lambda said: complaints.append(said.text) if is_complaint(said) else None)
        page.goto(path)
        return page

    def is_complaint(said):
        return said.type == "error" and "ERR_INTERNET_DISCONNECTED" not in said.text  # as a test asked for

    yield at
    for context in contexts:
        context.close()
    assert complaints == []


@pytest.mark.once
@pytest.mark.parametrize("path", ["/plan", "/plan/benches"])
def test_a_planned_season_serves_everyone(opened, served, path):
    page = opened(path, **PHONE)
    assert swept(page.context, served.url + "/", [path], whole=True) == {}


def test_a_bar_dragged_to_another_week_shows_what_comes_of_it_and_is_kept(opened):
    slot = Slot.objects.get()
    page = opened("/plan/benches")
    assert "as planned" in page.locator("#looked").inner_text()
    bar = page.locator("a.bar").first
    box, week = bar.bounding_box(), float(page.locator("#benches").get_attribute("data-week"))
    x, y = box["x"] + 20, box["y"] + 20
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + week, y, steps=4)
    page.mouse.move(x + 2 * week, y, steps=4)
    keep = page.get_by_role("button", name="Keep this, plan the rest")
    keep.wait_for()
    page.mouse.up()
    assert page.url.endswith("/plan/benches"), "a drag is no press on a link"
    asked = page.locator("select[name=start]").input_value()
    assert (slot.start.fromisoformat(asked) - slot.start).days == 14
    keep.click()
    page.get_by_role("status").filter(has_text="Your choice is kept").wait_for()
    moved = Slot.objects.latest("pk")
    assert moved.by_hand and (moved.start - slot.start).days == 14


def test_a_choice_in_the_form_is_looked_at_without_a_press(opened):
    page = opened("/plan/benches", 390)
    page.get_by_label("Bench and heat").select_option(label="Shelf at 18.0\N{NO-BREAK SPACE}°C")
    page.get_by_label("Week", exact=True).fill("6")
    page.get_by_text("As planned").first.wait_for()
    page.locator("#looked").get_by_text("18.0").wait_for()


def test_without_a_script_the_season_is_planned_and_a_batch_looked_at(opened):
    page = opened("/plan", 390, java_script_enabled=False)
    page.get_by_role("button", name="Plan the season anew").click()
    assert page.get_by_role("status").inner_text().startswith("The season is planned.")
    page.goto(reverse("plan-benches"))
    page.get_by_label("Set in the week of").select_option(index=6)
    page.get_by_role("button", name="Look").click()
    assert "As planned" in page.locator("#looked").inner_text()


def test_without_a_signal_the_script_says_so_in_the_language_of_the_page(opened):
    page = opened("/plan/benches", locale="nl-NL")
    page.locator("input.weeks").wait_for()
    page.context.set_offline(True)
    page.locator("select[name=start]").select_option(index=6)
    page.get_by_text("De server heeft niet geantwoord.").wait_for()
