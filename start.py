#!/usr/bin/env python3
"""Makes Ortet ready beside this file, then runs it. Needs nothing but Python.

The environment is `.venv`, filled from a lock file in which each package is named by its hash. Ortet itself is not
installed into it: one line in a `.pth` file leads Python to `src`, which needs neither network nor build tools, and
what runs is always what lies here. A stamp written last says what `.venv` was made from; while it holds there is
nothing to do, and a set-up that was broken off never looks like a finished one.

This file avoids what old Pythons cannot read (no annotations, no f-strings), so that they too get a plain sentence.
"""

from __future__ import print_function

import hashlib
import os
import sys

__all__ = [
    "HELP",
    "NotReady",
    "fingerprint",
    "is_compiled",
    "is_ready",
    "kernels",
    "main",
    "make_ready",
    "too_old",
]

OLDEST = (3, 11)
ROOT = os.path.dirname(os.path.abspath(__file__))

HELP = """\
python3 start.py demo        an invented season: Today in the terminal, and its pages in your browser
python3 start.py test        the whole test suite, with what it needs

python3 start.py COMMAND     any command of Ortet; `python3 start.py --help` lists them
"""

# What an environment for each purpose is filled from.
LOCKS = {"run": "requirements.lock", "test": "requirements-test.lock"}


class NotReady(Exception):
    """The environment could not be made; the text says why and what to do."""


def too_old(version):
    """Return the sentence for a Python that is too old, or None."""
    if tuple(version[:2]) >= OLDEST:
        return None
    return (
        "Ortet needs Python {0}.{1} or newer; this is Python {2}.{3}. Install a newer one and start again with it, "
        "for example: python{0}.{1} start.py demo. Nothing was changed.".format(
            *(OLDEST + tuple(version[:2]))
        )
    )


def say(text):
    """Tell the person at the terminal; the answer itself goes to standard output."""
    print(text, file=sys.stderr)
    sys.stderr.flush()


def python_of(venv):
    """Return where an environment's Python is."""
    return os.path.join(venv, *(["Scripts", "python.exe"] if os.name == "nt" else ["bin", "python"]))


def fingerprint(root, purpose):
    """Return what the stamp must say: this kind of Python, and the lock file as it is now."""
    with open(os.path.join(root, LOCKS[purpose]), "rb") as lock:
        return "{0} {1} {2}\n".format(
            sys.implementation.cache_tag, sys.platform, hashlib.sha256(lock.read()).hexdigest()
        )


def _stamp(root, purpose):
    return os.path.join(root, ".venv", "ortet-{0}.stamp".format(purpose))


def is_ready(root, purpose):
    """Return whether `.venv` was finished for this purpose, from the lock file as it is now, and is still there."""
    if not os.path.exists(python_of(os.path.join(root, ".venv"))):
        return False
    try:
        with open(_stamp(root, purpose)) as stamp:
            return stamp.read() == fingerprint(root, purpose)
    except OSError:
        return False


def make_ready(root, purpose):
    """Make `.venv` fit for a purpose: "run", or "test", which holds all of "run" too."""
    if not is_ready(root, purpose):
        with _alone(root) as broken_off:
            if not is_ready(root, purpose):  # another start may have done it while this one waited
                _fill(root, purpose, broken_off)
                for held in ["run", "test"] if purpose == "test" else ["run"]:
                    with open(_stamp(root, held), "w") as stamp:
                        stamp.write(fingerprint(root, held))
                say("Ready. From now on this starts without a network.")
    if not is_compiled(root):
        _compile(root)


def kernels(root):
    """Return a word for what is compiled, as it is now, or nothing where there is nothing to compile."""
    import glob

    files = sorted(glob.glob(os.path.join(root, "src", "ortet", "**", "*_kernel.py"), recursive=True))
    word = hashlib.sha256()
    for file in files:
        with open(file, "rb") as source:
            word.update(source.read())
    return word.hexdigest() + "\n" if files else ""


def is_compiled(root):
    """Return whether the large sums were compiled as they are now; true where there are none."""
    word = kernels(root)
    try:
        with open(_stamp(root, "compiled")) as stamp:
            return not word or stamp.read() == word
    except OSError:
        return not word


