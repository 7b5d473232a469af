"""The same deeds as commands. `ortet --help` lists them."""

from . import look, deeds, receiving, growing, packing, after, papers, evidence, trials  # isort: skip  (in the order in which --help lists the commands)
from . import wishes, buyers, trace, mixup, scan, sample, plan  # isort: skip  (likewise)
from . import mix, cut, race, books, keep, exchange, phones, programs  # isort: skip  (likewise)
from .app import app

__all__ = [
    "after",
    "app",
    "books",
    "buyers",
    "cut",
    "deeds",
    "evidence",
    "exchange",
    "growing",
    "keep",
    "look",
    "main",
    "mix",
    "mixup",
    "packing",
    "papers",
    "phones",
    "plan",
    "programs",
    "race",
    "receiving",
    "sample",
    "scan",
    "trace",
    "trials",
    "wishes",
]


def main() -> None:
    """Run a command."""
    app(prog_name="ortet")
