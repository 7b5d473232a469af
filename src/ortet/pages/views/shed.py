"""The page for the shed: kept on the phone, asked when there is a signal."""

import json
from functools import lru_cache
from hashlib import sha256
from pathlib import Path

from django.conf import settings
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.utils.crypto import salted_hmac
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_POST, require_safe

import ortet.pages
from ortet.pages.policy import SHED_POLICY
from ortet.pages.shed import MOST, answers
from ortet.wood.speech import said_in, say
from ortet.wood.units import unit_names
from ortet.work.cautions import cautions
from ortet.work.nursery import may_write
from ortet.work.shed import snapshot

__all__ = ["book", "records", "shed", "worker"]

HERE = Path(ortet.pages.__file__).parent
STATIC = HERE / "static" / "ortet"
# What the page needs where there is no signal, besides itself.
KEPT = (
    "ortet.css",
    "mark.svg",
    "icon-192.png",
    "fonts/atkinson-hyperlegible-next-latin-wght-normal.woff2",
    "fonts/atkinson-hyperlegible-next-latin-ext-wght-normal.woff2",
    "fonts/atkinson-hyperlegible-mono-latin-wght-normal.woff2",
    *(
        f"shed/{path.relative_to(STATIC / 'shed').as_posix()}"
        for path in sorted((STATIC / "shed").rglob("*.*"))
        if path.suffix in (".js", ".json", ".css", ".wasm", ".webmanifest") and path.name != "worker.js"
    ),
)


def _which_book() -> str:
    """Return what tells this book from another that was served at the same address, such as the demo's."""
    where = settings.DATABASES["default"]
    return salted_hmac("ortet.pages.views.shed", f"{where['NAME']} {where.get('HOST')}").hexdigest()[:16]


@never_cache
@require_safe
@ensure_csrf_cookie
def shed(request: HttpRequest) -> HttpResponse:
    """Answer with the page. It says nothing of the book: that comes by itself, and is kept on the phone."""
    response = render(request, "shed.html", {"book": _which_book()})
    response["Content-Security-Policy"] = SHED_POLICY
    return response


@never_cache
@require_safe
@ensure_csrf_cookie
def book(request: HttpRequest) -> HttpResponse:
    """Answer with what a phone must know, and as whom it books."""
    nursery = request.nursery
    return JsonResponse(
        {
            "book": _which_book(),
            "nursery": nursery.name,
            "hand": request.user.username,
            "may_write": may_write(request.user),
            "paired": request.phone is not None,
            "now": nursery.now().isoformat(),
            "still": nursery.fixed_now is not None,
            "zone": nursery.zone,
            "units": unit_names(nursery.units),
            "cautions": {"strike": cautions("strike")},
            **snapshot(),
        },
        json_dumps_params={"ensure_ascii": False, "separators": (",", ":")},
    )


@require_POST
def records(request: HttpRequest) -> HttpResponse:
    """Book what a phone recorded; say of each record what became of it."""
    try:
        sent = json.loads(request.body)
        wanted = sent["records"]
        if not isinstance(wanted, list) or len(wanted) > MOST or sent.get("book") != _which_book():
            raise ValueError
    except (ValueError, KeyError, TypeError, RecursionError):
        says = say(
            "Send this book's name and a list of up to {most} records, as JSON. Nothing was booked.",
            most=MOST,
        )
        return JsonResponse({"says": says}, status=400)
    return JsonResponse({"answers": answers(wanted, by=request.user, nursery=request.nursery)})


@lru_cache
def _worker(language: str) -> str:
    """Return the service worker, with what it keeps and a version that changes with any of it, and with the page's language."""
    files = [STATIC / name for name in KEPT] + [STATIC / "shed/worker.js", HERE / "templates" / "shed.html"]
    version = sha256(b"".join([language.encode(), *(path.read_bytes() for path in files)])).hexdigest()[:16]
    kept = [reverse("shed"), *map(static, (f"ortet/{name}" for name in KEPT))]
    head = f"const VERSION = {json.dumps(version)};\nconst KEPT = {json.dumps(kept)};\n"
    return head + (STATIC / "shed/worker.js").read_text(encoding="utf-8")


@never_cache
@require_safe
def worker(request: HttpRequest) -> HttpResponse:
    """Answer with the service worker, from where it may look after the page."""
    return HttpResponse(_worker(said_in()), content_type="text/javascript; charset=utf-8")