def _compile(root):
    """Compile the large sums, so that nobody waits for it later; where that fails, they are when first needed."""
    import subprocess

    try:
        with open(_stamp(root, "compiled"), "w") as stamp:
            say(
                "Compiling the large sums, which takes 15 s or so. This is done once, and after each change of them."
            )
            with open(os.devnull, "w") as nowhere:
                command = [python_of(os.path.join(root, ".venv")), "-m", "ortet.science.compiled"]
                subprocess.call(command, stdout=nowhere, stderr=nowhere)
            stamp.write(kernels(root))
    except OSError:
        pass  # where nothing can be written nothing can be kept: then each process compiles for itself


class _alone(object):
    """Let one start at a time set up. The file it holds stays behind where a set-up is broken off."""

    def __init__(self, root):
        self.path = os.path.join(root, ".venv.setup")

    def __enter__(self):
        broken_off = os.path.exists(self.path)
        self.file = open(self.path, "a")
        try:
            self._lock(wait=False)
        except OSError:
            say("Another start is setting up. Waiting for it.")
            self._lock(wait=True)
            broken_off = os.path.exists(self.path)
        return broken_off

    def __exit__(self, kind, error, trace):
        if os.name == "nt":
            self.file.close()  # Windows removes no open file
        if kind is None and os.path.exists(self.path):
            os.remove(self.path)
        self.file.close()

    def _lock(self, wait):
        if os.name == "nt":
            import msvcrt

            while True:  # LK_LOCK itself gives up after ten tries, a second apart
                try:
                    msvcrt.locking(self.file.fileno(), msvcrt.LK_LOCK if wait else msvcrt.LK_NBLCK, 1)
                    return
                except OSError:
                    if not wait:
                        raise
        else:
            import fcntl

            fcntl.flock(self.file, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))


def _fill(root, purpose, broken_off):
    """Install what the lock file names, with uv where it is present and can, else with venv and pip."""
    import shutil

    venv = os.path.join(root, ".venv")
    lock = os.path.join(root, LOCKS[purpose])
    if broken_off and os.path.exists(venv):
        say("An earlier set-up was broken off. Starting it afresh.")
        _remove(venv)
    uv = shutil.which("uv")
    count = _count(lock)
    say(
        "Setting up {0} packages in .venv, {1}. This is done once.".format(
            count, "with uv" if uv else "with pip"
        )
    )
    if uv:
        try:
            if not _fits(venv):
                _remove(venv)
                _run([uv, "venv", "--quiet", "--python", _base(), venv])
            # Compiled now, as pip does, so that the first start is quick.
            install = [uv, "pip", "install", "--quiet", "--compile-bytecode", "--python", python_of(venv)]
            _run(install + ["--require-hashes", "-r", lock])
        except NotReady as error:
            say("{0}\nTrying with pip instead.".format(error))
            uv = None
    if not uv:
        if not _fits(venv) or not _has(venv, "pip"):
            _make_venv(venv)
        pip = [python_of(venv), "-m", "pip", "--disable-pip-version-check", "--no-input"]
        _run(pip + ["install", "--progress-bar", "off", "--require-hashes", "-r", lock], count)
    _lead_to(venv, os.path.join(root, "src"))


def _count(lock):
    """Return how many packages a lock file names, each once."""
    with open(lock) as lines:
        return len(
            {line.split("==")[0] for line in lines if "==" in line and not line.startswith((" ", "#"))}
        )


def _base():
    """Return the Python that environments are made from, even where this one is an environment's own."""
    return getattr(sys, "_base_executable", None) or sys.executable


def _remove(venv):
    """Take an environment away."""
    import shutil

    if not os.path.lexists(venv):
        return
    if os.path.abspath(sys.prefix) == venv:
        raise NotReady(
            "This Python is the one in .venv, which must be made anew. Start with another, for example: {0} start.py. "
            "Nothing was changed.".format(_base())
        )
    if os.path.islink(venv):
        os.remove(venv)
    else:
        shutil.rmtree(venv)


