"""start.py makes the environment once, says plainly what is missing, and never takes a half-made one for a whole."""

import ast
import importlib.util
import os
import shutil
import subprocess
import sys
import threading
from pathlib import Path
from types import ModuleType

import pytest

FILE = Path(__file__).parents[2] / "start.py"
OLD_PYTHONS = ["python2", "python2.7", "python3.6", "python3.8", "python3.9", "python3.10"]


@pytest.fixture
def start() -> ModuleType:
    """start.py as a module of its own for each test."""
    spec = importlib.util.spec_from_file_location("start", FILE)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def checkout(tmp_path: Path) -> Path:
    """A checkout with an empty lock file: its environment holds nothing, so making it needs no network."""
    for name in ("requirements.lock", "requirements-test.lock"):
        (tmp_path / name).write_text("# nothing\n")
    (tmp_path / "src" / "ortet").mkdir(parents=True)
    (tmp_path / "src" / "ortet" / "__init__.py").touch()
    (tmp_path / "src" / "ortet" / "__main__.py").write_text(
        "import os, sys\nprint(os.getcwd(), sys.argv[1:])\nsys.exit(3)\n"
    )
    shutil.copy(FILE, tmp_path)
    return tmp_path


@pytest.fixture
def without_uv(monkeypatch: pytest.MonkeyPatch) -> None:
    which = shutil.which
    monkeypatch.setattr(shutil, "which", lambda name, *rest: None if name == "uv" else which(name, *rest))


