"""The way of a new grower by page, from an empty folder to a bag with its label: for a test, and for the pictures in docs."""

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from playwright.sync_api import Page

# Card, Moran & Newell 1980, Commun. ACM 23:396-410, the keystroke-level model [memory]: 1.1 s to point, 1.35 s to think before
# each act. A key with cold hands on a phone takes a second, a page half of one, each sentence read on the way three: our choice.
POINT, THINK, KEY, LOAD, READ = 1.1, 1.35, 1.0, 0.5, 3.0


@dataclass
class FirstRun:
    """A walk through the pages that counts what a hand does."""

    page: Page
    look: Callable[[str], object] = lambda name: None  # told at each page that is met
    seconds: float = 0.0
    steps: list[str] = field(default_factory=list)

    def _did(self, what: str, seconds: float) -> None:
        self.steps.append(what)
        self.seconds += POINT + THINK + seconds

    def press(self, name: str, role: str = "link") -> None:
        """Press what bears this name; it must be the only one that a newcomer could mean."""
        self.page.locator("main").get_by_role(role, name=name, exact=True).click()
        self._did(f"press {name}", LOAD + READ)

    def fill(self, label: str, words: str) -> None:
        """Type into a field."""
        self.page.get_by_label(label, exact=True).fill(words)
        self._did(f"type {label}", KEY * len(words))

    def to_the_label(self, address: str, to: Path) -> Path:
        """Go the whole way; return where the PDF with the label was kept."""
        page = self.page
        page.goto(address)
        self.look("empty")
        self.press("Add a mother plant")
        self.fill("Accession number", "2026-001")
        self.fill("Variety", "Hedge Ruby")
        page.get_by_label("Kind of plant").select_option("blackcurrant")
        self._did("choose the kind", POINT)
        self.look("mother")
        self.press("Add", "button")
        self.look("added")
        self.press("Take wood")
        self.fill("Cuttings", "40")
        self.look("take")
        self.press("Take", "button")
        self.look("lot")
        self.press("Close it in a bag")
        self.look("no-place")
        self.press("Add a cold place")
        self.fill("Name", "Cellar fridge")
        self.press("Add", "button")
        self.look("place")
        self.press("Close a bag here")
        self.look("bag")
        self.press("Close the bag", "button")
        self.look("bagged")
        self.press("Print its label")
        self.look("label")
        with page.expect_download() as loading:
            self.press("Make the PDF", "button")
        loading.value.save_as(to)
        return to
