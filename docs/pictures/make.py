"""Take the pictures in docs: every page of the demo season, on a phone in daylight and on a desk at night.

    .venv/bin/python docs/pictures/make.py

Needs what `start.py test` sets up. Writes the PNG files beside this one, and docs/pages.md, which shows them.
"""

import io
import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Iterable
from pathlib import Path
from urllib.request import urlopen

from PIL import Image
from playwright.sync_api import Browser, sync_playwright

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent.parent))

# name of the picture: (title, address in the demo; words in capitals stand for one that is there, see _there)
PAGES = {
    "today": ("Today", "/"),
    "lots": ("Lots", "/lots"),
    "lot": ("A lot", "/lots/LOT"),
    "places": ("Places", "/places"),
    "bag": ("A bag", "/places/BAG"),
    "store": ("A cold place", "/places/STORE"),
    "mothers": ("Mother plants", "/mothers"),
    "mother": ("A mother plant", "/mothers/MOTHER"),
    "site": ("A growing site", "/places/SITE"),
    "ground": ("A standing ground", "/places/GROUND"),
    "wanted": ("What buyers ordered", "/wanted"),
    "wanted-ourselves": ("What we want ourselves", "/wanted/ourselves"),
    "order-of": ("An order", "/orders/6"),
    "buyers": ("Buyers", "/buyers"),
    "buyer-of": ("A buyer, and what is held of them", "/buyers/15"),
    "pick": ("Pick, from bag to bag", "/pick"),
    "pack": ("Pack, the label scanned", "/do/pack?line=150/2&lot=26-002&from=A1"),
    "outgoing": ("Outgoing parcels", "/outgoing"),
    "outgoing-parcel": ("A parcel that lies packed", "/outgoing/38"),
    "outgoing-sent": ("A parcel that was sent", "/outgoing/1"),
    "report": ("What a buyer sees through the link on the slip", "/r/REPORT"),
    "books": ("Books: sales and tax", "/books?year=2026"),
    "books-costs": ("What one plant costs", "/books/costs?year=2026"),
    "books-owed": ("What is owed", "/books/owed?year=2026"),
    "books-stock": ("Stock at cost", "/books/stock?year=2026"),
    "books-expenses": ("Expenses", "/books/expenses?year=2026"),
    "books-journal": ("The journal", "/books/journal?year=2026"),
    "receipt-of": ("A receipt", "/books/receipts/1"),
    "parcels": ("Parcels received", "/parcels"),
    "parcel": ("A parcel that lies open", "/parcels/2"),
    "parcel-step": ("A parcel, step by step", "/parcels/2/1/scratch"),
    "parcel-line": ("A line of its slip", "/parcels/2/line"),
    "parcel-whole": ("The parcel as a whole", "/parcels/2/whole"),
    "parcel-finished": ("A parcel that is put away", "/parcels/1"),
    "batches": ("Batches", "/batches?all=1"),
    "batch": ("A batch", "/batches/BATCH"),
    "evidence": ("Evidence: what the counts say", "/evidence"),
    "evidence-of": ("What the counts say of a variety", "/evidence/Amber Bodkin"),
    "trials": ("Trials", "/trials"),
    "trial": ("A trial", "/trials/1"),
    "trial-plot": ("A plot, as its label opens it", "/trials/1/plots/1"),
    "trial-hints": ("What ordinary batches suggest", "/trials/hints"),
    "plan": ("The season's plan", "/plan"),
    "plan-benches": ("The benches, week by week", "/plan/benches"),
    "bench": ("A bench", "/places/BENCH"),
    "record": ("Record: the way to every deed", "/record"),
    "take": ("Take", "/do/take"),
    "do-bag": ("Bag", "/do/bag"),
    "weigh": ("Weigh", "/do/weigh?bag=BAG"),
    "inspect": ("Inspect", "/do/inspect?place=BAG"),
    "treat": ("Treat", "/do/treat?place=BAG"),
    "move": ("Move", "/do/move?lot=LOT"),
    "stand": ("Stand a bag elsewhere", "/do/stand?bag=BAG"),
    "split": ("Split", "/do/split?lot=LOT"),
    "give-up": ("Give up", "/do/give-up?lot=LOT"),
    "correct": ("Correct", "/do/correct?movement=MOVEMENT"),
    "withdraw": ("Withdraw a reading", "/do/withdraw?reading=READING"),
    "receive": ("Receive a parcel", "/do/receive"),
    "strike": ("Strike", "/do/strike?lot=LOT"),
    "graft": ("Graft", "/do/graft?scion=LOT"),
    "count": ("Count", "/do/count?place=Tunnel"),
    "pot": ("Pot on", "/do/pot"),
    "sell": ("Sell", "/do/sell?lot=LOT"),
    "design-trial": ("Design a trial", "/do/design-trial"),
    "strike-trial": ("Strike a trial", "/do/strike-trial"),
    "add-mother": ("Add a mother plant", "/do/add-mother"),
    "passport": ("Note passport data", "/do/passport?accession=MOTHER"),
    "variety": ("Name and right of a variety", "/do/variety?name=Amber Bodkin"),
    "warrant": ("A licence or exemption", "/do/warrant?variety=Amber Bodkin"),
    "add-place": ("Add a place", "/do/add-place"),
    "order": ("Note an order", "/do/order"),
    "want": ("Note what you want yourself", "/do/want"),
    "cancel": ("Cancel", "/do/cancel?what=6"),
    "buyer": ("Who a buyer is", "/do/buyer?name=Alder Nook garden"),
    "erase-buyer": ("Take a buyer out of the book", "/do/erase-buyer?buyer=Alder Nook garden"),
    "found-only": ("Found fewer", "/do/found-only?line=150/2&lot=26-002&from=A1"),
    "send": ("Send", "/do/send?parcel=38"),
    "arrived": ("How it arrived", "/do/arrived?parcel=1"),
    "complain": ("Note a complaint", "/do/complain?line=15/1&parcel=1"),
    "told": ("What the buyer told", "/do/told?sale=SALE"),
    "pay": ("Note a payment", "/do/pay?order=6"),
    "charge": ("Charge for posting", "/do/charge?order=6"),
    "give-receipt": ("Give a receipt", "/do/receipt?order=100"),
    "receipt-of-sales": ("Give a receipt without an order", "/do/receipt-of-sales?sales=327"),
    "cancel-receipt": ("Cancel a receipt", "/do/cancel-receipt?number=1"),
    "spend": ("Note an expense", "/do/spend"),
    "set-minutes": ("Say how long a deed takes", "/do/set-minutes"),
    "limit": ("Say what a mother plant may give", "/do/limit?mother=MOTHER"),
    "plan-season": ("Plan the season", "/do/plan"),
    "give": ("Give a wish other wood", "/do/give?wish=2/4&count=2"),
    "set-batch": ("Choose a batch's bench by hand", "/do/set-batch?lot=LOT"),
    "set-up-bench": ("Say what a bench can do", "/do/set-up-bench?bench=BENCH"),
    "mix": (
        "Mix a dip",
        "/mix?agent=bleach&mix=1&form=liquid&stock=6+%25+by+mass&target=0.5+%25&volume=10+L&minutes=10",
    ),
    "cut": (
        "Cut shoots",
        "/cut?cut=1&length=1200&base=11&nodes=30&variety=Larkfield+Amber&grades=common",
    ),
    "match": ("Match scions and stocks", "/match?scions=8.2+7.6+5&stocks=7.5+8+12"),
    "race": ("Roots or leaves first", "/race?lot=LOT&air_c=16"),
    "trace": ("Trace wood back and forward", "/trace?code=Q-01"),
    "recall": ("Recall it", "/trace/recall?code=Q-01"),
    "sample": ("Look at a sample", "/sample?lot=LOT&share=10"),
    "mixup": ("A wrong name", "/mixup?a-lot=25-001&a-wrong=3&a-of=10"),
    "scan": ("Scan labels a second time", "/scan?place=Tunnel&first=25-001&second=25-002"),
    "nameless": ("A label is gone", "/nameless?place=Tunnel&count=15"),
    "labels": ("Labels", "/labels"),
    "papers": ("Papers", "/papers?make=destination&to=US"),
    "load": ("Load files", "/load"),
    "nursery": ("The nursery", "/nursery"),
    "shed": ("In the shed", "/shed"),
    "note": ("Note", "/do/note?lot=LOT"),
    "phones": ("Phones", "/phones"),
    "programs": ("Programs and calendars", "/programs"),
    "calls": ("Every call", "/programs/calls"),
    "docs": ("The docs, within the pages", "/docs"),
    "check": ("Recount the book", "/check"),
    "sign-in": ("Sign in", "/sign-in"),
}
DUTCH = ("today", "lot", "bag", "inspect", "wanted", "shed")  # shown in Dutch as well, on a phone
ELSEWHERE = ("sign-in", "report")
LOOKS = {390: "light", 1280: "dark"}
FIRST_LOOK = {
    "today-390": "today-phone.png",
    "today-1280": "today-desk-night.png",
}  # what the README and docs/design.md show
MOST = {390: 2000, 1280: 1400}  # pixels of height shown
COLOURS = 96
FIRST_LABEL = (HERE.parent / "how" / "begin.md").read_text()  # which pictures of the first run it shows


