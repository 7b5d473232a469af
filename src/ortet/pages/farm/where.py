"""Where the farm's doors are open, noted in the folder so that `ortet pair` and every page can say it."""

import json
import socket
from dataclasses import asdict, dataclass
from pathlib import Path
from urllib.parse import urlsplit

from django.conf import settings

__all__ = ["Where", "forget", "note", "open_now"]


@dataclass(frozen=True, slots=True)
class Where:
    """The two doors, as addresses without a path, and how the authority is told from a false one."""

    pages: str  # https
    trust: str  # http: the certificate and how to trust it
    named: str  # the pages by this machine's name, where the network knows names; or empty
    fingerprint: str


def _path() -> Path:
    return settings.FOLDER / "farm" / "open.json"


def note(where: Where) -> None:
    """Say where the doors are."""
    _path().write_text(json.dumps(asdict(where)))


def forget() -> None:
    """Say that they are shut."""
    _path().unlink(missing_ok=True)


def open_now() -> Where | None:
    """Return where the doors are, if they are open: a program that was killed could not say that it ended."""
    try:
        where = Where(**json.loads(_path().read_text()))
        door = urlsplit(where.trust)
        with socket.create_connection((door.hostname, door.port), timeout=1):
            return where
    except (OSError, ValueError, TypeError):
        return None
