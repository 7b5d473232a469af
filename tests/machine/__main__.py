"""The whole run: lint, types, import contracts, then every test on SQLite and again on PostgreSQL.

Words after `test` go to pytest, such as a folder or `-k words`; lint, types and contracts run all the same. Rooms that know no
database, as the import contract holds, are tested once: the second run leaves them out, and start.py's tests with them. So
are tests marked `once`, such as how pages look: the same bytes whatever database stands behind them.
"""

import os
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from . import chromium, postgres

SCRIPTS = Path(sys.executable).parent

CHECKS = {
    "lint": ["ruff", "check", "--quiet"],
    "format": ["ruff", "format", "--check", "--quiet"],
    "types": ["mypy"],
    "imports": ["lint-imports", "--no-logo"],
}


ONCE = ("decisions", "evidence", "languages", "outside", "paper", "science", "start", "tables", "wood")


NO_TESTS = 5  # pytest's answer where it was asked for none


def _step(
    name: str, words: list[str], env: dict[str, str], *, none_is_well: bool = False
) -> tuple[str, bool]:
    """Run one step, its output as it comes; return its line for the summary and whether it passed."""
    print(f"\n== {name}", flush=True)
    start = time.monotonic()
    code = subprocess.run(words, env=env, check=False).returncode
    if none_is_well and code == NO_TESTS:
        return f"{name:<12} none of these tests know a database", True
    line = f"{name:<12} {'passed' if code == 0 else f'FAILED ({code})':<12} {time.monotonic() - start:4.0f} s"
    return line, code == 0


def _pytest(words: list[str]) -> list[str]:
    """Return pytest's command, on as many processes as there are cores."""
    return [sys.executable, "-m", "pytest", "-n", str(os.cpu_count() or 1), "-q", *words]


def main(words: list[str]) -> int:
    """Run every step, even after one failed; return 0 if all passed."""
    # Told to end, end as after Ctrl-C: with the server stopped.
    signal.signal(signal.SIGTERM, lambda number, frame: sys.exit(128 + number))
    browser = chromium.provide()
    with tempfile.TemporaryDirectory(prefix="ortet-tests-") as folder, postgres.running() as server:
        env = {**os.environ, "ORTET_FOLDER": folder, "ORTET_CHROMIUM": browser}
        env.pop("ORTET_DATABASE", None)
        env.pop("PYTHONDONTWRITEBYTECODE", None)  # or every program that a test starts is compiled anew
        results = [_step(name, [str(SCRIPTS / check[0]), *check[1:]], env) for name, check in CHECKS.items()]
        results.append(_step("SQLite", _pytest(words), env))
        again = ["-m", "not once", *(f"--ignore=tests/{room}" for room in ONCE)]
        on_server = {**env, "ORTET_DATABASE": server}
        results.append(_step("PostgreSQL", _pytest([*again, *words]), on_server, none_is_well=bool(words)))
    print("\n" + "\n".join(line for line, _ in results))
    return 0 if all(passed for _, passed in results) else 1


if __name__ == "__main__":
    try:
        code = main(sys.argv[1:])
    except KeyboardInterrupt:
        print("\nBroken off. The tests' PostgreSQL was stopped.", file=sys.stderr)
        code = 130
    sys.exit(code)
