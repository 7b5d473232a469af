"""From nothing to the first labelled bag, by page, on a phone: an empty folder, the real server, no JavaScript."""

from collections.abc import Iterator

import pypdfium2
import pytest
import zxingcpp
from playwright.sync_api import Browser, Page

from tests.first_run import FirstRun
from tests.serving import serving

pytestmark = pytest.mark.once

MOST = 180  # s: three minutes


@pytest.fixture
def address(tmp_path) -> Iterator[str]:
    """Serve a book that nobody wrote in yet; return the address that the command prints."""
    with serving("serve", ORTET_FOLDER=str(tmp_path / "new")) as found:
        yield found


@pytest.fixture
def page(chromium: Browser) -> Iterator[Page]:
    with chromium.new_context(
        viewport={"width": 390, "height": 844}, java_script_enabled=False, accept_downloads=True
    ) as context:
        yield context.new_page()


def test_a_new_grower_holds_a_labelled_bag_in_three_minutes(page, address, tmp_path):
    run = FirstRun(page)
    pdf = run.to_the_label(address, tmp_path / "label.pdf")
    assert run.seconds < MOST, run.steps
    sheet = pypdfium2.PdfDocument(pdf)
    words = sheet[0].get_textpage().get_text_bounded()
    assert "Hedge Ruby" in words and "40" in words
    read = zxingcpp.read_barcodes(sheet[0].render(scale=4).to_pil())
    code = read[0].text.rpartition("/")[2]
    page.goto(address + f"l/{code}")
    assert "Hedge Ruby" in page.locator("h1").inner_text()
    assert "40 cuttings" in page.locator(".tally").inner_text()
