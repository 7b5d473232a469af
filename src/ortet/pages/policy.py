"""What a browser may load for these pages: what this server itself sends, and nothing else."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

__all__ = ["OnlyOwnThings"]

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "font-src 'self'",
        "img-src 'self' data: blob:",
        "connect-src 'self'",
        "manifest-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)


class OnlyOwnThings:
    """Middleware: send the policy with every answer that does not bring its own."""

    def __init__(self, answer: Callable[[HttpRequest], HttpResponse]) -> None:
        self.answer = answer

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer, with the policy."""
        response = self.answer(request)
        response.headers.setdefault("Content-Security-Policy", POLICY)
        return response
