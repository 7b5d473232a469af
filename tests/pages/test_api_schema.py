"""The API tried against its own document by Schemathesis: made-up calls, right and wrong, on a book in which every deed was done."""

from collections.abc import Iterator
from random import Random

import pytest
import schemathesis
from django.core.signals import request_finished, request_started
from django.core.wsgi import get_wsgi_application
from django.db import close_old_connections, transaction
from django.utils.timezone import now
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from schemathesis.core.failures import FailureGroup
from schemathesis.generation import GenerationMode

from ortet.work.programs import SCOPES, give_token

EXAMPLES = {GenerationMode.POSITIVE: 3, GenerationMode.NEGATIVE: 2}  # of each call
DEAR = ("GET /api/v1/today", "GET /api/v1/evidence", "POST /api/v1/deeds/plan")  # each tried once
EVERY = [scope for scope in SCOPES if scope != "calendar"]


class _Undo(Exception):
    """Leads out of an example, so that the next one finds the book as it was."""


@pytest.fixture(autouse=True)
def connected(db) -> Iterator[None]:
    """Keep the test's connection through every call, as Django's own test client does."""
    request_started.disconnect(close_old_connections)
    request_finished.disconnect(close_old_connections)
    yield
    request_started.connect(close_old_connections)
    request_finished.connect(close_old_connections)


@pytest.fixture
def token(full_book, ada) -> str:
    return give_token("fuzzer", EVERY, hand=ada, by=ada, now=now()).secret


def operations(token: str) -> Iterator[object]:
    schema = schemathesis.openapi.from_wsgi("/api/v1/openapi.json", get_wsgi_application())

    @schema.auth()
    class Bearer:
        def get(self, case, context) -> str:
            return token

        def set(self, case, data, context) -> None:
            case.headers["Authorization"] = f"Bearer {data}"

    for found in schema.get_all_operations():
        yield found.ok()


THERE = {
    "accession": ("M1", "M2"),
    "lot": ("L1", "L2", "L3", "W1", "W3", "R1"),
    "scion": ("L1", "L3"),
    "stock": ("L2", "L3"),
    "bag": ("K1", "K2", "S1"),
    "place": ("K1", "Bench", "S1", "Yard", "North"),
    "from_place": ("K1", "Bench", "S1", "Yard"),
    "to_place": ("K2", "Bench", "South", "Yard"),
    "store": ("North", "South", "Warm"),
    "bench": ("Bench", "Warm"),
    "batch": ("S1", "G1"),
    "to": ("Yard",),
    "variety": ("Dusk", "Lantern"),
    "buyer": ("Hedge",),
    "order": ("1", "1/1"),
    "what": ("1", "1/1", "target 1"),
    "number": (1, 5, 12, 18),
    "note": ("wrong", "a\0b"),
}


def name_what_is_there(body: dict, pick: Random) -> None:
    """Name what the book holds in most fields, so that a call comes further than to a name that nothing bears."""
    if at := body.get("at"):
        body["at"] = pick.choice((at, "2027-02-01T09:00:00+01:00", "2027-01-05T09:30:00Z"))
    for field, names in THERE.items():
        if isinstance(body.get(field), (str, int)) and pick.random() < 0.8:
            body[field] = pick.choice(names)
    for part in (*body.get("contents", ()), *body.get("lines", ())):
        name_what_is_there(part, pick)


@pytest.mark.parametrize("mode", list(GenerationMode), ids=lambda mode: mode.value)
def test_no_call_fails_and_every_answer_is_as_the_document_says(mode, token, nursery):
    tried = 0

    def check(operation) -> None:
        @given(case=operation.as_strategy(generation_mode=mode), pick=st.randoms(use_true_random=False))
        @settings(
            max_examples=1 if operation.label in DEAR else EXAMPLES[mode],
            derandomize=True,
            deadline=None,
            database=None,
            phases=[Phase.explicit, Phase.generate],
            suppress_health_check=list(HealthCheck),
        )
        def call(case, pick) -> None:
            nonlocal tried
            tried += 1
            if mode is GenerationMode.POSITIVE and isinstance(case.body, dict):
                name_what_is_there(case.body, pick)
            try:
                with transaction.atomic():
                    answer = case.call()
                    case.validate_response(answer)
                    raise _Undo
            except _Undo:
                pass

        call()

    failed = []
    for operation in operations(token):
        try:
            check(operation)
        except FailureGroup as failure:
            failed += [f"{operation.label}: {one}" for one in failure.exceptions]
    assert failed == [] and tried > 60
