"""Draw the papers that docs/how/papers.md shows: invented wood, the true templates.

.venv/bin/python docs/pictures/papers.py
"""

from pathlib import Path

import pypdfium2
from PIL import Image

from ortet.paper.advice import AdvicePart, AdviceSheet, advice_sheet
from ortet.paper.passport import passport, passport_labels
from ortet.paper.sender import Sender

HERE = Path(__file__).parent
SENDER = Sender(("Ebbenau Nursery (invented)", "7 Kiln Lane", "Nether Tarn"), "post@ebbenau.example")
ROOT = "Base at 20 °C, air at 12 °C: half of those that can root show roots in about 17 days, nine in ten of them within 27."


def _save(pdf: bytes, name: str, share: float) -> None:
    with pypdfium2.PdfDocument(pdf) as sheets:
        picture = sheets[0].render(scale=1.5).to_pil().convert("RGB")
    picture = picture.crop((0, 0, picture.width, int(picture.height * share)))
    framed = Image.new("RGB", (picture.width + 2, picture.height + 2), "#999")
    framed.paste(picture, (1, 1))
    framed.quantize(64).save(HERE / name, "PNG", optimize=True)


def main() -> None:
    """Draw them all."""
    lots = (
        ("Ribes nigrum ‘Inkwell Lass’", "blackcurrant", "AZ56-R7JS", "Set by Tue 16 Mar: the usual keeping time of blackcurrant ends then."),
        ("Ribes rubrum ‘Ember Latch’", "redcurrant", "DKVK-6A1A", "Set at once: the usual keeping time of redcurrant is over."),
    )  # fmt: skip
    said = (
        ("Kept", "Cut on Tue 24 Nov and kept 80 days, closed in a bag in Cellar fridge. Looked at on 6 Feb: 28 sound, none mouldy or dry."),
        ("State", "Water lost since the cut: 0.4 % (0.3 % to 0.7 %) of its weight; harm starts near 10 %. Reserve left: 88 % (49 % to 96 %)."),
        ("Callus", "When packed, on 49 % (22 % to 76 %) of the cuttings. On arrival, likeliest Mon 15 Feb, on about 51 %."),
        ("Root", ROOT),
        ("Look for", "Some have a pale rim of callus at the base: do not rub it off."),
    )  # fmt: skip
    from ortet.decisions.buyer_advice import ON_ARRIVAL

    parts = tuple(
        AdvicePart(name, f"{kind}, for rooting", lot, 12, why, said) for name, kind, lot, why in lots
    )
    sheet = AdviceSheet(
        SENDER, "How to set these cuttings", "12 February 2027", "For Quern Lane allotments. 24 cuttings of 2 lots.", parts, ON_ARRIVAL,
        ("How warm the parcel travels is reckoned from weather, not measured.",), "https://ebbenau.example/r/9KwBiCuw1NtbPzDyD0e6",
    )  # fmt: skip
    _save(advice_sheet(sheet), "papers-advice.png", 0.78)
    made = {
        "botanical": "Malus domestica ‘Tallow Crown’",
        "code": "7K3Q-9M2D",
        "address": "https://ebbenau.example/l/7K3Q9M2D",
    }
    dutch = passport(**made, country="NL", operator="123456789", origin="NL", language="nl")
    zone = passport(**made, country="DE", operator="123456", origin="DE", language="de", pests=("ERWIAM",))
    british = passport(**made, country="GB", operator="123456", origin="GB")
    _save(passport_labels([dutch, zone, british]), "papers-passports.png", 0.38)


if __name__ == "__main__":
    main()
