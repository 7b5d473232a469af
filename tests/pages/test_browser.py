"""The pages in a real browser, over the demo season as `ortet demo` serves it, on a phone. How each looks: test_every_page."""

from collections.abc import Iterator
from urllib.parse import urljoin

import pytest
from playwright.sync_api import Browser, Page

from tests.serving import a_demo, serving

pytestmark = pytest.mark.once

PHONE = {"width": 390, "height": 844}
FIRST_LOAD = 150_000  # bytes


@pytest.fixture(scope="module")
def address(tmp_path_factory) -> Iterator[str]:
    """Serve the demo season from a folder of its own."""
    with serving("demo", ORTET_DEMO_FOLDER=str(a_demo(tmp_path_factory))) as found:
        yield found


@pytest.fixture
def page(chromium: Browser) -> Iterator[Page]:
    """Open a phone."""
    with chromium.new_context(viewport=PHONE) as context:
        yield context.new_page()


def test_the_first_load_is_small_and_comes_from_here_only(page, address):
    answers = []
    said = []
    page.on("response", lambda answer: answers.append(answer))
    page.on("console", lambda message: said.append(message.text))
    page.goto(address)
    page.wait_for_load_state("networkidle")
    assert [answer.url for answer in answers if not answer.url.startswith(address)] == []
    assert [answer.url for answer in answers if answer.status != 200] == []
    assert sum(len(answer.body()) for answer in answers) < FIRST_LOAD
    assert said == []


def test_the_keyboard_alone_reaches_the_page_and_shows_where_it_is(page, address):
    page.goto(address)
    page.keyboard.press("Tab")
    focused = page.locator(":focus")
    assert focused.inner_text() == "To the page"
    assert focused.bounding_box()["y"] >= 0
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"
    page.keyboard.press("Tab")
    assert page.locator(":focus").evaluate("e => getComputedStyle(e).outlineStyle") == "solid"


def test_without_javascript_a_task_is_recorded_by_one_press(chromium, address):
    with chromium.new_context(viewport=PHONE, java_script_enabled=False) as context:
        page = context.new_page()
        page.goto(address)
        assert page.locator(".still").inner_text().startswith("This demo season stands still at 12 Feb 2027")
        button = page.locator(".shoot form button").first
        act = button.inner_text()
        button.click()
        assert page.locator(".said").inner_text() == act.replace(":", ", recorded:") + "."
        assert act not in page.locator(".shoot").inner_text()


def test_a_chart_unfolds_its_numbers(page, address):
    page.goto(urljoin(address, "/lots"))
    page.locator("td a.wrap").first.click()
    page.wait_for_url("**/lots/*")  # loaded: what is counted below is not waited for
    chart = page.locator("figure.chart").first
    chart.get_by_role("img").wait_for()
    assert chart.get_by_role("img").count() == 1
    assert not chart.get_by_role("table").is_visible()
    chart.locator("summary").click()
    assert chart.get_by_role("table").is_visible()
    assert chart.get_by_role("row").count() > 5
