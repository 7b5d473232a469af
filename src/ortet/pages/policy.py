"""What a browser may load for these pages: what this server itself sends, and nothing else; and when it may send cookies."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

__all__ = ["SHED_POLICY", "CookiesOnlyAsTheyCame", "OnlyOwnThings"]

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
# The page for the shed alone runs WebAssembly, which reads codes: CSP Level 3 (W3C), 'wasm-unsafe-eval' allows no other eval.
SHED_POLICY = POLICY.replace("script-src 'self'", "script-src 'self' 'wasm-unsafe-eval'")


class OnlyOwnThings:
    """Middleware: send the policy with every answer that does not bring its own."""

    def __init__(self, answer: Callable[[HttpRequest], HttpResponse]) -> None:
        self.answer = answer

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer, with the policy."""
        response = self.answer(request)
        response.headers.setdefault("Content-Security-Policy", POLICY)
        return response


class CookiesOnlyAsTheyCame:
    """Middleware: a cookie that was set over TLS is never sent without it. A setting could not say so: the desk has no TLS."""

    def __init__(self, answer: Callable[[HttpRequest], HttpResponse]) -> None:
        self.answer = answer

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer, with every cookie marked."""
        response = self.answer(request)
        if request.is_secure():
            for cookie in response.cookies.values():
                cookie["secure"] = True
        return response
