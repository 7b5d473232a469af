"""The pages as a WSGI application, for cheroot here and for any server behind a proxy."""

import os
from collections.abc import Callable, Iterable
from typing import Any

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "ortet.settings")
_pages = get_wsgi_application()


def application(environ: dict[str, Any], start: Callable[..., Any]) -> Iterable[bytes]:
    """Answer; to HEAD without a body, which cheroot would send on and the next answer would begin with (RFC 9110, 9.3.2)."""
    response = _pages(environ, start)
    if environ["REQUEST_METHOD"] != "HEAD":
        return response
    response.close()
    return []
