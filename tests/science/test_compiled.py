"""Compiled functions work where no cache can be kept, and large sums are shared out whole."""

from pathlib import Path

import pytest

from ortet.science import compiled


@pytest.mark.parametrize("trouble", [RuntimeError("no locator available"), OSError("disk full")])
def test_without_a_folder_for_the_cache_it_compiles_all_the_same(monkeypatch, trouble):
    from numba.core import caching, types

    def refuse(*_):
        raise trouble

    monkeypatch.setattr(caching.FunctionCache, "__init__", refuse)
    twice = compiled.compiled(types.float64(types.float64))(lambda x: 2.0 * x)
    assert twice(21.0) == 42.0


@pytest.mark.parametrize("size", [0, 1, 7, 100])
@pytest.mark.parametrize("cores", [1, 2, 5])
def test_parts_are_the_whole_each_once(monkeypatch, size, cores):
    monkeypatch.setattr(compiled, "cores", lambda: cores)
    parts = compiled.spread(lambda begin, end: list(range(begin, end)), size, 3)
    assert [n for part in parts for n in part] == list(range(size))
    assert len(parts) == max(min(cores, size // 3), 1)


def test_what_goes_wrong_in_a_part_is_not_lost(monkeypatch):
    monkeypatch.setattr(compiled, "cores", lambda: 2)

    def fail(begin, end):
        if begin:
            raise ValueError("the second half")

    with pytest.raises(ValueError, match="second half"):
        compiled.spread(fail, 10, 1)


def test_nothing_is_compiled_in_another_way():
    """Else it would be missed at set-up, or fail where no folder can hold the cache."""
    root = Path(compiled.__file__).parents[1]
    own = [str(file.relative_to(root)) for file in root.rglob("*.py") if "njit" in file.read_text("utf-8")]
    assert own == [str(Path("science", "compiled.py"))]
