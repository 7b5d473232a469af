"""The pages as a grower serves them: a process of its own, over a folder of its own."""

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from django.core.files import locks

__all__ = ["a_demo", "serving"]


@contextmanager
def serving(command: str, **env: str) -> Iterator[str]:
    """Serve by `ortet serve` or `ortet demo`, on SQLite; return the address that the command prints."""
    here = {name: value for name, value in os.environ.items() if name != "ORTET_DATABASE"} | env
    run = [sys.executable, "-u", "-m", "ortet", command, "--port", "0"]
    with subprocess.Popen(run, env=here, stdout=subprocess.PIPE, text=True) as server:
        lines = iter(server.stdout.readline, "")
        found = next(filter(None, (re.search(r"http://[\d.]+:\d+/", line) for line in lines)), None)
        try:
            assert found, f"`ortet {command}` served nothing"
            yield found[0]
        finally:
            server.terminate()


def a_demo(folders: pytest.TempPathFactory) -> Path:
    """Return a folder with the demo season: loaded once for all processes that share the tests, and copied for each that asks."""
    here = folders.mktemp("demo") / "season"
    shared = folders.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        shared = shared.parent
    loaded = shared / "demo-loaded"
    with (shared / "demo.lock").open("w") as held:
        locks.lock(held, locks.LOCK_EX)
        if not loaded.exists():
            with serving("demo", ORTET_DEMO_FOLDER=str(shared / "demo-loading")):
                pass
            (shared / "demo-loading").rename(loaded)
    shutil.copytree(loaded, here)
    return here
