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
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, sync_playwright

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent.parent))

# name of the picture: (title, address in the demo; LOT, BAG, STORE, BENCH, MOTHER and MOVEMENT stand for one that is there)
PAGES = {
    "today": ("Today", "/"),
    "lots": ("Lots", "/lots"),
    "lot": ("A lot", "/lots/LOT"),
    "places": ("Places", "/places"),
    "bag": ("A bag", "/places/BAG"),
    "store": ("A cold place", "/places/STORE"),
    "mothers": ("Mother plants", "/mothers"),
    "mother": ("A mother plant", "/mothers/MOTHER"),
    "wanted": ("What buyers ordered", "/wanted"),
    "wanted-ourselves": ("What we want ourselves", "/wanted/ourselves"),
    "order-of": ("An order", "/orders/6"),
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
    "add-mother": ("Add a mother plant", "/do/add-mother"),
    "add-place": ("Add a place", "/do/add-place"),
    "order": ("Note an order", "/do/order"),
    "want": ("Note what you want yourself", "/do/want"),
    "cancel": ("Cancel", "/do/cancel?what=6"),
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
    "check": ("Recount the book", "/check"),
    "sign-in": ("Sign in", "/sign-in"),
}
LOOKS = {390: "light", 1280: "dark"}
MOST = {390: 2000, 1280: 1400}  # pixels of height shown
COLOURS = 96
FIRST_LABEL = (HERE.parent / "how" / "begin.md").read_text()  # which pictures of the first run it shows


def _small(png: bytes) -> bytes:
    """Return a picture in few colours: flat pages lose nothing by it."""
    out = io.BytesIO()
    Image.open(io.BytesIO(png)).convert("RGB").quantize(COLOURS).save(out, "PNG", optimize=True)
    return out.getvalue()


def _take(browser: Browser, base: str, there: dict[str, str]) -> None:
    for width, scheme in LOOKS.items():
        size = {"width": width, "height": 844 if width == 390 else 900}
        page = browser.new_context(viewport=size, color_scheme=scheme).new_page()
        for name, (_, address) in PAGES.items():
            for word, said in there.items():
                address = address.replace(word, said)
            # at this desk nobody signs in: come as from elsewhere, to be asked
            page.set_extra_http_headers({"X-Forwarded-For": "192.0.2.1"} if name == "sign-in" else {})
            answer = page.goto(base + address)
            assert answer is not None and answer.ok, (address, answer and answer.status)
            tall = min(page.evaluate("document.documentElement.scrollHeight"), MOST[width])
            page.set_viewport_size({"width": width, "height": tall})
            (HERE / f"{name}-{width}.png").write_bytes(_small(page.screenshot()))
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
        lines += [f"![{title}, {width} px wide](pictures/{name}-{width}.png)" for width in LOOKS] + [""]
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


def _there(folder: str) -> dict[str, str]:
    """Return one of each thing that addresses name, out of the demo's book."""
    code = (
        "import django; django.setup()\n"
        "from ortet.ledger.models import Lot, Movement, Place\n"
        "bag = Place.objects.get(kind='bag', name='A2'); lot = bag.balances.first().lot\n"
        "print(lot.code, bag.code, *(Place.objects.get(name=name).code for name in ('Cellar fridge', 'Heated table')),\n"
        "      lot.mother.accession, Movement.objects.filter(why='given_up').first().number)\n"
    )
    env = {**os.environ, "ORTET_FOLDER": folder, "DJANGO_SETTINGS_MODULE": "ortet.settings"}
    said = subprocess.run([sys.executable, "-c", code], env=env, check=True, capture_output=True, text=True)
    return dict(zip(("LOT", "BAG", "STORE", "BENCH", "MOTHER", "MOVEMENT"), said.stdout.split(), strict=True))


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
                    _take(browser, base, _there(folder))
                    _take_first_run(browser)
                    browser.close()
            finally:
                server.terminate()
    _show()


if __name__ == "__main__":
    main()
