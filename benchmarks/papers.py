"""What a season's papers cost: Ortet's pick list of 5,000 lines and its labels beside the ways a grower would otherwise go.

    python benchmarks/papers.py

Each way makes the same 5,000 lines with a box, a code and seven words a line, in this process and in one run. The others: Typst
once for each order, 500 PDFs, and plain Pillow, sheets drawn as pictures at 150 dpi with segno's codes, whose layout is plainer.
"""

import io
import time
from collections.abc import Callable

from ortet.paper.address import AddressLabel, address_label
from ortet.paper.pick_list import PickList, PickStop, pick_list
from ortet.paper.sender import Sender
from ortet.paper.slip import PackingSlip, SlipRow, packing_slip

LINES, ORDERS, SAMPLE = 5_000, 500, 25
SENDER = Sender(("Hill Nursery", "7 Kiln Lane", "Nether Tarn"), "post@hill.example")


def stops() -> tuple[PickStop, ...]:
    """Return as many lines, ten an order, four a bag."""
    return tuple(
        PickStop(
            f"Store {n // 1000}", f"K{n // 4}", "26-001 (7K3Q-9M2D)", "Ribes nigrum ‘Larkfield Amber’", 5, 60, "Wren Hedges",
            f"order {n // 10}/{n % 10}", f"http://192.168.1.20:8137/do/pack?line={n // 10}/{n % 10}",
        )
        for n in range(LINES)
    )  # fmt: skip


def whole(lines: tuple[PickStop, ...]) -> bytes:
    """Return the list in one PDF."""
    return pick_list(PickList("Pick list", "Hill Nursery", "12 February 2027", lines))


def drawn(lines: tuple[PickStop, ...]) -> None:
    """Draw with Pillow, fifteen lines on a sheet, as one PDF of pictures."""
    import segno
    from PIL import Image, ImageDraw, ImageFont

    large, small = ImageFont.load_default(30), ImageFont.load_default(20)
    sheets = []
    for first in range(0, len(lines), 15):
        sheet = Image.new("1", (1240, 1754), 1)
        draw = ImageDraw.Draw(sheet)
        for place, stop in enumerate(lines[first : first + 15]):
            y = 90 + place * 108
            draw.rectangle((80, y + 30, 106, y + 56), outline=0)
            draw.text((130, y + 20), stop.place, font=large)
            draw.text((300, y), f"{stop.lot}\n{stop.variety}", font=small)
            draw.text((700, y + 20), str(stop.count), font=large)
            draw.text((800, y), f"{stop.whom}\n{stop.line}", font=small)
            held = io.BytesIO()
            segno.make(stop.address, error="m", micro=False).save(held, kind="png", scale=2, border=4)
            sheet.paste(Image.open(held), (1080, y))
        sheets.append(sheet)
    sheets[0].save(io.BytesIO(), format="PDF", resolution=150, save_all=True, append_images=sheets[1:])


def slips() -> None:
    """Make the slip and the address label of some orders."""
    rows = tuple(
        SlipRow("Ribes nigrum ‘Larkfield Amber’", "blackcurrant, for rooting", "7K3Q-9M2D", 5, f"3/{n}")
        for n in range(10)
    )
    to = ("Wren Hedges", "Tithe Barn 2", "1234 Sedgeholm")
    for number in range(SAMPLE):
        packing_slip(PackingSlip(SENDER, f"Packing slip {number}", "today", to, (), rows, ()))
        address_label(AddressLabel(SENDER, to, f"Parcel {number}"))


def seconds(make: Callable[[], object]) -> float:
    """Return the processor's time for it, all cores together: a busy machine's clock tells little."""
    start = time.process_time()
    make()
    return time.process_time() - start


def main() -> None:
    """Time each way and print what it takes, and how many times Ortet's."""
    lines = stops()
    whole(lines[:10])  # imports are not what is measured
    ours = seconds(lambda: whole(lines))
    each = seconds(lambda: [whole(lines[n * 10 : n * 10 + 10]) for n in range(SAMPLE)]) * ORDERS / SAMPLE
    ways = {
        f"Ortet, pick list of {LINES:,} lines": ours,
        f"Typst once for each order, {ORDERS} PDFs (from {SAMPLE})": each,
        "Pillow and segno, pictures at 150 dpi": seconds(lambda: drawn(lines)),
        f"Ortet, slip and address of {ORDERS} orders (from {SAMPLE})": seconds(slips) * ORDERS / SAMPLE,
    }
    for way, took in ways.items():
        print(f"{way:<56} {took:7.2f} s  {took / ours:6.2f} x")


if __name__ == "__main__":
    main()
