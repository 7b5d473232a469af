"""A Chromium for the browser tests: one that is named, found, or installed."""

import os
import shutil
import sys
from pathlib import Path

from . import debian

__all__ = ["MISSING", "find", "provide"]

NAMES = [
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
    "microsoft-edge",
    "msedge",
]

# Where macOS and Windows keep browsers that are not on the path.
USUAL = {
    "darwin": [
        "/Applications/Chromium.app/Contents/MacOS/Chromium",
        "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
        "/Applications/Microsoft Edge.app/Contents/MacOS/Microsoft Edge",
    ],
    "win32": [
        rf"{os.environ.get(folder, 'C:')}\{program}"
        for folder in ("PROGRAMFILES", "PROGRAMFILES(X86)", "LOCALAPPDATA")
        for program in (r"Google\Chrome\Application\chrome.exe", r"Microsoft\Edge\Application\msedge.exe")
    ],
}

MISSING = (
    "The browser tests need Chromium and none was found. Install Chromium, Chrome or Edge, or name one in ORTET_CHROMIUM, "
    "then start again. No test was run."
)


def find(platform: str = sys.platform) -> str | None:
    """Return the path of a browser: ORTET_CHROMIUM, else one on the path, else one in its usual place."""
    if named := os.environ.get("ORTET_CHROMIUM"):
        if not Path(named).is_file():
            raise SystemExit(
                f"ORTET_CHROMIUM names {named}, and there is no such file. Mend or unset it. No test was run."
            )
        return named
    on_path = filter(None, map(shutil.which, NAMES))
    usual = (path for path in USUAL.get(platform, []) if Path(path).is_file())
    return next(on_path, None) or next(usual, None)


def provide() -> str:
    """Return the path of a browser, installed from Debian where there is none and that is possible."""
    if path := find():
        return path
    if not debian.can_install():
        raise SystemExit(MISSING)
    debian.install("chromium", "fonts-dejavu-core")
    if path := find():
        return path
    raise SystemExit(MISSING)