def _ask(venv, code):
    """Return what an environment's Python prints for a line of code, or nothing where it cannot."""
    import subprocess

    try:
        return (
            subprocess.check_output([python_of(venv), "-c", code], stderr=subprocess.DEVNULL).decode().strip()
        )
    except (OSError, subprocess.CalledProcessError):
        return ""


def _fits(venv):
    """Return whether there is an environment that starts, and of the same kind of Python as this one."""
    return _ask(venv, "import sys; print(sys.implementation.cache_tag)") == sys.implementation.cache_tag


def _has(venv, module):
    return bool(_ask(venv, "import {0}; print(1)".format(module)))


def _make_venv(venv):
    """Make an environment afresh with the standard library; say which package brings what Debian leaves out."""
    if not (_can("venv") and _can("ensurepip")):
        raise NotReady(no_venv())
    _remove(venv)
    _run([_base(), "-m", "venv", venv])


def _can(module):
    """Return whether this Python has a module."""
    import importlib.util

    return importlib.util.find_spec(module) is not None


def no_venv():
    """Return the sentence for a Python without venv or ensurepip."""
    return (
        "This Python cannot make an environment: its venv or ensurepip module is missing, as on a bare Debian or Ubuntu. "
        "Install it with: sudo apt install python{0}.{1}-venv (or install uv), then start again. "
        "Nothing was changed.".format(*sys.version_info[:2])
    )


def _lead_to(venv, source):
    """Let an environment's Python find Ortet's source; relative, so that the folder may be moved."""
    site = _ask(venv, "import sysconfig; print(sysconfig.get_path('purelib'))")
    with open(os.path.join(site, "ortet.pth"), "w") as path:
        path.write(os.path.relpath(source, site) + "\n")


def _run(command, count=None):
    """Run an installer quietly, counting its packages on a terminal; raise with its last words where it fails."""
    import subprocess

    last, seen, counting = [], 0, count and sys.stderr.isatty()
    # pip caches under the home folder; what a person set for pip or uv otherwise stays in force.
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, stdin=subprocess.DEVNULL
    ) as run:
        for line in run.stdout:
            text = line.decode("utf-8", "replace").rstrip()
            if not text.startswith("Ignoring "):  # a package for another kind of machine
                last = (last + [text])[-12:]
            if counting and text.startswith("Collecting "):
                seen += 1
                sys.stderr.write(
                    "\r  {0} of {1}  {2:<50.50}".format(min(seen, count), count, text.split()[1])
                )
                sys.stderr.flush()
    if counting and seen:
        sys.stderr.write("\r{0:70}\r".format(""))
    if run.returncode:
        raise NotReady(
            "Setting up failed; it needs a network, this once. The last words of the installer:\n{0}".format(
                "\n".join(map(_plain, last))
            )
        )


def _plain(line):
    """Return an installer's line without the addresses it fetched from."""
    import re

    return "  " + re.sub(r"\w+://\S+|host='[^']*'", "(address)", line)


def _become(command):
    """Hand this process over to a command; on Windows, wait for it."""
    if os.name != "nt":
        os.execv(command[0], command)
    import subprocess

    try:
        return subprocess.call(command)
    except KeyboardInterrupt:
        return 130


def main(words):
    """Make ready, then run a command; return the exit code."""
    sentence = too_old(sys.version_info)
    if sentence:
        say(sentence)
        return 1
    if not words:
        print(HELP, end="")
        return 0
    try:
        make_ready(ROOT, "test" if words[0] == "test" else "run")
    except NotReady as error:
        say(str(error))
        return 1
    except OSError as error:
        say("Setting up failed: {0}. Mend that and start again.".format(error))
        return 1
    except KeyboardInterrupt:
        say("\nBroken off. The next start begins the set-up afresh.")
        return 130
    python = python_of(os.path.join(ROOT, ".venv"))
    if words[0] == "test":
        os.chdir(ROOT)
        return _become([python, "-m", "tests.machine"] + words[1:])
    return _become([python, "-m", "ortet"] + words)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
