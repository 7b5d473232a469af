"""The pages in a real browser, over the demo season as `ortet demo` serves it: on a phone, at a desk, by day, by night."""

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from urllib.parse import urljoin

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

PHONE, DESK = {"width": 390, "height": 844}, {"width": 1280, "height": 900}
FIRST_LOAD = 150_000  # bytes
THUMB = 48  # px
PAGES = (
    "/",
    "/lots",
    "/places",
    "/mothers",
    "/wanted",
    "/wanted/ourselves",
    "/plan",
    "/plan/benches",
    "/record",
    "/batches?all=1",
    "/do/strike",
    "/do/graft",
    "/do/count",
    "/do/pot",
    "/do/sell",
    "/do/buyer",
    "/trials",
    "/trials/hints",
    "/do/design-trial",
    "/do/strike-trial",
    "/mix",
    "/race",
    "/race?kind=grape&base_c=24&air_c=18",
    "/sample?lot=26-005&share=20",
    "/mixup?a-lot=25-001&a-wrong=3&a-of=10",
    "/scan?place=Tunnel&first=25-001&second=A1",
    "/nameless?place=Tunnel&count=15",
    "/lots/ZZZZ",
    "/phones",
)


@pytest.fixture(scope="module")
def address(tmp_path_factory) -> Iterator[str]:
    """Serve the demo season from a folder of its own; return the address that the command prints."""
    here = {**os.environ, "ORTET_DEMO_FOLDER": str(tmp_path_factory.mktemp("demo"))}
    command = [sys.executable, "-m", "ortet", "demo", "--port", "0"]
    with subprocess.Popen(command, env=here, stdout=subprocess.PIPE, text=True) as server:
        lines = iter(server.stdout.readline, "")
        found = next(filter(None, (re.search(r"http://[\d.]+:\d+/", line) for line in lines)), None)
        if found:
            yield found[0]
        server.terminate()
    assert found, "`ortet demo` served nothing"


@pytest.fixture
def page(chromium: Browser) -> Iterator[Page]:
    """Open a phone."""
    with chromium.new_context(viewport=PHONE) as context:
        yield context.new_page()


def led_to(page: Page, address: str) -> list[str]:
    """Return the addresses of all kinds of pages, the deeper ones as the lists lead to them."""
    found = [urljoin(address, path) for path in PAGES]
    for path, link in (
        ("/lots", "td a.wrap"),
        ("/places?kind=bag", "td a"),
        ("/places?kind=store", "td a"),
        ("/places?kind=site", "td a"),
        ("/mothers", "td a"),
        ("/places?kind=bench", "td a"),
        ("/places?kind=ground", "td a"),
        ("/batches?all=1", "td a"),
        ("/wanted", "td a"),
    ):
        page.goto(urljoin(address, path))
        found.append(urljoin(address, page.locator(link).first.get_attribute("href")))
    return found


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("viewport", [PHONE, DESK], ids=["phone", "desk"])
def test_axe_finds_nothing_serious_on_any_page(chromium, address, viewport, scheme):
    """axe-core's rules of WCAG 2; its two upper grades are serious and critical."""
    # Night changes nothing but colours, so only colours are tried again.
    rules = {"runOnly": ["color-contrast"]} if scheme == "dark" else {}
    with chromium.new_context(viewport=viewport, color_scheme=scheme) as context:
        page = context.new_page()
        wrong = []
        for to in led_to(page, address):
            page.goto(to)
            page.evaluate("document.querySelectorAll('details').forEach(fold => fold.open = true)")
            for violation in (
                Axe().run(page, options={"resultTypes": ["violations"], **rules}).response["violations"]
            ):
                if violation["impact"] in ("serious", "critical"):
                    nodes = [node["html"][:120] for node in violation["nodes"][:3]]
                    wrong.append((to, violation["id"], nodes))
        assert wrong == []


def test_no_page_is_wider_than_a_phone(page, address):
    wide = []
    for to in led_to(page, address):
        page.goto(to)
        if page.evaluate("document.documentElement.scrollWidth > window.innerWidth"):
            wide.append(to)
    assert wide == []


SMALL = """([pressed, least]) => [...document.querySelectorAll(pressed)]
    .map(e => [e.outerHTML.slice(0, 90), (/checkbox|radio/.test(e.type) ? e.closest('label') : e).getBoundingClientRect().height])
    .filter(([_, height]) => 0 < height && height < least - 0.01)"""


def test_what_a_thumb_presses_is_large_enough(page, address):
    small = []
    pressed = (
        ".act, .quiet, a.wrap, .shoot-nav a, .foot a, summary, input:not([type=hidden]), select, td a, th a"
    )
    for to in led_to(page, address):
        page.goto(to)
        small += page.evaluate(SMALL, [pressed, THUMB])
    assert small == []


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


def test_on_paper_only_what_is_read_remains(page, address):
    page.goto(address)
    page.emulate_media(media="print")
    assert not page.locator(".shoot-nav").is_visible()
    assert not page.locator(".act").first.is_visible()
    assert page.locator(".shoot h2").first.is_visible()