def _small(png: bytes, kind: str = "PNG") -> bytes:
    """Return a picture in few colours: flat pages lose nothing by it. WebP, lossless, is half as large; the pages' own docs show PNG."""
    out = io.BytesIO()
    few = Image.open(io.BytesIO(png)).convert("RGB").quantize(COLOURS)
    if kind == "PNG":
        few.save(out, kind, optimize=True)
    else:
        few.convert("RGB").save(out, kind, lossless=True, method=4)
    return out.getvalue()


def _take(browser: Browser, base: str, there: dict[str, str]) -> None:
    for width, scheme in LOOKS.items():
        _take_all(browser, base, there, list(PAGES), width, scheme, "en-GB", f"-{width}")
    _take_all(browser, base, there, DUTCH, 390, "light", "nl-NL", "-nl")


def _take_all(
    browser: Browser,
    base: str,
    there: dict[str, str],
    names: Iterable[str],
    width: int,
    scheme: str,
    language: str,
    end: str,
) -> None:
    size = {"width": width, "height": 844 if width == 390 else 900}
    page = browser.new_context(viewport=size, color_scheme=scheme, locale=language).new_page()
    for name in names:
        address = PAGES[name][1]
        for word, said in there.items():
            address = address.replace(word, said)
        # at this desk nobody signs in: come as from elsewhere, to be asked
        page.set_extra_http_headers({"X-Forwarded-For": "192.0.2.1"} if name in ELSEWHERE else {})
        answer = page.goto(base + address)
        assert answer is not None and answer.ok, (address, answer and answer.status)
        if name == "shed":
            page.locator("#typed").wait_for()  # it asks for the book first
        if (name + end) in FIRST_LOOK:
            (HERE / FIRST_LOOK[name + end]).write_bytes(_small(page.screenshot()))
        tall = min(page.evaluate("document.documentElement.scrollHeight"), MOST[width])
        page.set_viewport_size({"width": width, "height": tall})
        (HERE / f"{name}{end}.webp").write_bytes(_small(page.screenshot(), "WEBP"))
        page.set_viewport_size(size)


