"""The pages as a WSGI application, for cheroot here and for any server behind a proxy."""

import os
from collections.abc import Callable, Iterable
from typing import Any

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "ortet.settings")
_pages = get_wsgi_application()


class _Whole:
    """The body of a request, which is an error where the connection broke off: `count=12` cut short would be `count=1`."""

    def __init__(self, body: Any, size: int) -> None:
        self._body, self._left = body, size

    def read(self, size: int = -1) -> bytes:
        asked = self._left if size is None or size < 0 else min(size, self._left)
        return self._counted(self._body.read(asked), asked)

    def readline(self, size: int = -1) -> bytes:
        most = self._left if size is None or size < 0 else min(size, self._left)
        line = self._body.readline(most)
        return self._counted(line, len(line) if line.endswith(b"\n") else most)

    def _counted(self, part: bytes, asked: int) -> bytes:
        if len(part) < asked:
            raise OSError("The connection broke off before all of it was sent. Nothing was booked.")
        self._left -= len(part)
        return part


def application(environ: dict[str, Any], start: Callable[..., Any]) -> Iterable[bytes]:
    """Answer; to HEAD without a body, which cheroot would send on and the next answer would begin with (RFC 9110, 9.3.2)."""
    size = environ.get("CONTENT_LENGTH") or ""
    if size.isdecimal():
        environ["wsgi.input"] = _Whole(environ["wsgi.input"], int(size))
    response = _pages(environ, start)
    if environ["REQUEST_METHOD"] != "HEAD":
        return response
    response.close()
    return []
