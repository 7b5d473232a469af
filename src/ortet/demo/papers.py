"""A season's papers in a folder, as the grower would print them: whatever the demo's book has come to by then."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

__all__ = ["print_papers"]

LABELS = 24  # lots: a sheet


def print_papers(folder: Path) -> list[Path]:
    """Write the papers there are as PDF into a folder, new ones over old ones; return their files.

    What the book has not come to yet is left out: a season sheet before the season is planned, a slip before a parcel is packed.
    """
    from ortet.work import Refused

    folder.mkdir(parents=True, exist_ok=True)
    files = []
    for name, printed in _papers():
        try:
            pdf = printed()
        except Refused:
            continue
        files.append(folder / f"{name}.pdf")
        files[-1].write_bytes(pdf)
    return files


def _papers() -> Iterator[tuple[str, Callable[[], bytes]]]:
    from ortet.ledger.models import Lot, Parcel, Receipt
    from ortet.work.labels import labels
    from ortet.work.papers.advice import advise, advise_parcel
    from ortet.work.papers.picking import pick_list
    from ortet.work.papers.posting import address_label, packing_slip
    from ortet.work.papers.receipts import receipt_sheet
    from ortet.work.plan.sheet import season_sheet

    lots = [lot.code for lot in Lot.objects.order_by("-made_at", "-pk")[:LABELS]]
    yield "season sheet", season_sheet
    yield "pick list", pick_list
    yield "labels", lambda: labels(lots)
    if parcel := Parcel.objects.order_by("-number").first():
        number = parcel.number
        yield f"packing slip {number}", lambda: packing_slip(number, prices=True)
        yield f"address label {number}", lambda: address_label(number)
        yield f"advice {number}", lambda: advise_parcel(number)
    else:
        yield "advice", lambda: advise([(lots[0], None)])
    if receipt := Receipt.objects.order_by("-number").first():
        yield f"receipt {receipt.number}", lambda: receipt_sheet(receipt.number)
