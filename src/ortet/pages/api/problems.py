"""How a call says no: problem details (RFC 9457), with the sentence that the page would show."""

from collections.abc import Callable
from datetime import datetime
from functools import partial
from http import HTTPStatus
from math import ceil
from typing import Any

from django.core.exceptions import RequestDataTooBig
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse, UnreadablePostError
from django.utils.timezone import now
from ninja import Field, NinjaAPI, Schema
from ninja.errors import AuthenticationError, HttpError, ValidationError

from ortet.work import Refused, Unknown

__all__ = [
    "MEDIA_TYPE",
    "REFUSALS",
    "Lacks",
    "Problem",
    "Waits",
    "Wrong",
    "handled",
    "other_method",
    "problem",
]

MEDIA_TYPE = "application/problem+json"


class Wrong(Schema):
    """One field that is wrong."""

    where: str = Field(description="Where it stands, such as body.count.")
    what: str = Field(description="What is wrong with it.")


class Problem(Schema):
    """Why a call was refused (RFC 9457). Nothing was booked."""

    type: str = "about:blank"
    title: str = Field(description="What the status says.")
    status: int
    detail: str = Field(description="The sentence for people: what is wrong, where, what to do.")
    wrong: list[Wrong] = Field(default=[], description="The fields that are wrong, where some are.")
    missing: list[str] = Field(
        default=[], description="The scopes that the token lacks, where it lacks some."
    )


# Every call may be refused so.
REFUSALS: dict[int, Any] = dict.fromkeys((400, 401, 403, 404, 409, 413, 422, 429), Problem)


class Lacks(Exception):
    """A token that may not do what it asks."""

    def __init__(self, missing: list[str]) -> None:
        self.missing = missing
        super().__init__(", ".join(missing))


class Waits(Exception):
    """Too many wrong tokens came from one machine."""

    def __init__(self, until: datetime) -> None:
        self.until = until
        super().__init__("too many wrong tokens")


def problem(status: int, detail: str, **more: Any) -> HttpResponse:
    """Return an answer that says no."""
    said = {"type": "about:blank", "title": HTTPStatus(status).phrase, "status": status, "detail": detail}
    return JsonResponse(
        said | {"wrong": [], "missing": []} | more,
        status=status,
        content_type=MEDIA_TYPE,
        json_dumps_params={"ensure_ascii": False},
    )


def other_method(allowed: str) -> HttpResponse:
    """Return the answer to a method that a call does not take."""
    answer = problem(405, f"This call takes {allowed} only. Nothing was booked.")
    answer["Allow"] = allowed
    return answer


def _lacks(request: HttpRequest, why: Lacks) -> HttpResponse:
    scopes = " ".join(why.missing)
    answer = problem(
        403,
        f"This token lacks the scope {' and '.join(why.missing)}, or its hand may no longer write. Nothing was booked.",
        missing=why.missing,
    )
    # RFC 6750, section 3.1 [published]
    answer["WWW-Authenticate"] = f'Bearer error="insufficient_scope", scope="{scopes}"'
    return answer


def _nobody(request: HttpRequest, why: AuthenticationError) -> HttpResponse:
    answer = problem(
        401, "Send the token of a program that is let in, as Authorization: Bearer TOKEN. Nothing was booked."
    )
    answer["WWW-Authenticate"] = "Bearer"
    return answer


def _waits(request: HttpRequest, why: Waits) -> HttpResponse:
    answer = problem(429, "Too many wrong tokens came from this machine. Wait, then send the right one.")
    answer["Retry-After"] = str(max(1, ceil((why.until - now()).total_seconds())))
    return answer


def _wrong(request: HttpRequest, why: ValidationError) -> HttpResponse:
    fields = [
        {
            "where": ".".join(str(part) for part in one["loc"] if part != "said"),
            "what": str(one["msg"]).removeprefix("Value error, "),
        }
        for one in why.errors
    ]
    words = "; ".join(f"{one['where']}: {one['what']}" for one in fields[:5])
    return problem(422, f"{words}. Nothing was booked.", wrong=fields)


def _plain(status: int, request: HttpRequest, why: Exception) -> HttpResponse:
    return problem(status, str(why))


def _http(request: HttpRequest, why: HttpError) -> HttpResponse:
    return problem(why.status_code, f"{why.message.rstrip('.')}. Nothing was booked.")


def _too_large(request: HttpRequest, why: Exception) -> HttpResponse:
    return problem(413, "That is more than one call may send. Nothing was booked.")


def _broken_off(request: HttpRequest, why: Exception) -> HttpResponse:
    return problem(400, "The connection broke off before all of it was sent. Nothing was booked.")


def _none(request: HttpRequest, why: Http404) -> HttpResponse:
    return problem(404, "There is no such call. GET /api/v1/openapi.json lists them all.")


def handled(api: NinjaAPI) -> NinjaAPI:
    """Return the API, whose every refusal is a problem from now on."""
    ways: dict[type[Exception], Callable[..., HttpResponse]] = {
        Refused: partial(_plain, 409),
        Unknown: partial(_plain, 404),
        Lacks: _lacks,
        Waits: _waits,
        AuthenticationError: _nobody,
        ValidationError: _wrong,
        HttpError: _http,
        Http404: _none,
        RequestDataTooBig: _too_large,
        UnreadablePostError: _broken_off,
    }
    for kind, way in ways.items():
        api.add_exception_handler(kind, way)
    return api
