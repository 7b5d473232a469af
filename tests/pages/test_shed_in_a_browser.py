"""The shed in real Chromium: a camera that sees a printed label, no signal, a phone that dies, two phones at one bag."""

import base64
import io
import os
import random
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from django.test import Client
from django.urls import reverse
from PIL import Image
from playwright.sync_api import BrowserContext, Error, Page, expect

from ortet.ledger.models import Note, Photo, Standing, Weighing
from ortet.wood import code as codes
from ortet.work import add_place
from ortet.work import nursery as hands
from ortet.work.labels import labels
from tests.machine.chromium import find
from tests.writing import a_photo

PHONE = {"width": 390, "height": 844}
THUMB = 48  # px
SIZE = (640, 480)  # of what the camera sees [px]
RECORDS = 50

Opened = Callable[..., Page]


@pytest.fixture(autouse=True)
def folder(settings, tmp_path):
    """Keep photos apart for each test."""
    settings.FOLDER = tmp_path


@contextmanager
def phone(
    chromium, where: Path, served, client: Client | None = None, *flags: str, **more
) -> Iterator[BrowserContext]:
    """Switch a phone on: a browser whose disk is kept in a folder, so that it may die and be switched on again."""
    as_root = ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
    context = chromium.browser_type.launch_persistent_context(
        where,
        executable_path=os.environ.get("ORTET_CHROMIUM") or find(),
        args=["--disable-gpu", "--disable-background-networking", "--no-first-run", *as_root, *flags],
        **{"viewport": PHONE, "base_url": served.url, **more},
    )
    if client:
        name = settings.SESSION_COOKIE_NAME
        url = more.get("base_url", served.url)
        lasts = (
            time.time() + settings.SESSION_COOKIE_AGE
        )  # as Django sends it: a phone switched off stays signed in
        cookie = {"name": name, "value": client.cookies[name].value, "url": url, "expires": lasts}
        context.add_cookies([cookie])
    try:
        yield context
    finally:
        with suppress(Error):  # it may have died
            context.close()


def in_the_shed(context: BrowserContext) -> Page:
    """Open the page and wait until it knows the book."""
    page = context.pages[0] if context.pages else context.new_page()
    page.goto("/shed")
    page.get_by_label("Code, mark or name").wait_for()
    return page


def look_up(page: Page, text: str) -> None:
    page.locator("#bar").get_by_role("link", name="Scan").click()
    page.get_by_label("Code, mark or name").fill(text)
    page.get_by_role("button", name="Look it up").click()


def serious(page: Page) -> list[str]:
    """Return what axe-core finds serious or critical."""
    found = Axe().run(page, options={"resultTypes": ["violations"]}).response["violations"]
    return [
        (one["id"], [node["html"][:100] for node in one["nodes"]])
        for one in found
        if one["impact"] in ("serious", "critical")
    ]


SMALL = """least => [...document.querySelectorAll('a, button, input:not([type=hidden], .unseen), select, textarea, label.big')]
    .map(e => [e.outerHTML.slice(0, 90), (/checkbox|radio/.test(e.type) ? e.closest('label') : e).getBoundingClientRect().height])
    .filter(([_, height]) => 0 < height && height < least - 0.01)"""


def fits(page: Page) -> None:
    """See that what is shown is wide enough for a phone, large enough for a thumb, and readable by axe-core's rules."""
    assert serious(page) == []
    assert page.evaluate(SMALL, THUMB) == []
    assert not page.evaluate("document.documentElement.scrollWidth > innerWidth")


def printed(lot: str) -> Image.Image:
    """Return a label as the printer gives it: the PDF's first one, at 203 dots per inch, the coarsest printers in use.

    Bag labels are 92 mm by 42 mm, two by six in the middle of a sheet of A4 (paper/labels.py).
    """
    import pypdfium2

    with pypdfium2.PdfDocument(labels([lot], kind="bag")) as document:
        page = document[0].render(scale=203 / 72).to_pil().convert("L")
    dots, left, top = 203 / 25.4, (210 - 2 * 92) / 2, (297 - 6 * 42) / 2
    return page.crop(tuple(round(mm * dots) for mm in (left, top, left + 92, top + 42)))


