"""Figures of what a sample and a trial tell, and of where names got swapped."""

from __future__ import annotations

import numpy as np
from sheet import Frame, picture

from ortet.decisions.mixup.chance import Seen, chances
from ortet.evidence.sampling import allowed, sample_size
from ortet.evidence.trials import cuttings_needed

__all__ = ["mixups", "samples", "trials"]


def samples() -> str:
    """Return how many to look at by the size of the lot, and what a clean sample leaves possible."""
    lots = np.unique(np.round(np.geomspace(20, 2000, 60))).astype(int)
    left = Frame((1.3, 3.3), (0, 300), x_name="cuttings in the lot", y_name="to look at, 95 % sure",
                 x_marks=[(np.log10(n), f"{n}") for n in (20, 50, 100, 200, 500, 1000, 2000)],
                 y_marks=range(0, 301, 50))  # fmt: skip
    for row, share in enumerate((0.01, 0.02, 0.05, 0.10)):
        left.line(np.log10(lots), [sample_size(int(lot), share, 0.95) for lot in lots], row)
        left.key(row, f"{share:.0%} bad should show", x=16)
    looked = np.arange(5, 101)
    right = Frame((0, 100), (0, 50), x_name="looked at, of a lot of 100", y_name="bad ones there may still be, 95 % sure",
                  x_marks=range(0, 101, 20), y_marks=range(0, 51, 10))  # fmt: skip
    for row, found in enumerate((0, 1, 3)):
        right.line(looked, [allowed(100, int(n), found, 0.95).most for n in looked], row)
        right.key(row, f"{found or 'none'} found", x=230)
    return picture(left, right)


def mixups() -> str:
    """Return how many of a lot of 40 were confused, if three of so many looked at were wrong: one in s beforehand."""
    s = np.arange(1, 41)
    frame = Frame((0, 40), (0, 0.4), wide=560, x_name="cuttings of 40 that were confused", y_name="chance of each number",
                  x_marks=range(0, 41, 5), y_marks=np.arange(0, 0.41, 0.1))  # fmt: skip
    for row, looked in enumerate((3, 5, 10, 20)):
        told = chances((Seen(40, 40, looked - 3, 3),), 40)[1:] / s
        frame.line(s, told / told.sum(), row)
        frame.key(row, f"3 wrong of {looked} looked at", x=150)
    before = 1 / s / (1 / s).sum()
    frame.line(s, before, 4, thin=True)
    frame.key(4, "before anything was looked at", x=150)
    return picture(frame)


def trials() -> str:
    """Return the cuttings of each treatment that show a difference four times in five, by how many root under the check."""
    sought = np.arange(8, 41)
    frame = Frame((0, 40), (0, 600), wide=560, x_name="difference sought, plants in a hundred", y_name="cuttings of each treatment",
                  x_marks=range(0, 41, 5), y_marks=range(0, 601, 100))  # fmt: skip
    for row, check in enumerate((0.1, 0.3, 0.5)):
        frame.line(sought, [cuttings_needed(check, check + d / 100) for d in sought], row)
        frame.key(row, f"{100 * check:.0f} in a hundred root under the check", x=250)
    return picture(frame)
