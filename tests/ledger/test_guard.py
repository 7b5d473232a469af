"""The database itself refuses what an account must not contain, asked in raw SQL behind Ortet's back."""

from datetime import timedelta

import pytest
from django.core.management import call_command
from django.db import IntegrityError, connection, transaction

from ortet.ledger import guard, rules
from ortet.ledger.models import Lot, Movement, Place, Standing, Why

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("full_book_kept")]


def refused(sql: str, *params: object) -> str:
    """Run SQL that must be refused; return the database's sentence."""
    with pytest.raises(IntegrityError) as caught, transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(sql, params)
    return str(caught.value)


def test_guard_stands_on_a_fully_migrated_book():
    assert guard.missing() == set()
    assert len(guard.expected()) > 25


def test_guard_comes_back_after_a_later_migration_run():
    guard.remove(connection)
    assert guard.missing() == guard.expected()
    call_command("migrate", verbosity=0)
    assert guard.missing() == set()


@pytest.mark.parametrize("table", guard.FOR_EVER)
@pytest.mark.parametrize("act", ["UPDATE ledger_{} SET {} = {}", "DELETE FROM ledger_{}"])
def test_rows_that_stand_for_ever_are_neither_changed_nor_removed(full_book, table, act):
    key = guard.SAME[table][0]
    assert "never changed or removed" in refused(act.format(table, key, key))


def movement(full_book, by, **change) -> Movement:
    """A well-formed next movement, one cutting out of the bag to the bench, but for what is changed."""
    last = Movement.objects.order_by("-number").first()
    right = {
        "number": last.number + 1,
        "lot": full_book.lot,
        "from_place": full_book.places["K1"],
        "to_place": full_book.bench,
        "count": 1,
        "at": full_book.lot.made_at,
        "by": by,
        "why": Why.MOVED,
        "chained_to": last.seal,
        "seal": "x",
    }
    return Movement(**(right | change))


def refused_row(row: Movement) -> str:
    """Insert a movement past every check of Ortet's own; return the database's sentence."""
    with pytest.raises(IntegrityError) as caught, transaction.atomic():
        row.save(force_insert=True)
    return str(caught.value)


def test_a_well_formed_movement_goes_through(full_book, ada):
    before = full_book.lot.balances.get(place=full_book.places["K1"]).count
    movement(full_book, ada).save(force_insert=True)
    assert full_book.lot.balances.get(place=full_book.places["K1"]).count == before - 1


def test_balance_never_falls_below_nothing(full_book, ada):
    held = full_book.lot.balances.get(place=full_book.places["K1"]).count
    assert "balance_not_below_nothing" in refused_row(movement(full_book, ada, count=held + 1))


def test_movement_is_not_dated_before_its_lot(full_book, ada):
    early = full_book.lot.made_at - timedelta(seconds=1)
    assert "not dated before its lot" in refused_row(movement(full_book, ada, at=early))


def test_movement_follows_the_chain(full_book, ada):
    assert "follows the last one" in refused_row(movement(full_book, ada, chained_to="0" * 64))
    number = Movement.objects.count() + 2
    assert "follows the last one" in refused_row(movement(full_book, ada, number=number))


def test_a_correction_mirrors_what_it_reverses(full_book, ada):
    other = Movement.objects.filter(reversed_by=None, reverses=None).first()
    assert "mirrors" in refused_row(movement(full_book, ada, reverses=other))


def test_wood_comes_from_its_own_mother_plant(full_book, ada):
    other = full_book.other_mother.place
    assert "own mother plant" in refused_row(movement(full_book, ada, from_place=other))


@pytest.mark.parametrize(
    "change",
    [
        "mother_id = NULL",
        "variety_id = {variety}",
        "code = '00000000'",
        "made_at = taken_at",
        "taken_at = made_at",
    ],
)
def test_a_lot_keeps_its_identity(full_book, change):
    child = full_book.child  # its day of making differs from the day its wood was taken
    change = change.format(variety=full_book.other_mother.variety_id)
    assert "a lot keeps" in refused(f"UPDATE ledger_lot SET {change} WHERE id = %s", child.pk)


