"""Debian's packages, where this machine has them and we may install them."""

import os
import shutil
import subprocess
import sys

__all__ = ["can_install", "install"]


def can_install() -> bool:
    """Return whether this is a Debian (or one of its kin) on which we are root."""
    return shutil.which("apt-get") is not None and hasattr(os, "geteuid") and os.geteuid() == 0


def install(*packages: str) -> None:
    """Install packages; end with apt's own last words where that fails."""
    print(f"Installing {', '.join(packages)} from Debian.", file=sys.stderr, flush=True)
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    for words in (["update"], ["install", "-y", "--no-install-recommends", *packages]):
        done = subprocess.run(["apt-get", *words], env=quiet, capture_output=True, text=True, check=False)
        if done.returncode:
            last = "\n".join(done.stderr.splitlines()[-5:])
            raise SystemExit(
                f"apt-get {' '.join(words)} failed:\n{last}\nInstall {', '.join(packages)} and start again."
            )
