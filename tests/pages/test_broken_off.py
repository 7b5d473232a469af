"""A form whose connection broke off on the way is no form, though what came of it would make one."""

import io
from urllib.parse import urlencode
from uuid import uuid4

import pytest
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from django.test import RequestFactory
from django.urls import reverse

from ortet.ledger.models import Plan, Weighing
from ortet.pages.wsgi import application

MULTIPART = "multipart/form-data; boundary=twig"


def answered(client, path: str, body: bytes, kind: str, came: int) -> str:
    """Return the status of the answer to a form of which so many bytes came."""
    client.get(path)
    environ = RequestFactory().generic("POST", path, body, kind).environ
    cookies = "; ".join(f"{name}={one.value}" for name, one in client.cookies.items())
    environ |= {"HTTP_COOKIE": cookies, "wsgi.input": io.BytesIO(body[:came])}
    said = []
    # As Django's own test client does: the test's connection must outlive the request.
    request_started.disconnect(close_old_connections)
    request_finished.disconnect(close_old_connections)
    try:
        answer = application(environ, lambda status, headers, *more: said.append(status))
        for _ in answer:
            pass
        answer.close()
    finally:
        request_started.connect(close_old_connections)
        request_finished.connect(close_old_connections)
    return said[0]


def form(client, path: str, fields: dict[str, str], kind: str) -> bytes:
    """Return a form as a browser sends it, its token first."""
    client.get(path)
    given = {"csrfmiddlewaretoken": client.cookies["csrftoken"].value, "id": str(uuid4())} | fields
    if kind != MULTIPART:
        return urlencode(given).encode()
    parts = [f'--twig\r\nContent-Disposition: form-data; name="{n}"\r\n\r\n{v}\r\n' for n, v in given.items()]
    return "".join([*parts, "--twig--\r\n"]).encode()


@pytest.mark.parametrize("kind", ["application/x-www-form-urlencoded", MULTIPART])
def test_a_weight_cut_short_is_not_booked_and_the_whole_one_is(book, at_desk, kind):
    path, before = reverse("weigh"), Weighing.objects.count()
    body = form(
        at_desk,
        path,
        {"opened": "2027-02-12T07:00:00+00:00", "at": "2027-02-12T08:00", "bag": "K1", "gross_g": "312"},
        kind,
    )
    end = body.index(b"312") + 2
    assert answered(at_desk, path, body, kind, end).startswith("4")
    assert Weighing.objects.count() == before
    assert answered(at_desk, path, body, kind, len(body)).startswith("302")
    assert Weighing.objects.latest("at").gross_g == 312


def test_a_plan_asked_for_by_half_a_form_is_not_made(book, at_desk):
    path, kind = reverse("plan-season"), "application/x-www-form-urlencoded"
    body = form(at_desk, path, {"sure": "0.95"}, kind)
    assert answered(at_desk, path, body, kind, len(body) - 1).startswith("4")
    assert not Plan.objects.exists()