def _show() -> None:
    """Write the page that shows the pictures."""
    lines = [
        "# Every page",
        "",
        "The demo season, on a phone (390 px, light) and on a desk (1280 px, dark). Made by `docs/pictures/make.py`.",
        "",
    ]
    for name, (title, _) in PAGES.items():
        lines += [f"## {title}", ""]
        lines += [f"![{title}, {width} px wide](pictures/{name}-{width}.webp)" for width in LOOKS] + [""]
    lines += ["## In Dutch", ""]
    lines += [f"![{PAGES[name][0]}, in Dutch](pictures/{name}-nl.webp)" for name in DUTCH]
    (HERE.parent / "pages.md").write_text("\n".join(lines).rstrip() + "\n")


def _take_first_run(browser: Browser) -> None:
    """Walk the way of a new grower through a book of its own, and take a picture at each page."""
    from tests.first_run import FirstRun

    with tempfile.TemporaryDirectory() as folder:
        env = {**os.environ, "ORTET_FOLDER": folder}
        command = [sys.executable, "-u", "-m", "ortet", "serve", "--port", "0"]
        with subprocess.Popen(command, env=env, stdout=subprocess.PIPE, text=True) as server:
            try:
                assert server.stdout is not None
                base = next(found[0] for line in server.stdout if (found := re.findall(r"http://\S+", line)))
                page = browser.new_context(viewport={"width": 390, "height": 780}).new_page()

                def look(name: str) -> None:
                    if f"first-{name}.png" in FIRST_LABEL:
                        (HERE / f"first-{name}.png").write_bytes(_small(page.screenshot()))

                FirstRun(page, look).to_the_label(base, Path(folder) / "label.pdf")
            finally:
                server.terminate()


