"""What a later migration added to inspections: counts kept honest by the database, and a guard that comes back."""

import pytest
from django.core.management import call_command
from django.db import IntegrityError, connection, transaction

from ortet.ledger import guard
from ortet.ledger.models import Inspection

pytestmark = pytest.mark.django_db


def test_counts_of_roots_and_callus_are_both_or_neither(full_book, ada):
    there = {"lot": full_book.lot, "place": full_book.places["K1"], "by": ada, "at": full_book.lot.made_at}
    for wrong in (
        {"rooted": 3},
        {"rooted_of": 3},
        {"rooted": 4, "rooted_of": 3},
        {"rooted": 0, "rooted_of": 0},
        {"callused": 4, "callused_of": 3},
        {"callused": 4},
    ):
        with pytest.raises(IntegrityError), transaction.atomic():
            Inspection.objects.create(**there, **wrong)
    Inspection.objects.create(**there, rooted=0, rooted_of=3, callused=3, callused_of=3)


def test_a_table_that_a_migration_made_anew_has_its_guard_again(full_book):
    """On SQLite a migration that adds a constraint makes the table anew and drops its triggers with the old one."""
    names = {name for name in guard.expected() if name.startswith("guard_inspection_")}
    with connection.cursor() as cursor:
        for name in names:
            if connection.vendor == "sqlite":
                cursor.execute(f"DROP TRIGGER {name}")
            else:
                cursor.execute(f"DROP TRIGGER {name} ON ledger_inspection")
    assert guard.missing() == names
    call_command("migrate", verbosity=0)
    assert guard.missing() == set()
    with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("UPDATE ledger_inspection SET rooted = 1, rooted_of = 1")