@pytest.fixture
def filled(start: ModuleType, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Count the fillings, each of which only makes the file that stands for Python."""
    done: list[str] = []

    def fill(root: str, purpose: str, broken_off: bool) -> None:
        done.append(f"{purpose}{' afresh' if broken_off else ''}")
        python = Path(start.python_of(str(Path(root, ".venv"))))
        python.parent.mkdir(parents=True, exist_ok=True)
        python.touch()

    monkeypatch.setattr(start, "_fill", fill)
    return done


def test_help_names_the_two_commands(start, capsys):
    assert start.main([]) == 0
    said = capsys.readouterr().out
    assert "python3 start.py demo" in said
    assert "python3 start.py test" in said


@pytest.mark.parametrize("version", [(2, 7, 18), (3, 6, 15), (3, 10, 13)])
def test_an_old_python_is_told_which_one_is_needed(start, monkeypatch, capsys, version):
    monkeypatch.setattr(start.sys, "version_info", version)
    assert start.main(["demo"]) == 1
    said = capsys.readouterr().err
    assert "needs Python 3.11 or newer" in said
    assert f"this is Python {version[0]}.{version[1]}." in said
    assert "Nothing was changed." in said


def test_the_oldest_python_allowed_is_the_one_the_package_asks_for(start):
    import tomllib

    asked = tomllib.loads(FILE.with_name("pyproject.toml").read_text())["project"]["requires-python"]
    assert asked == ">=" + ".".join(map(str, start.OLDEST))
    assert start.too_old((3, 11, 0)) is None
    assert start.too_old((3, 14, 1)) is None


def test_old_pythons_can_read_it():
    tree = ast.parse(FILE.read_text(), feature_version=(3, 4))
    new = (
        ast.JoinedStr,
        ast.AnnAssign,
        ast.NamedExpr,
        ast.Match,
        ast.AsyncFunctionDef,
        ast.YieldFrom,
        ast.Nonlocal,
    )
    for node in ast.walk(tree):
        assert not isinstance(node, new), ast.unparse(node)
        if isinstance(node, ast.arg | ast.FunctionDef):
            assert getattr(node, "annotation", None) is None
            assert getattr(node, "returns", None) is None
        if isinstance(node, ast.Raise):
            assert node.cause is None, "raise from is new in Python 3"
        if isinstance(node, ast.arguments):
            assert not node.kwonlyargs
            assert not node.posonlyargs
        if isinstance(node, ast.List | ast.Tuple):
            assert not any(isinstance(item, ast.Starred) for item in node.elts), (
                "unpacking into a list is new in 3.5"
            )
    assert FILE.read_text().isascii(), "Python 2 reads ASCII unless told otherwise"


def test_every_old_python_on_this_machine_ends_with_the_sentence():
    for name in filter(shutil.which, OLD_PYTHONS):
        if subprocess.run([name, "-c", "pass"], capture_output=True).returncode:
            continue  # a name on the path that leads to no Python
        done = subprocess.run([name, FILE, "demo"], capture_output=True, text=True)
        assert (done.returncode, "needs Python 3.11" in done.stderr) == (1, True), done.stderr


def test_a_finished_environment_is_left_alone(start, checkout, filled):
    start.make_ready(str(checkout), "run")
    start.make_ready(str(checkout), "run")
    assert filled == ["run"]


def test_a_changed_lock_file_is_noticed(start, checkout, filled):
    start.make_ready(str(checkout), "run")
    (checkout / "requirements.lock").write_text("# another\n")
    assert not start.is_ready(str(checkout), "run")
    start.make_ready(str(checkout), "run")
    assert filled == ["run", "run"]


def test_another_python_is_noticed(start, checkout, filled, monkeypatch):
    start.make_ready(str(checkout), "run")
    monkeypatch.setattr(start.sys, "implementation", type("Other", (), {"cache_tag": "cpython-399"}))
    assert not start.is_ready(str(checkout), "run")


def test_a_removed_environment_is_noticed(start, checkout, filled):
    start.make_ready(str(checkout), "run")
    Path(start.python_of(str(checkout / ".venv"))).unlink()
    assert not start.is_ready(str(checkout), "run")


def test_what_tests_need_holds_what_running_needs(start, checkout, filled):
    start.make_ready(str(checkout), "run")
    assert not start.is_ready(str(checkout), "test")
    start.make_ready(str(checkout), "test")
    start.make_ready(str(checkout), "run")
    assert filled == ["run", "test"]


def test_the_lock_for_tests_holds_every_package_and_hash_of_the_lock_for_running(start):
    running, testing = (
        {
            line.split(";")[0].strip(" \\")
            for line in FILE.with_name(start.LOCKS[purpose]).read_text().splitlines()
            if "==" in line or "--hash" in line
        }
        for purpose in ("run", "test")
    )
    assert len(running) > 50
    assert running <= testing


@pytest.mark.parametrize("interruption", [KeyboardInterrupt, OSError("disk full")])
def test_a_set_up_broken_off_is_done_afresh(start, checkout, filled, monkeypatch, interruption):
    whole = start._fill

    def broken(root, purpose, broken_off):
        whole(root, purpose, broken_off)
        raise interruption

    monkeypatch.setattr(start, "_fill", broken)
    with pytest.raises((KeyboardInterrupt, OSError)):
        start.make_ready(str(checkout), "run")
    assert not start.is_ready(str(checkout), "run")
    monkeypatch.setattr(start, "_fill", whole)
    start.make_ready(str(checkout), "run")
    assert filled == ["run", "run afresh"]
    assert start.is_ready(str(checkout), "run")
    assert not (checkout / ".venv.setup").exists()


def test_a_half_made_environment_is_taken_away_first(start, checkout, without_uv, monkeypatch):
    made = Path(start.python_of(str(checkout / ".venv")))
    monkeypatch.setattr(
        start,
        "_run",
        lambda command, count=None: made.parent.mkdir(parents=True, exist_ok=True) or made.touch(),
    )
    monkeypatch.setattr(start, "_lead_to", lambda venv, source: None)
    (checkout / ".venv.setup").touch()
    half = checkout / ".venv" / "half"
    half.parent.mkdir()
    half.touch()
    start.make_ready(str(checkout), "run")
    assert not half.exists()
    assert start.is_ready(str(checkout), "run")


def test_two_starts_at_once_set_up_once(start, checkout, filled, monkeypatch):
    fill, inside, go_on = start._fill, threading.Event(), threading.Event()

    def slow(root, purpose, broken_off):
        inside.set()
        assert go_on.wait(30)
        fill(root, purpose, broken_off)

    monkeypatch.setattr(start, "_fill", slow)
    monkeypatch.setattr(start, "say", lambda text: go_on.set() if "Waiting" in text else None)
    first, second = (threading.Thread(target=start.make_ready, args=(str(checkout), "run")) for _ in range(2))
    first.start()
    assert inside.wait(30)
    second.start()
    first.join(30)
    second.join(30)
    assert filled == ["run"]


@pytest.fixture
def compiled(start: ModuleType, checkout: Path, monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Count the compilings of a checkout that has something to compile, without compiling."""
    kernel = checkout / "src" / "ortet" / "science" / "sum_kernel.py"
    kernel.parent.mkdir()
    kernel.write_text("# a sum\n")
    done: list[int] = []
    monkeypatch.setattr(subprocess, "call", lambda command, **rest: done.append(len(command)) or 1)
    return done


def test_large_sums_are_compiled_once_and_it_is_said(start, checkout, filled, compiled, capsys):
    start.make_ready(str(checkout), "run")
    start.make_ready(str(checkout), "run")
    assert filled == ["run"]
    assert len(compiled) == 1
    assert capsys.readouterr().err.count("Compiling the large sums") == 1


def test_a_sum_is_seen_however_deep_it_lies(start, checkout):
    deep = checkout / "src" / "ortet" / "decisions" / "cut" / "knife_kernel.py"
    deep.parent.mkdir(parents=True)
    assert start.kernels(str(checkout)) == ""
    deep.write_text("# a sum\n")
    assert start.kernels(str(checkout))


def test_large_sums_are_compiled_again_once_they_changed(start, checkout, filled, compiled):
    start.make_ready(str(checkout), "run")
    (checkout / "src" / "ortet" / "science" / "sum_kernel.py").write_text("# another sum\n")
    assert not start.is_compiled(str(checkout))
    start.make_ready(str(checkout), "run")
    assert filled == ["run"]
    assert len(compiled) == 2


def test_where_nothing_can_be_written_nothing_is_said_of_compiling(start, checkout, filled, compiled, capsys):
    start.make_ready(str(checkout), "run")
    stamp = Path(start._stamp(str(checkout), "compiled"))
    stamp.unlink()
    stamp.mkdir()  # cannot be opened, whoever runs the tests
    capsys.readouterr()
    start.make_ready(str(checkout), "run")
    assert (len(compiled), capsys.readouterr().err) == (1, "")


def test_where_there_is_nothing_to_compile_nothing_is_said(start, checkout, filled, capsys):
    start.make_ready(str(checkout), "run")
    assert start.is_compiled(str(checkout))
    assert "Compiling" not in capsys.readouterr().err


def test_every_kernel_of_the_house_is_found_and_compiles(start):
    """For real: the command that start.py runs imports each module that it looks at."""
    from ortet.science.compiled import compile_all

    found = {path.stem for path in (FILE.parent / "src" / "ortet").rglob("*_kernel.py")}
    assert {name.rsplit(".", 1)[1] for name in compile_all()} == found
    assert {"bag_kernel", "chill_kernel"} <= found
    assert start.kernels(str(FILE.parent))


def test_a_python_without_venv_is_told_the_package(start, checkout, without_uv, monkeypatch, capsys):
    can = start._can
    monkeypatch.setattr(start, "_can", lambda module: module != "ensurepip" and can(module))
    monkeypatch.setattr(start, "ROOT", str(checkout))
    assert start.main(["demo"]) == 1
    said = capsys.readouterr().err
    assert f"sudo apt install python3.{sys.version_info[1]}-venv" in said
    assert not (checkout / ".venv").exists()


def test_what_an_installer_says_is_told_without_its_addresses(start, capfd):
    words = "print('fetching https://registry.example/simple/ failed'); raise SystemExit(2)"
    with pytest.raises(start.NotReady) as told:
        start._run([sys.executable, "-c", words])
    assert "fetching (address) failed" in str(told.value)
    assert "registry" not in str(told.value)


def test_a_lock_file_that_cannot_be_read_is_said(start, checkout, monkeypatch, capsys):
    (checkout / "requirements.lock").unlink()
    monkeypatch.setattr(start, "ROOT", str(checkout))
    assert start.main(["demo"]) == 1
    assert "requirements.lock" in capsys.readouterr().err


def test_for_real_from_another_folder_and_again(checkout, tmp_path_factory):
    """The command runs where the person stands, gets the words, gives its exit code; the second start says nothing."""
    here = tmp_path_factory.mktemp("here")
    path = os.pathsep.join(
        part for part in os.environ["PATH"].split(os.pathsep) if not Path(part, "uv").exists()
    )
    command = [sys.executable, checkout / "start.py", "today", "--json"]
    first, second = (
        subprocess.run(
            command, cwd=here, env={**os.environ, "PATH": path}, capture_output=True, text=True, check=False
        )
        for _ in range(2)
    )
    assert first.returncode == second.returncode == 3, first.stderr
    assert first.stdout == second.stdout == f"{here} ['today', '--json']\n"
    assert "Setting up 0 packages" in first.stderr
    assert second.stderr == ""