def seen(label: Image.Image | None, turned: float = 0.0) -> Image.Image:
    """Return what a camera sees: a grey bench, and a label held a little askew."""
    frame = Image.new("L", SIZE, 120)
    if label:
        held = label.resize((560, round(560 * label.height / label.width)))
        askew = held.rotate(turned, expand=True, fillcolor=120)
        frame.paste(askew, ((SIZE[0] - askew.width) // 2, (SIZE[1] - askew.height) // 2))
    return frame


def video(frames: list[Image.Image], path: Path) -> Path:
    """Write frames as Chromium's camera for tests plays them: YUV4MPEG2, 4:2:0."""
    grey = bytes([128]) * (SIZE[0] * SIZE[1] // 2)
    head = f"YUV4MPEG2 W{SIZE[0]} H{SIZE[1]} F10:1 Ip A1:1 C420jpeg\n".encode()
    path.write_bytes(head + b"".join(b"FRAME\n" + frame.tobytes() + grey for frame in frames))
    return path


@pytest.mark.once
def test_the_shed_speaks_dutch_without_a_signal_too(chromium, served, book, at_desk, tmp_path):
    with phone(chromium, tmp_path / "phone", served, at_desk, locale="nl-NL") as context:
        page = context.pages[0]
        page.goto("/shed")
        page.get_by_label("Code, merk of naam").wait_for()
        page.evaluate("navigator.serviceWorker.ready.then(() => caches.match('/shed'))")
        context.set_offline(True)
        page.reload()
        page.get_by_label("Code, merk of naam").fill("K1")
        page.get_by_role("button", name="Zoek op").click()
        page.get_by_role("link", name="Wegen", exact=True).click()
        expect(page.get_by_role("heading")).to_have_text("Weeg zak K1")
        fits(page)


@pytest.mark.once
def test_the_camera_reads_a_printed_label(chromium, served, book, at_desk, tmp_path):
    label = printed("L1")
    clip = video(
        [seen(None)] * 5 + [seen(label, turned) for turned in (4.0, 5.0, 6.0, 7.0)], tmp_path / "shed.y4m"
    )
    camera = (
        "--use-fake-ui-for-media-stream",
        "--use-fake-device-for-media-stream",
        f"--use-file-for-fake-video-capture={clip}",
    )
    with phone(chromium, tmp_path / "phone", served, at_desk, *camera) as context:
        page = in_the_shed(context)
        fits(page)
        page.get_by_role("button", name="Scan with the camera").click()
        expect(page.locator(".large")).to_have_text("‘Dusk’", timeout=20_000)
        assert codes.show(book.lot.code) in page.locator(".facts").inner_text()
        fits(page)
        assert page.evaluate("document.querySelector('video')") is None  # and the camera is let go
        page.emulate_media(color_scheme="dark")
        for act in ("Note", "Photo"):
            page.locator(".tally a").first.click() if act == "Note" else page.go_back()
            page.locator(".grid").get_by_role("link", name=act, exact=True).click()
            page.locator("form .act").first.wait_for()
            fits(page)


@pytest.mark.once
def test_a_code_is_checked_on_the_phone(chromium, served, book, at_desk, tmp_path):
    """The check in JavaScript against `wood.code`, which is held to python-stdnum's Damm in tests/wood."""
    draws = random.Random(11)
    right = [codes.make(draws.getrandbits(35)) for _ in range(40)]
    texts = [
        *right,
        *(codes.show(code).lower() for code in right),
        "OIL0-1234",
        "7K3Q-9M2",
        "7K3Q-9M2U",
        "ß" * 8,
    ]
    for code in right:
        place = draws.randrange(7)
        swapped = code[:place] + code[place + 1] + code[place] + code[place + 2 :]
        changed = code[:place] + draws.choice(codes.ALPHABET) + code[place + 1 :]
        texts += [swapped, changed]
    with phone(chromium, tmp_path / "phone", served, at_desk) as context:
        page = in_the_shed(context)
        read = page.evaluate(
            "async texts => { const {readCode} = await import('/static/ortet/shed/codes.js'); return texts.map(t => readCode(t).code || ''); }",
            texts,
        )
        assert read == [codes.read(text) if codes.is_code(text) else "" for text in texts]
        assert 0 < read.count("") < len(texts) - 80 + 1
        code = book.lot.code
        look_up(page, code[1] + code[0] + code[2:] if code[0] != code[1] else "Z" + code[1:])
        expect(page.get_by_role("alert")).to_contain_text("two changed places")
        look_up(page, code.lower())
        expect(page.locator(".large")).to_have_text("‘Dusk’")


def note(page: Page, place: str, words: str) -> None:
    """Note something as a thumb does, from the form on."""
    page.evaluate(f"location.hash = '#do/note/-/{place}'")
    page.get_by_label("In your words").fill(words)
    page.get_by_role("button", name="Save the note").click()
    page.locator("#spoken .done", has_text=f": {words}.").wait_for()


def test_fifty_records_without_a_signal_outlive_the_phone_and_are_booked_once(
    chromium, served, book, at_desk, tmp_path
):
    place = book.places["K1"].code
    with phone(chromium, tmp_path / "phone", served, at_desk) as context:
        page = in_the_shed(context)
        page.evaluate("navigator.serviceWorker.ready.then(() => caches.match('/shed'))")
        context.set_offline(True)
        for number in range(RECORDS):
            note(page, place, f"note {number}")
        expect(page.locator("#bar")).to_contain_text(f"{RECORDS} to send")
        with suppress(Error):
            context.new_cdp_session(page).send("Browser.crash")  # killed, with no time to say goodbye
    assert not Note.objects.exists()
    # Chromium writes cookies to its disk every half minute only: one that is minutes old would still be there
    with phone(chromium, tmp_path / "phone", served, at_desk) as context:
        context.set_offline(True)
        page = in_the_shed(context)  # opens cold, where there is no signal
        expect(page.locator("#bar")).to_contain_text(f"{RECORDS} to send")
        lost = []

        def lose(route):
            """Let the book have the records, and lose its answer on the way back."""
            lost.append(route.fetch().json()["answers"])
            route.abort()

        page.route("**/shed/records", lose, times=1)
        with page.expect_event("requestfailed", lambda asked: asked.url.endswith("/shed/records")):
            context.set_offline(False)
        expect(page.locator("#bar")).to_contain_text(f"{RECORDS} to send")
        page.locator("#bar a[href='#list']").click()
        page.get_by_role("button", name="Send now").click()
        expect(page.locator("#bar")).to_contain_text("All sent", timeout=20_000)
    assert lost and {one["became"] for one in lost[0]} == {"booked"}
    kept = list(Note.objects.order_by("at").values_list("note", flat=True))
    assert kept == [f"note {number}" for number in range(RECORDS)]


def test_of_two_phones_that_move_one_bag_the_second_is_told_and_nothing_is_lost(
    chromium, served, book, ada, at_desk, tmp_path
):
    add_place("East", "store")
    mina = Client()
    mina.force_login(hands.add_hand("mina", "red wood 27", may_write=True))
    with (
        phone(chromium, tmp_path / "ada", served, at_desk) as first,
        phone(chromium, tmp_path / "mina", served, mina) as second,
    ):
        # The book's clock stands still: the phone that opened it first is ahead of the other.
        pages = [in_the_shed(context) for context in (second, first)][::-1]
        for context, page, to in zip((first, second), pages, ("South", "East"), strict=True):
            context.set_offline(True)
            look_up(page, "K1")
            page.get_by_role("link", name="Move the bag").click()
            page.get_by_label(to).check()
            page.get_by_role("button", name="Move it").click()
            expect(page.locator("#spoken")).to_contain_text(f"bag K1 from North to {to}")
        page = pages[1]
        page.get_by_role("link", name="Weigh", exact=True).click()
        page.get_by_label("Weight").fill("311")
        page.get_by_role("button", name="Save the weight").click()
        expect(page.locator("#bar")).to_contain_text("2 to send")
        first.set_offline(False)
        expect(pages[0].locator("#bar")).to_contain_text("All sent", timeout=20_000)
        second.set_offline(False)
        expect(page.locator("#bar")).to_contain_text("1 to mend, 1 to send", timeout=20_000)
        page.locator("#bar a[href='#list']").click()
        expect(page.locator(".refusal")).to_contain_text("it stands in South, by ada")
        expect(page.locator(".saved").nth(1)).to_contain_text("Waits:")
        fits(page)
        assert Weighing.objects.filter(gross_g=311).count() == 0
        page.get_by_role("link", name="Mend", exact=True).click()
        fits(page)
        page.get_by_label("East").check()
        page.get_by_role("button", name="Save and send again").click()
        expect(page.locator("#bar")).to_contain_text("All sent", timeout=20_000)
    stood = list(
        Standing.objects.filter(bag=book.places["K1"])
        .order_by("since")
        .values_list("store__name", "by__username")
    )
    assert stood == [("North", "ada"), ("South", "ada"), ("East", "mina")]
    assert Weighing.objects.get(gross_g=311).by.username == "mina"


@pytest.mark.once
def test_over_plain_http_a_photo_is_scanned_and_a_photo_kept(
    chromium, served, book, at_desk, tmp_path, settings
):
    """W3C, Secure Contexts: a name that is not loopback, over plain http, gets no camera and no service worker. [published]"""
    settings.ALLOWED_HOSTS = [*settings.ALLOWED_HOSTS, "shed.test"]
    url = served.url.replace("localhost", "shed.test")
    to_here = "--host-resolver-rules=MAP shed.test 127.0.0.1"
    shot = io.BytesIO()
    seen(printed("L1"), 5.0).save(shot, "PNG")
    with phone(chromium, tmp_path / "phone", served, at_desk, to_here, base_url=url) as context:
        page = in_the_shed(context)
        assert (
            page.evaluate("[isSecureContext, 'serviceWorker' in navigator, 'randomUUID' in crypto]")
            == [False] * 3
        )
        assert page.get_by_role("button", name="Scan with the camera").count() == 0
        page.locator("#code-photo").set_input_files(
            {"name": "empty.jpg", "mimeType": "image/jpeg", "buffer": a_photo(400, 300)}
        )
        expect(page.get_by_role("alert")).to_contain_text("No code was found")
        page.locator("#code-photo").set_input_files(
            {"name": "label.png", "mimeType": "image/png", "buffer": shot.getvalue()}
        )
        expect(page.locator(".large")).to_have_text("‘Dusk’", timeout=20_000)
        page.locator(".tally a", has_text="in bag K1").click()
        page.get_by_role("link", name="Photo", exact=True).click()
        exif = Image.Exif()
        exif[0x010F] = "Hedge Cameras"
        page.locator("#field-picture").set_input_files(
            {"name": "wood.jpg", "mimeType": "image/jpeg", "buffer": a_photo(3000, 1500, exif.tobytes())}
        )
        page.locator("img.taken:not([hidden])").wait_for()
        page.get_by_label("What it shows").fill("mould on two")
        with page.expect_request("**/shed/records") as asked:
            page.get_by_role("button", name="Save the photo").click()
        came = base64.b64decode(asked.value.post_data_json["records"][0]["picture"])
        with Image.open(io.BytesIO(came)) as shrunk:
            assert (shrunk.format, shrunk.size) == ("JPEG", (1600, 800)) and not shrunk.getexif()
        assert b"Hedge" not in came
        expect(page.locator("#bar")).to_contain_text("All sent", timeout=20_000)
        page.goto(reverse("lot", args=[book.lot.code]))
        shown = page.get_by_role("img", name="mould on two")
        shown.scroll_into_view_if_needed()
        expect(shown).to_have_js_property("naturalWidth", 1600)
    assert Photo.objects.get().lot == book.lot


@pytest.mark.once
def test_whoever_may_only_read_is_told_so(chromium, served, book, ben_at_desk, tmp_path):
    with phone(chromium, tmp_path / "phone", served, ben_at_desk) as context:
        page = in_the_shed(context)
        expect(page.locator("main")).to_contain_text("ben may read this book, not write in it")
        look_up(page, "K1")
        expect(page.locator(".large")).to_have_text("‘Dusk’")
        expect(page.locator(".where")).to_contain_text("30 in bag K1, in North")
        assert page.locator(".grid").count() == 0
        page.goto(f"/shed#do/note/-/{book.places['K1'].code}")
        expect(page.get_by_role("heading", name="Scan a label")).to_be_visible()
        fits(page)
