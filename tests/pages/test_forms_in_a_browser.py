"""Forms in a real browser on a phone's screen, without JavaScript: from a lot's page to the book, and back by the link."""

import pytest
from django.conf import settings
from django.urls import reverse

from ortet.ledger.models import Movement, Weighing

# Everything a form shows must fit the screen of a small phone, and hit by a gloved thumb. [px]
WIDTH, THUMB = 390, 48
TARGETS = """() => [...document.querySelectorAll('main button, main summary, main label:has(input), main input, main select, main textarea')]
    .filter(e => e.type !== 'hidden' && !(e.matches('input') && e.closest('label')))
    .map(e => [e.outerHTML.slice(0, 90), e.getBoundingClientRect()])
    .filter(([_, box]) => box.height > 0).map(([what, box]) => [what, box.height])"""
FORMS = {
    "take": {"mother": "M1"},
    "bag": {"lot": "L1"},
    "weigh": {"bag": "K1"},
    "inspect": {"place": "K1"},
    "note": {"place": "K1"},
    "treat": {"place": "K1"},
    "move": {"lot": "L1"},
    "stand": {"bag": "K1"},
    "split": {"lot": "L1"},
    "give-up": {"lot": "L1"},
    "correct": {"movement": "4"},
    "withdraw": {},
    "add-mother": {},
    "add-place": {},
    "order": {},
    "want": {},
    "cancel": {"what": "1"},
    "limit": {"mother": "M1"},
    "set-up-bench": {"bench": "Shelf"},
    "plan": {},
    "plan-benches": {},
    "plan-season": {},
    "give": {"wish": "1/1"},
    "set-batch": {"lot": "L1"},
    "let-choose": {},
    "labels": {"lot": "L1"},
    "load": {},
    "nursery": {},
    "check": {},
}


@pytest.fixture
def phone(chromium, served, book, at_desk):
    """Return a phone's browser with JavaScript switched off, signed in as Ada, and the book behind it."""
    context = chromium.new_context(
        viewport={"width": WIDTH, "height": 844},
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


@pytest.mark.parametrize("name", FORMS)
def test_every_form_fits_a_phone_and_a_thumb(name, served, book, at_desk, chromium):
    """48 px: design.md section 8; WCAG 2.2, 2.5.5 asks for 44."""
    from urllib.parse import urlencode

    import axe_playwright_python.sync_playwright as axe

    context = chromium.new_context(viewport={"width": WIDTH, "height": 844})
    cookie = at_desk.cookies[settings.SESSION_COOKIE_NAME].value
    context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": cookie, "url": served.url}])
    page = context.new_page()
    page.goto(f"{served.url}{reverse(name)}?{urlencode(FORMS[name])}")
    for fold in page.locator("summary").all():
        fold.click()
    assert page.evaluate("document.documentElement.scrollWidth") <= WIDTH
    assert [what for what, height in page.evaluate(TARGETS) if height < THUMB - 0.5] == []
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
        found = axe.Axe().run(page, options={"runOnly": ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa"]})
        assert found.response["violations"] == [], found.generate_report()
    context.close()
