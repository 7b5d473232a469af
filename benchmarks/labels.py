"""What 1,000 labels cost: Ortet's one run of Typst beside the ways a grower would otherwise go.

    python benchmarks/labels.py

Each way makes the same 1,000 bag labels as one or more PDFs, codes included, in this process and in one run. The other
ways: Typst once for each label (a PDF a label), and plain Pillow, a sheet drawn as a picture at 300 dpi with segno's
codes. The others' layout is plainer than Ortet's, which favours them.
"""

import io
import time
from collections.abc import Callable

from ortet.paper.labels import Label, bag_labels, wrap_labels
from ortet.wood import code

COUNT = 1_000
SAMPLE = 50  # of the slow way, and reckoned up


def made(count: int) -> list[Label]:
    """Return labels of as many lots."""
    codes = [code.make(7_919 * 104_729 * number % 2**35) for number in range(1, count + 1)]
    return [
        Label(
            "‘Larkfield Amber’",
            "redcurrant",
            code.show(one),
            "24 Nov 2026",
            "A",
            60,
            f"http://farm.example:8137/l/{one}",
        )
        for one in codes
    ]


def one_by_one(labels: list[Label]) -> None:
    """Typst once for each label."""
    for label in labels:
        bag_labels([label], paper="a4")


def drawn(labels: list[Label]) -> None:
    """Draw with Pillow, twelve on a sheet, as one PDF of pictures."""
    import segno
    from PIL import Image, ImageDraw, ImageFont

    large, small = ImageFont.load_default(84), ImageFont.load_default(40)
    sheets = []
    for first in range(0, len(labels), 12):
        sheet = Image.new("1", (2480, 3508), 1)
        draw = ImageDraw.Draw(sheet)
        for place, label in enumerate(labels[first : first + 12]):
            x, y = 154 + place % 2 * 1086, 266 + place // 2 * 496
            draw.text((x + 48, y + 48), label.variety, font=large)
            draw.text((x + 48, y + 200), label.species, font=small)
            draw.text((x + 48, y + 260), label.code, font=large)
            draw.text((x + 48, y + 380), f"{label.day}   {label.grade}   {label.count}", font=small)
            held = io.BytesIO()
            segno.make(label.address.upper(), error="m", micro=False).save(
                held, kind="png", scale=7, border=4
            )
            sheet.paste(Image.open(held), (x + 780, y + 170))
        sheets.append(sheet)
    sheets[0].save(io.BytesIO(), format="PDF", resolution=300, save_all=True, append_images=sheets[1:])


def seconds(make: Callable[[], object]) -> float:
    """Return how long it takes, the better of two."""
    took = []
    for _ in range(2):
        start = time.perf_counter()
        make()
        took.append(time.perf_counter() - start)
    return min(took)


def main() -> None:
    """Time each way and print what it takes, and how many times Ortet's."""
    labels = made(COUNT)
    bag_labels(labels[:1], paper="a4")  # imports are not what is measured
    ours = seconds(lambda: bag_labels(labels, paper="a4"))
    ways = {
        "Ortet, bag labels": ours,
        "Ortet, wrap labels": seconds(lambda: wrap_labels(labels, paper="a4")),
        f"Typst once for each label, {COUNT} PDFs (from {SAMPLE})": seconds(
            lambda: one_by_one(labels[:SAMPLE])
        )
        * COUNT
        / SAMPLE,
        "Pillow and segno, pictures at 300 dpi": seconds(lambda: drawn(labels)),
    }
    print(f"{COUNT} labels, each with its code")
    for way, took in ways.items():
        print(f"{way:<56} {took:7.2f} s  {took / ours:6.2f} x")


if __name__ == "__main__":
    main()
