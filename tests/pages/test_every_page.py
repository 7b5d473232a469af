"""Every page in a real browser, on a phone and at a desk, by day and by night, on paper, by keyboard: in the demo season and in an empty book.

The pages are those of `urls.py`: a new one joins by itself, and one that names a thing is found by the links that lead to it.
"""

import re
from collections.abc import Iterator
from functools import cache
from urllib.parse import urljoin
from urllib.request import urlopen

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import Resolver404, resolve
from playwright.sync_api import BrowserContext, Page

from ortet.pages.lacking import _NEEDS
from ortet.pages.urls import urlpatterns
from tests.serving import a_demo, serving

pytestmark = pytest.mark.once

PHONE, DESK = {"width": 390, "height": 844}, {"width": 1280, "height": 900}
FIRST_LOAD = 150_000  # bytes
THUMB = 48  # px
# Not looked at as pages: files, what only takes a form, and what leads on to a page at once.
FILES = re.compile(r"\.(csv|pdf|json|jpg|js|zip|ics|xlsx|txt)$")
NO_PAGES = {
    "today-done",
    "language",
    "sign-out",
    "sign-in",
    "shed-records",
    "plan-look",
    "pair",
    "pair-by-scan",
    "report",
    "report-link",
    "api",
}
LEADS_ON = {"from-label", "from-trial-label", "from-plot-label", "from-pick-list"}
# Forms that another page fills and that say nothing by themselves in an empty book; and pages filled in a telling way.
FILLED = (
    "/lots/ZZZZ",
    "/batches?all=1",
    "/race?kind=grape&base_c=24&air_c=18",
    "/sample?lot=26-005&share=20",
    "/mixup?a-lot=25-001&a-wrong=3&a-of=10",
    "/scan?place=Tunnel&first=25-001&second=A1",
    "/nameless?place=Tunnel&count=15",
    "/mix?agent=bleach&mix=1&form=liquid&stock=6+%25+by+mass&target=0.5+%25&volume=10+L&minutes=10",
    "/cut?cut=1&length=1200&base=11&nodes=30&variety=Larkfield+Amber&grades=common",
    "/match?scions=8.2+7.6+5&stocks=7.5+8+12",
    "/trace?code=25-001",
    "/trace/recall?code=25-001",
    "/docs?q=mould",
    "/docs/science/bag",
    "/docs/how/begin",
    "/do/bag?lot=26-005",
    "/do/weigh?bag=A1",
    "/do/inspect?place=A1",
    "/do/note?place=A1",
    "/do/treat?place=A1",
    "/do/move?lot=26-005",
    "/do/stand?bag=A1",
    "/do/split?lot=26-005",
    "/do/give-up?lot=26-005",
    "/do/correct?movement=4",
    "/do/cancel?what=1",
    "/do/set-up-bench?bench=Tunnel",
    "/labels?lot=26-005",
)
# Pages of the demo from which the way leads on, where the first of their kind leads nowhere.
ONWARD = (
    "/books?year=2026",
    "/books/receipts/1",
    "/do/pack?line=150/2&lot=26-002&from=A1",
    "/outgoing/1",
    "/parcels/1",
    "/trace?code=25-001",
    "/trace/recall?code=25-001",
)
# Led to by no link on a page of the demo: asked for by a script, a form, a label or somebody without a name here,
UNLINKED = {"calendar", "parcel-discard", "parcel-drop", "parcel-photo", "shed-book", "shed-worker"}
# or only once there is what they are about: a plan, a complaint, a photo, an expense, a trial or a batch that stands.
ONCE_THERE_IS = {
    "plan-benches", "plan-cuts", "plan-picks", "plan-slots", "give", "set-batch", "let-choose",
    "replace", "photo", "reverse-expense", "strike-trial", "batch-label", "parcel-finish",
}  # fmt: skip
# What a thumb presses in a form. A check box counts with its label.
PRESSED = (
    ".act, .quiet, a.wrap, .shoot-nav a, .foot a, td a, th a, main button, main summary, main label:has(input), "
    "main select, main textarea, input:not([type=hidden])"
)
CAPTURE = "/shed"  # the one page that may be large and need a script; it has tests of its own
PARTS = 6  # the pages are dealt out, so that processes share them
KINDS = ("bag", "store", "site", "bench", "ground")  # a place looks different by what it is


@pytest.fixture(scope="module")
def demo(tmp_path_factory) -> Iterator[str]:
    """Return the address of the demo season."""
    with serving("demo", ORTET_DEMO_FOLDER=str(a_demo(tmp_path_factory))) as address:
        yield address


@pytest.fixture(scope="module")
def empty(tmp_path_factory) -> Iterator[str]:
    """Return the address of a book that nobody wrote in."""
    with serving("serve", ORTET_FOLDER=str(tmp_path_factory.mktemp("empty"))) as address:
        yield address


