"""Two processes writing at once lose nothing and wait their turn; one killed half-way leaves no trace."""

import json
import os
import subprocess
import sys
import uuid
from contextlib import ExitStack
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit

import pytest

WRITE = """
import sys, uuid, django
from datetime import UTC, datetime
django.setup()
from ortet import work
from ortet.work.nursery import grower
who, deeds = sys.argv[1], int(sys.argv[2])
sys.stdin.readline()  # wait for the starting shot
for number in range(deeds):
    at = datetime(2027, 1, 2, number % 24, tzinfo=UTC)
    lot = work.take("M1", 3, mark=f"{who}{number}", by=grower(), at=at)
    work.give_up(f"{who}{number}", 1, by=grower(), at=at)
    try:  # both want the same mark: one gets it, the other is told
        work.take("M1", 1, mark=f"both{number}", by=grower(), at=at)
    except work.Refused as error:
        assert "already" in str(error), error
    work.move("shared", 1, from_place="Bench" if who == "a" else "Shelf", to_place="Shelf" if who == "a" else "Bench",
              by=grower(), at=at)
"""

KILLED = """
import os, sys, django
from datetime import UTC, datetime
django.setup()
from django.db import connection
from ortet import work
from ortet.work.nursery import grower
by, left = grower(), [int(sys.argv[1])]
def pull_the_plug(execute, sql, params, many, context):
    if left[0] <= 0:
        os._exit(9)
    left[0] -= 1
    return execute(sql, params, many, context)
with connection.execute_wrapper(pull_the_plug):
    work.split("shared", 2, from_place="Bench", mark="half", by=by, at=datetime(2027, 1, 3, tzinfo=UTC))
"""

PLAN = """
import os, subprocess, sys, django
from datetime import UTC, date, datetime
django.setup()
from django.db import connection
from ortet.ledger.models import Plan
from ortet.work.nursery import grower
from ortet.work.orders import Line, order
from ortet.work.plan.whole import STEPS, plan_season
at, left = datetime(2027, 1, 5, tzinfo=UTC), [int(sys.argv[1])]
if not Plan.objects.exists():
    order("Tarn Mill", [Line("Dusk", 20, date(2027, 1, 10), date(2027, 2, 1))], by=grower(), at=at)
meanwhile = [sys.argv[2]] if sys.argv[2:] else []
def tell(step, share):
    if step == STEPS[2] and meanwhile:  # another process books while this one reckons
        subprocess.run([sys.executable, "-c", meanwhile.pop()], check=True)
def pull_the_plug(execute, sql, params, many, context):
    if sql.startswith("INSERT"):
        if left[0] <= 0:
            os._exit(9)
        left[0] -= 1
    return execute(sql, params, many, context)
with connection.execute_wrapper(pull_the_plug):
    season = plan_season(by=grower(), now=at, tell=tell)
print(Plan.objects.count(), season.allot.movements, sum(pick.count for pick in season.allot.picks.filter(lot__isnull=False)))
"""

DEED = """
import django; django.setup()
from datetime import UTC, datetime
from ortet import work
from ortet.work.nursery import grower
work.give_up("shared", 85, from_place="Bench", by=grower(), at=datetime(2027, 1, 4, tzinfo=UTC))
work.give_up("shared", 100, from_place="Shelf", by=grower(), at=datetime(2027, 1, 4, tzinfo=UTC))
"""

SELL = """
import sys, django
from datetime import UTC, date, datetime
from decimal import Decimal
django.setup()
from ortet import work
from ortet.work.books import receipt
from ortet.work.nursery import grower
from ortet.work.orders import Line, order
who, times = sys.argv[1], int(sys.argv[2])
sys.stdin.readline()  # wait for the starting shot
for day in range(times):
    at = datetime(2027, 1, 2 + day, tzinfo=UTC)
    line = Line("Dusk", 3, at.date(), at.date(), price=Decimal("1.10"))
    number = order(who, [line], by=grower(), at=at).number
    work.sell("shared", 3, from_place="Bench" if who == "a" else "Shelf", order=str(number), by=grower(), at=at)
    receipt(number, by=grower(), at=at)
    try:  # both want a receipt for the same order: one gives it, the other is told
        receipt(1, by=grower(), at=at)
    except work.Refused as error:
        assert "lacks a receipt" in str(error), error
"""

NUMBERS = """
import json, django; django.setup()
from ortet.ledger.models import Receipt
print(json.dumps([[row.number, row.order.number] for row in Receipt.objects.order_by("number")]))
"""

OPEN = """
import django; django.setup()
from datetime import UTC, datetime
from ortet import work
from ortet.work.nursery import grower, open_book
open_book()
work.add_mother("M1", "Dusk", "blackcurrant")
work.add_place("Shelf", "bench")
at = datetime(2027, 1, 1, tzinfo=UTC)
work.take("M1", 200, mark="shared", by=grower(), at=at)
work.move("shared", 100, to_place="Shelf", by=grower(), at=at)
"""

