"""The API whole: its calls, how it says no, and the document that describes it."""

from functools import lru_cache
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.urls import URLResolver
from django.urls.exceptions import Resolver404
from django.urls.resolvers import RegexPattern
from ninja import NinjaAPI

from ortet.work.programs import SCOPES

from .deeds import deeds
from .look import look
from .problems import MEDIA_TYPE, handled, other_method, problem

__all__ = ["MOST_BYTES", "answer", "document"]

BASE = "/api/v1/"
MOST_BYTES = 1_000_000  # of what one call may send
ABOUT = (
    "The deeds and looks of an Ortet book. Counts are whole numbers, money is decimal text, moments are RFC 3339 with their "
    "offset, lengths are millimetres, weights grams, temperatures degrees Celsius. Every deed carries an id of its own: sent "
    "twice, it is booked once. What is refused says why, as problem details (RFC 9457), and nothing was booked."
)


@lru_cache(maxsize=1)
def _api() -> NinjaAPI:
    api = handled(
        NinjaAPI(
            title="Ortet",
            version="1",
            description=ABOUT,
            docs_url=None,
            openapi_url=None,
            urls_namespace="api",
        )
    )
    api.add_router("", look)
    api.add_router("/deeds", deeds)
    return api


@lru_cache(maxsize=1)
def _calls() -> URLResolver:
    return URLResolver(RegexPattern(""), _api().urls[0])


def answer(request: HttpRequest, rest: str) -> HttpResponse:
    """Answer a call; every no is a problem."""
    sent = request.META.get("CONTENT_LENGTH") or "0"
    if sent.isdecimal() and int(sent) > MOST_BYTES:
        return problem(413, f"At most {MOST_BYTES:,} bytes in one call. Nothing was booked.")
    try:
        found = _calls().resolve(rest or "nothing")  # ninja keeps the root for a page of its own
    except Resolver404:
        return problem(404, f"There is no such call. {BASE}openapi.json lists them all.")
    said = found.func(request, *found.args, **found.kwargs)
    if said.status_code == 405:
        return other_method(said["Allow"])
    said["Cache-Control"] = "no-store"
    return said


@lru_cache(maxsize=1)
def document() -> dict[str, Any]:
    """Return the OpenAPI document."""
    made = _api().get_openapi_schema(path_prefix=BASE)
    made["info"]["version"] = settings.VERSION
    made["components"]["securitySchemes"] = {
        "Token": {
            "type": "http",
            "scheme": "bearer",
            "description": "A program's token. Scopes: "
            + "; ".join(f"{scope}: {words}" for scope, words in SCOPES.items()),
        }
    }
    needs = {
        operation.operation_id: list(operation.auth_callbacks[0].needs)
        for _, router in _api()._routers
        for view in router.path_operations.values()
        for operation in view.operations
    }
    for calls in made["paths"].values():
        for call in calls.values():
            call["security"] = [{"Token": needs[call["operationId"]]}]
            for status, said in call["responses"].items():
                if int(status) >= 400:
                    said["content"] = {MEDIA_TYPE: said["content"]["application/json"]}
                    said["description"] = REFUSED[int(status)]
                else:
                    said["description"] = "Done."
    return made


REFUSED = {
    400: "What was sent cannot be read.",
    401: "No token, or one that lets nobody in.",
    403: "The token lacks a scope.",
    404: "Something was named that the book does not hold.",
    409: "The book refuses it; the detail says why.",
    413: "More than one call may send.",
    422: "A field is missing, unknown or out of range.",
    429: "Too many wrong tokens.",
}