def test_a_lot_is_of_the_variety_of_its_mother_plant(full_book):
    lot = full_book.lot
    lot.pk, lot.code, lot.mark = None, "00000000", None
    lot.variety = full_book.other_mother.variety
    with pytest.raises(IntegrityError, match="variety of its mother"), transaction.atomic():
        lot.save(force_insert=True)


def test_a_lot_may_be_renamed_and_measured_again(full_book):
    Lot.objects.filter(pk=full_book.lot.pk).update(mark="another", note="measured", length_mm=210)
    assert rules.check() == []


def test_a_place_keeps_its_kind(full_book):
    assert "keeps its kind" in refused("UPDATE ledger_place SET kind = 'bench' WHERE kind = 'bag'")
    Place.objects.filter(kind="bag").update(note="a note may change")


def test_a_bag_keeps_its_make(full_book):
    assert "a bag keeps its make" in refused("UPDATE ledger_bag SET layers = 9")


def test_a_mother_plant_that_wood_was_taken_from_keeps_its_variety(full_book):
    sql = "UPDATE ledger_motherplant SET variety_id = %s WHERE id = %s"
    other = full_book.other_mother
    assert "keeps its variety" in refused(sql, other.variety_id, full_book.lot.mother_id)


def test_truncate_is_refused_on_postgresql(full_book):
    if connection.vendor != "postgresql":
        return  # SQLite has no TRUNCATE
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
    assert "never changed or removed" in refused("TRUNCATE ledger_movement CASCADE")


@pytest.mark.parametrize("table", sorted(guard.SAME))
def test_no_row_is_put_in_the_place_of_another(full_book, table):
    """SQLite's INSERT OR REPLACE asks no DELETE trigger: the row is refused before it comes to that."""
    verb = "INSERT OR REPLACE" if connection.vendor == "sqlite" else "INSERT"
    assert refused(f"{verb} INTO ledger_{table} SELECT * FROM ledger_{table}")


@pytest.mark.parametrize(
    "act", ["SET count = count + 1", "SET is_source = NOT is_source", "SET place_id = place_id + 1"]
)
def test_a_balance_is_kept_by_the_database_alone(full_book, act):
    assert "kept by the database alone" in refused(f"UPDATE ledger_balance {act}")
    assert "never removed" in refused("DELETE FROM ledger_balance")


@pytest.mark.parametrize("table", ["bag", "place", "lot"])
def test_what_the_account_stands_on_is_never_removed(full_book, table):
    assert "never removed" in refused(f"DELETE FROM ledger_{table}")


def test_no_cuttings_come_from_nowhere(full_book, ada):
    became = full_book.lot.movements.get(why="split").to_place
    assert "by a derivation" in refused_row(movement(full_book, ada, from_place=became))
    lot = full_book.lots["L3"]
    gone = lot.movements.get(why="given_up").to_place
    assert "by a correction only" in refused_row(
        movement(full_book, ada, lot=lot, at=lot.made_at, from_place=gone)
    )
    site = Place.objects.get(kind="site")
    assert "growing site" in refused_row(movement(full_book, ada, to_place=site))
    assert "own mother" in refused_row(movement(full_book, ada, to_place=full_book.lot.mother.place))


def test_a_bag_stands_in_a_cold_place(full_book, ada):
    row = Standing(bag=full_book.places["K1"], store=full_book.bench, since=full_book.lot.made_at, by=ada)
    with pytest.raises(IntegrityError, match="stands in a cold place"), transaction.atomic():
        row.save(force_insert=True)


def test_a_trigger_that_was_rewritten_is_noticed(full_book):
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("DROP TRIGGER guard_movement_no_update")
            cursor.execute(
                "CREATE TRIGGER guard_movement_no_update BEFORE UPDATE ON ledger_movement WHEN 1=0 BEGIN SELECT 1; END"
            )
        else:
            cursor.execute(
                "CREATE OR REPLACE FUNCTION guard_movement_no_update() RETURNS trigger LANGUAGE plpgsql"
                " AS $$ BEGIN RETURN NEW; END $$"
            )
    assert guard.missing() == {"guard_movement_no_update"}
