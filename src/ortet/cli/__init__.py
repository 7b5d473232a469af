"""The same deeds as commands. `ortet --help` lists them."""

from . import look, deeds, growing, trials, wishes, trace, plan, mix, cut, race, keep, phones  # isort: skip  (in the order in which --help lists the commands)
from .app import app

__all__ = ["app", "cut", "deeds", "growing", "keep", "look", "main", "mix", "phones", "plan", "race", "trace", "trials", "wishes"]


def main() -> None:
    """Run a command."""
    app(prog_name="ortet")
