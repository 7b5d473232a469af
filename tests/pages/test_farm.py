"""The farm's network as `ortet serve --farm` serves it: real TLS, a real browser as the phone, every page asked for by a stranger."""

import io
import json
import os
import re
import socket
import ssl
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from http.client import HTTPConnection, HTTPSConnection
from pathlib import Path
from urllib.parse import urlsplit

import pytest
import zxingcpp
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import Browser

from ortet.pages.access import PHONE
from ortet.pages.urls import urlpatterns
from ortet.wood import code as codes

pytestmark = pytest.mark.once

# Asked for by programs, which bring a key of their own: without it nothing is there. The API's document says nothing of a book.
KEYED = {"/api/v1/", "/api/v1/M1", "/calendar/7K3Q9M2D.ics"}
OPEN = {"/sign-in", "/pair", "/language"}  # what a stranger may ask for, besides static files
STATIC = Path(__file__).parents[2] / "src" / "ortet" / "pages" / "static" / "ortet"


@dataclass
class Farm:
    """A served nursery."""

    desk: str
    pages: str
    trust: str
    env: dict[str, str]

    def ortet(self, *words: str) -> str:
        """Give a command beside the one that serves."""
        done = subprocess.run(
            [sys.executable, "-m", "ortet", *words], env=self.env, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stderr
        return done.stdout

    def phone(self, authority: bytes | None = None, name: str | None = None) -> HTTPSConnection:
        """Return a line from a phone that trusts what the plain door gave it, or something else."""
        at = urlsplit(self.pages)
        trusts = ssl.create_default_context(
            cadata=self.authority() if authority is None else authority or None
        )
        trusts.verify_flags |= ssl.VERIFY_X509_STRICT
        line = HTTPSConnection(at.hostname, at.port, context=trusts, timeout=60)
        if name:
            raw = socket.create_connection((at.hostname, at.port), timeout=60)
            line.sock = trusts.wrap_socket(raw, server_hostname=name)
        return line

    def authority(self) -> bytes:
        """Return the certificate that the plain door gives."""
        at = urlsplit(self.trust)
        line = HTTPConnection(at.hostname, at.port, timeout=60)
        line.request("GET", "/ortet-authority.crt")
        given = line.getresponse().read()
        line.close()
        return given


@pytest.fixture(scope="module")
def farm(tmp_path_factory) -> Iterator[Farm]:
    """Serve an empty book at this machine's loopback address, on ports that are free."""
    env = {**os.environ, "ORTET_FOLDER": str(tmp_path_factory.mktemp("farm")), "PYTHONUNBUFFERED": "1"}
    env.pop("ORTET_DATABASE", None)
    ports = ["--port", "0", "--farm-port", "0", "--trust-port", "0"]
    command = [sys.executable, "-m", "ortet", "serve", "--farm", "--host", "127.0.0.1", *ports]
    with subprocess.Popen(command, env=env, stdout=subprocess.PIPE, text=True) as server:
        said = []
        for line in iter(server.stdout.readline, ""):
            said.append(line)
            if "The pages are at" in line:
                break
        try:
            desk = re.search(r"http://127\.0\.0\.1:\d+", said[-1])[0].replace("127.0.0.1", "localhost")
            there = json.loads((Path(env["ORTET_FOLDER"]) / "farm" / "open.json").read_text())
            yield Farm(desk, there["pages"], there["trust"], env)
        finally:
            server.terminate()


def answered(line: HTTPSConnection, method: str, path: str, **headers: str):
    """Ask, and read the answer to its end."""
    line.request(method, path, headers=headers)
    answer = line.getresponse()
    answer.text = answer.read().decode(errors="replace")
    return answer


def every_path() -> list[str]:
    """Return an address of each page there is."""
    stands_for = {
        "int": "1",
        "path": "M1",
        "slug": "look",
        "str": "7K3Q9M2D",
        "uuid": "01890a5d-ac96-774b-bcce-b302099a8057",
    }
    return [
        "/" + re.sub(r"<(\w+):\w+>", lambda part: stands_for[part[1]], str(page.pattern))
        for page in urlpatterns
    ]


# TLS


def test_the_chain_holds_with_the_certificate_that_the_plain_door_gives(farm):
    line = farm.phone()
    assert answered(line, "GET", "/pair").status == 200
    assert line.sock.version() in ("TLSv1.2", "TLSv1.3")
    line.close()


def test_without_it_a_phone_believes_nothing(farm):
    line = farm.phone(authority=b"")
    with pytest.raises(ssl.SSLCertVerificationError, match="self-signed certificate in certificate chain"):
        line.request("GET", "/pair")
    line.close()


def test_under_another_name_the_certificate_is_not_believed(farm):
    with pytest.raises(ssl.SSLCertVerificationError, match="mismatch"):
        farm.phone(name="hill.example")


def test_a_name_that_is_not_this_machines_is_refused(farm):
    line = farm.phone()
    assert answered(line, "GET", "/pair", Host="hill.example").status == 400
    line.close()


def test_phones_that_connect_and_fall_silent_hold_nobody_up(farm):
    at = urlsplit(farm.pages)
    silent = [socket.create_connection((at.hostname, at.port), timeout=60) for _ in range(12)]
    line = farm.phone()
    try:
        # twelve times the ten seconds that one silent phone may take would be past this line's patience
        assert answered(line, "GET", "/pair").status == 200
    finally:
        line.close()
        for sock in silent:
            sock.close()


# Strangers


def test_nothing_but_pairing_and_signing_in_is_open_to_a_stranger(farm):
    line, opened = farm.phone(), set()
    for path in every_path():
        for method in ("GET", "HEAD", "POST"):
            answer = answered(line, method, path)
            if answer.status != 302 or not answer.getheader("Location", "").startswith("/sign-in?next="):
                opened.add(path)
                may = (401, 403, 404, 405) if path in KEYED else (200, 403, 405, 410)
                assert answer.status in may, (method, path, answer.status)
    assert opened == {*OPEN, *KEYED, "/pair/7K3Q9M2D", "/api/v1/openapi.json"}
    for path in ("/nowhere", "/admin/", "/static/../secret", "/.well-known/x"):
        assert answered(line, "GET", path).status in (302, 404)
    line.close()


def test_static_files_are_open_and_are_only_looks(farm):
    line = farm.phone()
    for path in STATIC.rglob("*.*"):
        answer = answered(line, "GET", f"/static/ortet/{path.relative_to(STATIC).as_posix()}")
        assert answer.status == 200
    assert (
        answered(line, "GET", "/static/ortet/ortet.webmanifest").getheader("Content-Type")
        == "application/manifest+json"
    )
    line.close()


# By command


def test_paired_by_command_and_shut_out_by_command_in_the_middle_of_a_connection(farm):
    said = farm.ortet("pair", "Mina", "--phone", "the blue one")
    link = re.search(rf"{farm.pages}/pair", said)[0]
    code = re.search(r"^ {4}(\w{4}-\w{4})$", said, re.MULTILINE)[1]
    assert codes.is_code(code) and link and "until" in said
    line = farm.phone()
    form = answered(line, "GET", "/pair")
    csrf = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', form.text)[1]
    cookie = form.getheader("Set-Cookie").split(";")[0]
    body = f"csrfmiddlewaretoken={csrf}&code={code}"
    asks = {
        "Cookie": cookie,
        "Referer": f"{farm.pages}/pair",
        "Content-Type": "application/x-www-form-urlencoded",
    }
    line.request("POST", "/pair", body, asks)
    answer = line.getresponse()
    answer.read()
    assert (answer.status, answer.getheader("Location")) == (302, "/shed")
    given = next(part for part in answer.headers.get_all("Set-Cookie") if part.strip().startswith(PHONE))
    assert {"Secure", "HttpOnly", "SameSite=Lax", "Path=/"} <= {part.strip() for part in given.split(";")}
    phone = given.split(";")[0].strip()
    assert answered(line, "GET", "/lots", Cookie=phone).status == 200
    assert "shut out" in farm.ortet("shut-out", "the blue one")
    assert answered(line, "GET", "/lots", Cookie=phone).status == 403  # on the same connection
    line.close()


# In a browser


def read(png: bytes) -> list[str]:
    return [found.text for found in zxingcpp.read_barcodes(Image.open(io.BytesIO(png)))]


def test_a_phone_scans_its_way_in_and_is_shut_out_by_one_press(chromium: Browser, farm: Farm):
    hand = "ola"
    with (
        chromium.new_context(viewport={"width": 1280, "height": 900}) as at_desk,
        chromium.new_context(viewport={"width": 390, "height": 844}, ignore_https_errors=True) as on_phone,
    ):
        desk, phone = at_desk.new_page(), on_phone.new_page()
        desk.goto(f"{farm.desk}/phones")
        assert read(desk.screenshot(full_page=True)) == [farm.trust]
        phone.goto(farm.trust)
        assert phone.locator(".fingerprint").inner_text() == desk.locator(".fingerprint").inner_text()
        assert serious(phone) == serious(desk) == []
        desk.get_by_label("Whose phone").fill(hand)
        desk.get_by_role("button", name="Show a code").click()
        assert serious(desk) == []
        (link,) = read(desk.screenshot(full_page=True))
        assert link.startswith(f"{farm.pages}/pair/")
        phone.goto(link)
        assert hand in phone.locator("main").inner_text() and serious(phone) == []
        phone.get_by_role("button", name="Pair this phone").click()
        phone.wait_for_url(f"{farm.pages}/shed")
        phone.get_by_label("Code, mark or name").wait_for()
        # what a browser gives to https only, and the page for the shed will need
        assert phone.evaluate(
            "[isSecureContext, !!navigator.serviceWorker, !!navigator.mediaDevices, typeof crypto.randomUUID]"
        ) == [True, True, True, "function"]
        (kept,) = (cookie for cookie in on_phone.cookies() if cookie["name"] == PHONE)
        assert kept["secure"] and kept["httpOnly"] and kept["sameSite"] == "Lax"
        assert phone.evaluate("document.cookie.includes('ortet-phone')") is False
        desk.goto(f"{farm.desk}/phones")
        desk.get_by_role("button", name=f"Shut out {hand}'s phone").click()
        assert "is shut out" in desk.locator(".said").inner_text()
        shed, phone = phone, on_phone.new_page()
        phone.goto(f"{farm.pages}/")
        assert phone.locator("h1").inner_text() == "This phone is not paired" and serious(phone) == []
        shed.evaluate(
            "dispatchEvent(new Event('online'))"
        )  # the page for the shed hears of it at its next signal
        shed.get_by_text("This phone was shut out.").wait_for()
        shed.get_by_text("The book is not open to this phone.").wait_for()  # and forgot its copy
        phone.get_by_role("link", name="Pair it again").click()
        assert serious(phone) == [] and not phone.evaluate(
            "document.documentElement.scrollWidth > innerWidth"
        )


def serious(page) -> list[str]:
    """Return what axe-core finds serious or critical, by day; and by night, which changes only colours, of those alone."""
    found = []
    for scheme, rules in (("dark", {"runOnly": ["color-contrast"]}), ("light", {})):
        page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
        found += Axe().run(page, options={"resultTypes": ["violations"], **rules}).response["violations"]
    return [one["id"] for one in found if one["impact"] in ("serious", "critical")]


def test_the_pages_can_be_installed(chromium: Browser, farm: Farm):
    with chromium.new_context(ignore_https_errors=True) as context:
        page = context.new_page()
        page.goto(f"{farm.pages}/pair")
        read_by = context.new_cdp_session(page)
        said = read_by.send("Page.getAppManifest")
        assert said["errors"] == [] and said["url"].endswith("/static/ortet/ortet.webmanifest")
        manifest = json.loads(said["data"])
        assert (manifest["start_url"], manifest["scope"], manifest["display"]) == ("/", "/", "standalone")
        for icon in manifest["icons"]:
            with Image.open(STATIC / icon["src"]) as drawn:
                assert icon["sizes"] == f"{drawn.width}x{drawn.height}"
        assert {icon["purpose"] for icon in manifest["icons"]} == {"any", "maskable"}
        wrong = {
            error["errorId"] for error in read_by.send("Page.getInstallabilityErrors")["installabilityErrors"]
        }
        assert wrong <= {"in-incognito"}  # as every window is that Playwright opens
