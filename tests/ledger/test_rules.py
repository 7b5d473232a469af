"""`check` recounts from the movements alone and notices a book that was edited outside Ortet."""

import pytest
from django.db import connection

from ortet.ledger import guard, rules
from ortet.ledger.models import Derivation, Movement
from ortet.work.check import check

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("full_book_kept")]


def edit(sql: str, *params: object) -> None:
    """Change the book as someone would who takes the guard down first."""
    guard.remove(connection)
    with connection.cursor() as cursor:
        cursor.execute(sql, params)
    guard.install(connection)


def said(faults: list[rules.Fault]) -> str:
    return " / ".join(f"{fault.where}: {fault.message}" for fault in faults)


def test_a_full_book_holds_and_says_so_in_one_line(full_book):
    faults, line, sums = check()
    assert faults == []
    assert line.startswith(
        "The account holds: 76 taken + 6 received = 72 on hand + 3 one with another by grafting + 4 sold + 2 given up + 1 not found."
    )
    assert sums["movements"] == Movement.objects.count()


def test_an_edited_count_is_noticed(full_book):
    edit("UPDATE ledger_movement SET count = count + 1 WHERE number = 1")
    words = said(check()[0])
    assert "movement 1: its seal does not fit" in words
    assert "the movements come to" in words


def test_an_edited_note_is_noticed(full_book):
    edit("UPDATE ledger_movement SET note = 'never happened' WHERE number = 2")
    assert said(check()[0]) == "movement 2: its seal does not fit what it says: it was changed outside Ortet"


def test_a_removed_movement_is_noticed(full_book):
    last_but_one = Movement.objects.filter(reversed_by=None, why="moved").first()
    edit("DELETE FROM ledger_movement WHERE number = %s", last_but_one.number)
    assert "a movement is missing" in said(check()[0])


def test_an_edited_balance_is_noticed(full_book):
    edit("UPDATE ledger_balance SET count = count + 3 WHERE count > 5 AND is_source = %s", False)
    assert "the balance says" in said(check()[0])


def test_a_broken_lineage_is_noticed(full_book):
    link = Derivation.objects.get(part="split").pk
    edit(
        "UPDATE ledger_derivation SET count = count + 1 WHERE id = %s",
        link.hex if connection.vendor == "sqlite" else link,
    )
    assert "its lineage says" in said(check()[0])


def test_a_missing_trigger_is_noticed(full_book):
    with connection.cursor() as cursor:
        on = " ON ledger_movement" if connection.vendor == "postgresql" else ""
        cursor.execute(f"DROP TRIGGER guard_movement_no_update{on}")
    assert "trigger guard_movement_no_update" in said(check()[0])


def test_a_lot_that_never_began_is_noticed(full_book):
    lot = full_book.lot
    lot.pk, lot.code, lot.mark = None, "00000000", None
    lot.save(force_insert=True)
    assert "nothing was ever taken for it" in said(check()[0])