def plain() -> list[str]:
    """Return the addresses that name nothing."""
    routes = [str(one.pattern) for one in urlpatterns if one.name and one.name not in NO_PAGES]
    return [f"/{route}" for route in routes if "<" not in route and not FILES.search(route)]


def naming() -> set[str]:
    """Return the names of pages that show one thing."""
    return {
        one.name
        for one in urlpatterns
        if one.name and "<" in str(one.pattern) and not FILES.search(str(one.pattern))
    } - (NO_PAGES | LEADS_ON)


@cache
def crawled(address: str) -> dict[str, dict[str, str]]:
    """Return pages by their addresses, and what each links to, by name: those that name nothing, and one of each that names a thing."""
    links: dict[str, dict[str, str]] = {}
    kinds = [f"/places?kind={kind}" for kind in KINDS]
    todo = [*plain(), *kinds, "/batches?all=1", *ONWARD]
    known = set[str]()
    for path in todo:
        if path.startswith(CAPTURE):
            continue
        with urlopen(urljoin(address, path)) as answer:
            is_page = answer.headers.get_content_type() == "text/html"
            found = re.findall(r'href="(/[^"#?]*)', answer.read().decode()) if is_page else []
        links[path] = here = {}
        for link in found:
            try:
                name = resolve(link).url_name
            except Resolver404:
                continue
            here.setdefault(name, link)
        new = {name: link for name, link in here.items() if name in naming() and not FILES.search(link)}
        todo += [link for name, link in new.items() if name not in known]
        if path in kinds and "place" in here:
            todo.append(here["place"])  # a place looks different by what it is
        known |= new.keys()
    return links


def all_of(address: str) -> tuple[str, ...]:
    """Return the addresses of every kind of page."""
    return (*plain(), *(path for path in crawled(address) if path not in plain() and "?" not in path))


def reached(address: str) -> set[str]:
    """Return the names of what can be come to from the first page, by links alone."""
    by_name: dict[str, set[str]] = {}
    for path, here in crawled(address).items():
        by_name.setdefault(resolve(path.partition("?")[0]).url_name, set()).update(here)
    there, todo = set[str](), ["today"]
    while todo:
        name = todo.pop()
        if name not in there:
            there.add(name)
            todo += by_name.get(name, ())
    return there


# What is looked for on each page, in one go: [what is wrong, where]
WRONG = """([width, least, pressed]) => {
  const seen = e => { const box = e.getBoundingClientRect(); return box.height > 0 && box.width > 0 }
  const all = what => [...document.querySelectorAll(what)].filter(seen)
  const html = e => e.outerHTML.slice(0, 100)
  const wrong = []
  if (document.documentElement.scrollWidth > width) wrong.push(['wider than the screen', document.documentElement.scrollWidth])
  if (width < 500) for (const e of all(pressed)) {
    const box = (e.matches('input') && e.closest('label') || e).getBoundingClientRect()
    if (box.height < least - 0.01) wrong.push(['too small for a thumb', html(e)])
  }
  for (const e of document.querySelectorAll('button')) if (!e.form) wrong.push(['a button that needs a script', html(e)])
  for (const e of document.querySelectorAll('figure.chart, figure.traced')) if (!e.querySelector('table') && !e.parentElement.querySelector('.way')) wrong.push(['a chart without its numbers', html(e)])
  for (const e of document.querySelectorAll('[tabindex]')) if (e.tabIndex > 0) wrong.push(['an order of its own for the keyboard', html(e)])
  for (const e of all('a[href], button, input:not([type=hidden]), select, textarea, summary, main [tabindex="0"]')) {
    e.focus({focusVisible: true, preventScroll: true})
    const looks = getComputedStyle(e)
    if (document.activeElement === e && looks.outlineStyle === 'none' && !e.closest('svg')) wrong.push(['focus is not seen', html(e)])
  }
  document.activeElement.blur()
  if (!document.title || all('h1').length !== 1) wrong.push(['not one first heading', all('h1').length])
  return wrong
}"""
# How many bytes a page is without its pictures, and all that it asked for (W3C, Resource Timing)
LOADED = """() => {
  const all = ['navigation', 'resource'].flatMap(kind => performance.getEntriesByType(kind))
  const heavy = all.filter(one => !['img', 'image'].includes(one.initiatorType))
  return [heavy.reduce((sum, one) => sum + one.decodedBodySize, 0), all.map(one => one.name)]
}"""
ON_PAPER = """() => {
  const wrong = []
  for (const e of document.querySelectorAll('.shoot-nav, .skip, .seek, .foot ul, .turn, .act, main button'))
    if (e.checkVisibility()) wrong.push(['printed though nobody can press it', e.outerHTML.slice(0, 100)])
  if (getComputedStyle(document.body).backgroundColor !== 'rgb(255, 255, 255)') wrong.push(['a ground that costs ink', ''])
  return wrong
}"""