SAY = """
import json, django; django.setup()
from ortet.work.check import check
from ortet.ledger.models import Lot, Plan
faults, line, sums = check()
print(json.dumps({"faults": [str(fault) for fault in faults], **sums, "half": Lot.objects.filter(mark="half").count(),
                  "plans": Plan.objects.count()}))
"""


@pytest.fixture
def elsewhere(tmp_path: Path):
    """A database of its own, of the kind under test; yields the environment that leads to it."""
    folder = tmp_path / "book"
    folder.mkdir()
    base = {**os.environ, "ORTET_FOLDER": str(folder), "DJANGO_SETTINGS_MODULE": "ortet.settings"}
    url = os.environ.get("ORTET_DATABASE")
    if not url:
        yield base
        return
    import psycopg

    name = f"two_{uuid.uuid4().hex[:10]}"
    with psycopg.connect(url, autocommit=True) as admin:
        admin.execute(f"CREATE DATABASE {name}")
        try:
            yield {**base, "ORTET_DATABASE": urlunsplit(urlsplit(url)._replace(path=f"/{name}"))}
        finally:
            admin.execute(f"DROP DATABASE {name} WITH (FORCE)")


def run(code: str, env: dict[str, str], *args: str) -> str:
    done = subprocess.run(
        [sys.executable, "-c", code, *args], env=env, capture_output=True, text=True, timeout=300
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_two_processes_at_once_lose_nothing(elsewhere):
    run(OPEN, elsewhere)
    with ExitStack() as stack:
        writers = [
            stack.enter_context(
                subprocess.Popen(
                    [sys.executable, "-c", WRITE, who, "25"],
                    env=elsewhere,
                    stdin=subprocess.PIPE,
                    stderr=subprocess.PIPE,
                    text=True,
                )
            )
            for who in "ab"
        ]
        for writer in writers:
            writer.stdin.write("go\n")
            writer.stdin.flush()
        for writer in writers:
            _, errors = writer.communicate(timeout=300)
            assert writer.returncode == 0, errors
    said = json.loads(run(SAY, elsewhere))
    assert said["faults"] == []
    assert (said["taken"], said["given_up"], said["lots"]) == (200 + 2 * 25 * 3 + 25, 2 * 25, 1 + 2 * 25 + 25)
    assert said["movements"] == 2 + 2 * 25 * 3 + 25


def test_two_processes_that_give_receipts_leave_no_gap_and_no_number_twice(elsewhere):
    run(OPEN, elsewhere)
    started = {"env": elsewhere, "stdin": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True}
    with ExitStack() as stack:
        command = [sys.executable, "-c", SELL]
        writers = [stack.enter_context(subprocess.Popen([*command, who, "8"], **started)) for who in "ab"]
        for writer in writers:
            writer.stdin.write("go\n")
            writer.stdin.flush()
        for writer in writers:
            _, errors = writer.communicate(timeout=300)
            assert writer.returncode == 0, errors
    given = json.loads(run(NUMBERS, elsewhere))
    assert [number for number, _ in given] == list(range(1, 17))
    assert sorted(order for _, order in given) == list(range(1, 17))


def test_processes_killed_half_way_through_a_split_leave_no_trace(elsewhere):
    run(OPEN, elsewhere)
    for statements in (0, 4, 9, 12, 14, 16):
        command = [sys.executable, "-c", KILLED, str(statements)]
        killed = subprocess.run(command, env=elsewhere, capture_output=True, timeout=300)
        assert killed.returncode == 9, killed.stderr
    said = json.loads(run(SAY, elsewhere))
    assert said.pop("faults") == []
    assert said == {
        "taken": 200,
        "on_hand": 200,
        "received": 0,
        "joined": 0,
        "sold": 0,
        "given_up": 0,
        "lost": 0,
        "lots": 1,
        "movements": 2,
        "half": 0,
        "plans": 0,
    }


def test_a_deed_is_booked_while_the_season_is_planned_and_the_plan_knows_it(elsewhere):
    run(OPEN, elsewhere)
    # four plans and no more, made of the book of four movements, in which 15 are left for the 20 wanted
    assert run(PLAN, elsewhere, "99", DEED).split() == ["4", "4", "15"]


def test_a_plan_whose_process_is_killed_while_it_is_booked_leaves_nothing(elsewhere):
    run(OPEN, elsewhere)
    # two of the four plans stand in the transaction when the plug is pulled
    killed = subprocess.run(
        [sys.executable, "-c", PLAN, "2"], env=elsewhere, capture_output=True, timeout=300
    )
    assert killed.returncode == 9, killed.stderr
    said = json.loads(run(SAY, elsewhere))
    assert (said["plans"], said["faults"]) == (0, [])
