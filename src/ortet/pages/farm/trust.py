"""The one page that a phone gets by plain http: the authority's certificate, and how to trust it. Nothing of the book."""

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from ortet.pages.policy import POLICY

__all__ = ["CERTIFICATE", "trust_page"]

CERTIFICATE = "/ortet-authority.crt"
STATIC = Path(__file__).parent.parent / "static" / "ortet"
LOOKS = {
    "/ortet.css": "text/css; charset=utf-8",
    "/mark.svg": "image/svg+xml",
    "/fonts/atkinson-hyperlegible-next-latin-wght-normal.woff2": "font/woff2",
    "/fonts/atkinson-hyperlegible-mono-latin-wght-normal.woff2": "font/woff2",
}

Application = Callable[[dict[str, Any], Callable[..., Any]], Iterable[bytes]]


def trust_page(certificate: bytes, fingerprint: str, pages: str) -> Application:
    """Return the application behind the plain door.

    Parameters
    ----------
    certificate : bytes
        The authority's, as DER.
    fingerprint : str
        Its SHA-256, as phones show it.
    pages : str
        The https address that it is for.
    """
    from django.conf import settings
    from django.core.handlers.wsgi import WSGIRequest
    from django.template.loader import render_to_string
    from django.utils import translation

    said = {"fingerprint": fingerprint.split(" "), "certificate": CERTIFICATE, "pages": pages}
    said_in: dict[str, bytes] = {}
    for language, _ in settings.LANGUAGES:
        with translation.override(language):
            said_in[language] = render_to_string("trust.html", said).encode()
    has = {
        CERTIFICATE: ("application/x-x509-ca-cert", certificate),
        **{path: (kind, (STATIC / path[1:]).read_bytes()) for path, kind in LOOKS.items()},
    }

    def answer(environ: dict[str, Any], start: Callable[..., Any]) -> Iterable[bytes]:
        if environ["REQUEST_METHOD"] not in ("GET", "HEAD"):
            start("405 Method Not Allowed", [("Allow", "GET, HEAD"), ("Content-Length", "0")])
            return [b""]
        kind, content = has.get(environ["PATH_INFO"], ("", b""))
        if environ["PATH_INFO"] == "/":
            asked_in = translation.get_language_from_request(WSGIRequest(environ))
            kind, content = "text/html; charset=utf-8", said_in[asked_in]
        headers = [
            ("Content-Type", kind or "text/plain; charset=utf-8"),
            ("Content-Length", str(len(content))),
            ("Content-Security-Policy", POLICY),
            ("X-Content-Type-Options", "nosniff"),
            ("Cache-Control", "no-store"),
        ]
        start("200 OK" if kind else "404 Not Found", headers)
        return [b"" if environ["REQUEST_METHOD"] == "HEAD" else content]

    return answer
