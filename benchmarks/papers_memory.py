"""How much memory printing takes in a process that goes on, as `ortet serve` does: as it is, and were Typst let to keep what it set.

    python benchmarks/papers_memory.py          # 12 pick lists of 1,000 lines each, every one with words of its own
    python benchmarks/papers_memory.py 4 200    # as many, of so many lines

Each way is a fresh process of its own; the most memory that it held is told after each list.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import threading
from dataclasses import replace

from papers import stops, whole

LISTS, LINES, KEEPING = 12, 1_000, "keeping"


def most_mb() -> float:
    """Return the most memory that this process has held. [MB]"""
    held = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return held / 1e6 if sys.platform == "darwin" else held / 1e3


def print_lists(lists: int, lines: int, keeping: bool) -> None:
    """Print lists one after another, and tell the memory."""
    from ortet.paper import typeset

    if keeping:
        typeset._forget = lambda: None
    told = []
    for number in range(lists):
        whole(tuple(replace(stop, whom=f"{stop.whom} {number}") for stop in stops()[:lines]))
        for thread in threading.enumerate():
            if thread is not threading.current_thread():
                thread.join()
        told.append(f"{most_mb():.0f}")
    print(" ".join(told))


def main() -> None:
    """Run both ways and print what each held."""
    asked = [int(word) for word in sys.argv[1:3]] or [LISTS, LINES]
    print(f"{asked[0]} pick lists of {asked[1]:,} lines, the most memory held after each [MB]")
    for way in ("as it is", KEEPING):
        run = [sys.executable, __file__, *map(str, asked), way]
        done = subprocess.run(run, check=True, capture_output=True, text=True)
        print(f"  {'were it kept' if way == KEEPING else way:14} {done.stdout.strip()}")


if __name__ == "__main__":
    if len(sys.argv) > 3:
        print_lists(int(sys.argv[1]), int(sys.argv[2]), sys.argv[3] == KEEPING)
    else:
        main()
