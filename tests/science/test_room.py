"""The science room stands alone: no Django, nothing heavy, everything documented."""

import importlib
import inspect
import pkgutil
import subprocess
import sys

import pytest

import ortet.science

SUBJECTS = sorted(module.name for module in pkgutil.iter_modules(ortet.science.__path__))
# kernels bring the compiler, and are imported by functions
LIGHT = [name for name in SUBJECTS if not name.endswith("_kernel")]


def test_science_brings_no_django_and_nothing_heavy():
    names = ", ".join(f"ortet.science.{name}" for name in LIGHT)
    code = (
        f"import sys, {names}\n"
        "print([m for m in ('django', 'scipy', 'numba', 'polars', 'pandas', 'typst') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize("subject", SUBJECTS)
def test_every_public_name_is_real_and_documented(subject):
    module = importlib.import_module(f"ortet.science.{subject}")
    assert module.__doc__ and module.__all__
    for name in module.__all__:
        thing = getattr(module, name)
        if inspect.isfunction(thing) or inspect.isclass(thing):
            assert inspect.getdoc(thing), f"{subject}.{name} needs a docstring"