AXE = Axe().axe_script  # told to the page once, as it takes longer to read than to run
SERIOUS = """rules => axe.run({resultTypes: ['violations'], ...(rules.length ? {runOnly: rules} : {})}).then(found => found.violations
    .filter(one => one.impact === 'serious' || one.impact === 'critical')
    .map(one => [one.id, one.nodes.slice(0, 3).map(node => node.html.slice(0, 120))]))"""
# What may differ at a desk, where the same words lie elsewhere.
OF_LAYOUT = ("color-contrast", "scrollable-region-focusable", "target-size")


def axe(page: Page, *only: str) -> list[tuple[str, list[str]]]:
    """Return what axe-core finds against WCAG 2 in its two upper grades, serious and critical."""
    return page.evaluate(SERIOUS, list(only))


def looked_at(page: Page, said: list[str], address: str, path: str, *, whole: bool) -> list[object]:
    """Return what is wrong with a page on a phone, by night, on paper and at a desk; unless whole, on a phone alone, without axe."""
    wrong: list[object] = []
    page.set_viewport_size(PHONE)
    page.emulate_media(media="screen", color_scheme="light", reduced_motion="reduce")
    said.clear()
    answer = page.goto(urljoin(address, path))
    if path == "/lots/ZZZZ":
        said.clear()  # a browser says that it was not found, as it should be
    elif answer.status != 200:
        return [("answered", answer.status)]
    loaded, asked = page.evaluate(LOADED)
    if loaded > FIRST_LOAD:
        wrong.append(("first load", loaded))
    if abroad := [one for one in asked if not one.startswith(address)]:
        wrong.append(("from elsewhere", abroad))
    page.evaluate("document.querySelectorAll('details').forEach(fold => fold.open = true)")
    wrong += page.evaluate(WRONG, [PHONE["width"], THUMB, PRESSED])
    if whole:
        wrong += by_axe_and_on_paper(page)
    return wrong + [("said on the console", one) for one in said]


def by_axe_and_on_paper(page: Page) -> list[object]:
    """Return what is wrong with a page that is open: by axe-core on a phone, and at a desk by night; and in print."""
    page.evaluate(AXE)
    wrong: list[object] = [*axe(page)]
    page.emulate_media(media="print", color_scheme="dark")
    wrong += page.evaluate(ON_PAPER)
    page.set_viewport_size(DESK)
    page.emulate_media(media="screen")
    wrong += page.evaluate(WRONG, [DESK["width"], THUMB, PRESSED])
    wrong += axe(page, *OF_LAYOUT)  # night changes nothing but colours, a desk nothing but where things lie
    return wrong


def swept(context: BrowserContext, address: str, paths: list[str], *, whole: bool) -> dict[str, list[object]]:
    """Return what is wrong, by page; all are opened in one tab, as a tab takes longer to open than a page."""
    said: list[str] = []
    page = context.new_page()
    page.on("console", lambda one: said.append(one.text))
    looks = ((path, looked_at(page, said, address, path, whole=whole)) for path in paths if path != CAPTURE)
    return {path: wrong for path, wrong in looks if wrong}


@pytest.mark.parametrize("part", range(PARTS))
def test_every_page_of_the_demo_serves_everyone(chromium, demo, part):
    """WCAG 2 by axe-core; targets of 48 px: design.md section 8 (WCAG 2.2, 2.5.5 asks for 44)."""
    with chromium.new_context() as context:
        assert swept(context, demo, [*all_of(demo), *FILLED][part::PARTS], whole=True) == {}


@pytest.mark.parametrize("part", range(PARTS // 2))
def test_every_page_of_an_empty_book_serves_everyone(chromium, empty, part):
    """On a phone and in Dutch, whose words are longer: how it looks by night and at a desk, and to axe-core, the full pages tell."""
    with chromium.new_context(locale="nl-NL") as context:
        assert swept(context, empty, plain()[part :: PARTS // 2], whole=False) == {}


def test_all_is_come_to_by_links_from_the_first_page(demo):
    every = {one.name for one in urlpatterns if one.name}
    assert every - reached(demo) == NO_PAGES | LEADS_ON | UNLINKED | ONCE_THERE_IS


@pytest.mark.parametrize(
    "path", ["/do/take", "/do/bag", "/do/weigh", "/do/count", "/do/strike", "/do/cancel", "/labels"]
)
def test_every_form_of_an_empty_book_says_what_comes_first(empty, path):
    with urlopen(urljoin(empty, path)) as answer:
        page = answer.read().decode()
    assert any(lack.says in page for _, lack in _NEEDS.values())
