"""Papers read back as a reader and a phone see them: pdfium draws and reads the text, zxing-cpp the codes."""

import re

import pypdfium2 as pdfium
import zxingcpp

SIZES = {"a4": (210, 297), "letter": (8.5 * 25.4, 11 * 25.4)}  # ISO 216; 8.5 by 11 inches [mm]
LONG = "Himmelsschlüsselblumenwiesenrandgehölzsammlung"


def pages(pdf: bytes) -> list[str]:
    """Return the text of each page, words parted by one blank."""
    with pdfium.PdfDocument(pdf) as sheets:
        return [
            re.sub(r"\s+", " ", one.get_textpage().get_text_bounded().replace("\u200b", "")).strip()
            for one in sheets
        ]


def sizes(pdf: bytes) -> list[tuple[float, float]]:
    """Return the size of each page. [mm]"""
    with pdfium.PdfDocument(pdf) as sheets:
        return [tuple(side / 72 * 25.4 for side in one.get_size()) for one in sheets]


def codes(pdf: bytes, dpi: int = 203) -> list[str]:
    """Return what the codes say, page by page, from top to bottom and left to right."""
    found = []
    with pdfium.PdfDocument(pdf) as sheets:
        for one in sheets:
            page = one.render(scale=dpi / 72).to_pil().convert("L")
            seen = zxingcpp.read_barcodes(page, formats=zxingcpp.BarcodeFormat.QRCode)
            rows = sorted(
                seen, key=lambda it: (round(it.position.top_left.y / dpi * 5), it.position.top_left.x)
            )
            found += [it.text for it in rows]
    return found


def is_clear(pdf: bytes, margin: float) -> bool:
    """Whether nothing is printed within a margin on the left and right of any page. [mm]"""
    with pdfium.PdfDocument(pdf) as sheets:
        for one in sheets:
            dark = one.render(scale=2).to_numpy().max(axis=2) < 200
            edge = int(margin / 25.4 * 144)
            if dark[:, :edge].any() or dark[:, -edge:].any():
                return False
    return True
