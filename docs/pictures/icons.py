"""Draw the icons that a phone's home screen shows, from the mark.

    .venv/bin/python docs/pictures/icons.py

Needs what `start.py test` sets up. Writes PNG files beside `src/ortet/pages/static/ortet/mark.svg`.
"""

import sys
from pathlib import Path

from playwright.sync_api import sync_playwright

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))
STATIC = ROOT / "src" / "ortet" / "pages" / "static" / "ortet"
FROST = "#edf2f4"
# name: (pixels, share of the width that the mark takes); a maskable icon keeps to its middle four fifths, which is what is left
# when a phone cuts it round (W3C, Web Application Manifest, icon masks and safe zone)
ICONS = {
    "icon-180.png": (180, 0.72),
    "icon-192.png": (192, 0.8),
    "icon-512.png": (512, 0.8),
    "icon-whole-512.png": (512, 0.56),
}


def main() -> None:
    """Draw them all."""
    from tests.machine.chromium import find

    mark = (STATIC / "mark.svg").read_text()
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=find(), args=["--no-sandbox"])
        for name, (size, share) in ICONS.items():
            page = browser.new_page(viewport={"width": size, "height": size})
            style = f"margin:0;background:{FROST};display:grid;place-items:center;height:100vh"
            drawn = mark.replace("<svg ", f'<svg width="{size * share:.0f}" ')
            page.set_content(f'<body style="{style}">{drawn}')
            page.screenshot(path=STATIC / name)
        browser.close()


if __name__ == "__main__":
    main()
