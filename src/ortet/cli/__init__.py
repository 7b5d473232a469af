"""The same deeds as commands. `ortet --help` lists them."""

from . import look, deeds, keep  # isort: skip  (in the order in which --help lists the commands)
from .app import app

__all__ = ["app", "deeds", "keep", "look", "main"]


def main() -> None:
    """Run a command."""
    app(prog_name="ortet")
