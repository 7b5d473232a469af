"""How large sums are compiled, and spread over the cores.

Compiled functions live in modules named `..._kernel`, which are imported where they are called: what brings the compiler in
takes a third of a second, and a light command must not wait for it. `python -m ortet.science.compiled` compiles them all.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from importlib import import_module
from itertools import pairwise
from pathlib import Path
from typing import Any

__all__ = ["compile_all", "compiled", "cores", "part", "spread"]

# other threads run meanwhile; division by nothing gives what it gives in NumPy; a product and a sum are one instruction;
# nothing written in C calls it
HOW: dict[str, Any] = {
    "nogil": True,
    "error_model": "numpy",
    "fastmath": {"contract"},
    "no_cfunc_wrapper": True,
}
# nor does Python call a part: what would let it need not be compiled
HOW_PART: dict[str, Any] = HOW | {"no_cpython_wrapper": True}


def compiled(signature: Any) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Return a decorator that compiles a function for one signature, or takes what was compiled before from its cache.

    Where no folder can hold the cache the function is compiled for this process only. The cache notices a change of the
    function's own file alone: constants of other files are handed to it as arguments.
    """
    from numba import njit

    def compile_it(function: Callable[..., Any]) -> Callable[..., Any]:
        done: Callable[..., Any]
        try:
            done = njit(signature, cache=True, **HOW)(function)
        except (OSError, RuntimeError):  # no folder can be written to, or the disk is full
            done = njit(signature, **HOW)(function)
        return done

    return compile_it


def part(function: Callable[..., Any]) -> Callable[..., Any]:
    """Let a function be compiled into those of its file that call it."""
    from numba import njit

    done: Callable[..., Any] = njit(**HOW_PART)(function)
    return done


def spread(work: Callable[[int, int], Any], size: int, least: int) -> list[Any]:
    """Return what `work(begin, end)` returns for parts of `range(size)`, each run by a thread of its own.

    Parameters
    ----------
    work : callable
        A compiled function; it must write only to what belongs to its own part.
    size : int
        How many things there are.
    least : int
        How many of them are worth a thread.
    """
    threads = max(min(cores(), size // max(least, 1)), 1)
    edges = [size * part // threads for part in range(threads + 1)]
    if threads == 1:
        return [work(0, size)]
    with ThreadPoolExecutor(threads - 1) as pool:
        others = [pool.submit(work, *edge) for edge in pairwise(edges[1:])]
        return [work(0, edges[1]), *(other.result() for other in others)]


def cores() -> int:
    """Return how many cores this process may use."""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:  # not on Linux
        return os.cpu_count() or 1


def compile_all() -> list[str]:
    """Compile what is not yet in its cache; return the modules that hold compiled functions."""
    root = Path(__file__).parents[2]
    files = (root / "ortet").rglob("*_kernel.py")
    names = sorted(".".join(file.relative_to(root).with_suffix("").parts) for file in files)
    for name in names:
        import_module(name)
    return names


if __name__ == "__main__":
    compile_all()