def _there(folder: str, base: str) -> dict[str, str]:
    """Return one of each thing that addresses name, out of the demo's book."""
    code = (
        "import django; django.setup()\n"
        "from django.contrib.auth.models import User\n"
        "from ortet.ledger.models import Lot, Movement, Nursery, Place\n"
        "from ortet.work.packing.reporting import report_link\n"
        "at = lambda name: Place.objects.get(name=name).code\n"
        "bag = Place.objects.get(kind='bag', name='A2'); lot = bag.balances.first().lot\n"
        "print(lot.code, bag.code, *map(at, ('Cellar fridge', 'Heated table', 'Brook field', 'Tunnel', 'S15')),\n"
        "      lot.mother.accession, Movement.objects.filter(why='given_up').first().number,\n"
        "      report_link(1, by=User.objects.first(), at=Nursery.get().now()))\n"
    )
    env = {**os.environ, "ORTET_FOLDER": folder, "DJANGO_SETTINGS_MODULE": "ortet.settings"}
    said = subprocess.run([sys.executable, "-c", code], env=env, check=True, capture_output=True, text=True)
    words = ("LOT", "BAG", "STORE", "BENCH", "SITE", "GROUND", "BATCH", "MOTHER", "MOVEMENT", "REPORT")
    with urlopen(f"{base}/outgoing/1") as answer:
        sent = answer.read().decode()
    linked = {
        word: re.findall(f"{asked}=([0-9a-f-]+)", sent)[0]
        for word, asked in (("SALE", "sale"), ("READING", "reading"))
    }
    return dict(zip(words, said.stdout.split(), strict=True)) | linked


def main() -> None:
    """Serve the demo from a folder of its own and take every picture."""
    from tests.machine import chromium

    with tempfile.TemporaryDirectory() as folder:
        env = {**os.environ, "ORTET_DEMO_FOLDER": folder}
        command = [sys.executable, "-u", "-m", "ortet", "demo", "--port", "0"]
        with subprocess.Popen(command, env=env, stdout=subprocess.PIPE, text=True) as server:
            try:
                assert server.stdout is not None
                base = next(
                    found[0].rstrip("/")
                    for line in server.stdout
                    if (found := re.findall(r"http://\S+", line))
                )
                planned = [sys.executable, "-m", "ortet", "plan"]
                subprocess.run(planned, env={**env, "ORTET_FOLDER": folder}, check=True, capture_output=True)
                with sync_playwright() as playwright:
                    quiet = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
                    browser = playwright.chromium.launch(executable_path=chromium.provide(), args=quiet)
                    _take(browser, base, _there(folder, base))
                    _take_first_run(browser)
                    browser.close()
            finally:
                server.terminate()
    _show()


if __name__ == "__main__":
    main()
