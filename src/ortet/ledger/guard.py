"""The triggers by which the database itself refuses what an account must not contain.

The same rules on SQLite and PostgreSQL, declared once as (name, table, event, condition that must not hold, sentence).
They are installed after every migration and counted when the program starts.
"""

from django.db import connection
from django.db.backends.base.base import BaseDatabaseWrapper

__all__ = ["expected", "install", "missing", "remove"]

# Rows that stand for ever. PostgreSQL's TRUNCATE would slip past row triggers, so it gets one of its own.
FOR_EVER = ("movement", "derivation", "standing", "weighing", "inspection", "treatment", "withdrawal")

REFUSALS: tuple[tuple[str, str, str, str, str], ...] = (
    *(
        (
            f"{table}_no_{event.lower()}",
            table,
            event,
            "1=1",
            f"a {table} is never changed or removed: correct it with a new one",
        )
        for table in FOR_EVER
        for event in ("UPDATE", "DELETE")
    ),
    ("lot_no_delete", "lot", "DELETE", "1=1", "a lot is never removed"),
    (
        "lot_keeps_identity",
        "lot",
        "UPDATE",
        "NEW.id<>OLD.id OR NEW.code<>OLD.code OR NEW.variety_id<>OLD.variety_id OR NEW.made_at<>OLD.made_at OR NEW.taken_at<>OLD.taken_at"
        " OR COALESCE(NEW.mother_id,0)<>COALESCE(OLD.mother_id,0)",
        "a lot keeps its code, variety, mother plant and day",
    ),
    (
        "lot_is_of_its_mother",
        "lot",
        "INSERT",
        "NEW.mother_id IS NOT NULL AND NOT EXISTS (SELECT 1 FROM ledger_motherplant m"
        " WHERE m.id=NEW.mother_id AND m.variety_id=NEW.variety_id)",
        "a lot is of the variety of its mother plant",
    ),
    (
        "place_keeps_kind",
        "place",
        "UPDATE",
        "NEW.kind<>OLD.kind OR NEW.code<>OLD.code",
        "a place keeps its kind and code",
    ),
    (
        "mother_keeps_place",
        "motherplant",
        "UPDATE",
        "NEW.place_id<>OLD.place_id OR (NEW.variety_id<>OLD.variety_id"
        " AND EXISTS (SELECT 1 FROM ledger_lot l WHERE l.mother_id=OLD.id))",
        "a mother plant that wood was taken from keeps its variety",
    ),
    (
        "bag_keeps_make",
        "bag",
        "UPDATE",
        "1=1",
        "a bag keeps its make: wood re-wrapped is wood moved to another bag",
    ),
    (
        "derivation_same_variety",
        "derivation",
        "INSERT",
        "(SELECT variety_id FROM ledger_lot WHERE id=NEW.parent_id) <>"
        " (SELECT variety_id FROM ledger_lot WHERE id=NEW.child_id)",
        "wood that became another lot keeps its variety",
    ),
    (
        "movement_after_lot",
        "movement",
        "INSERT",
        "NEW.at < (SELECT made_at FROM ledger_lot WHERE id=NEW.lot_id)",
        "a movement is not dated before its lot was made",
    ),
    (
        "movement_from_own_mother",
        "movement",
        "INSERT",
        "EXISTS (SELECT 1 FROM ledger_place p WHERE p.id IN (NEW.from_place_id, NEW.to_place_id) AND p.kind='mother')"
        " AND NOT EXISTS (SELECT 1 FROM ledger_lot l JOIN ledger_motherplant m ON m.id=l.mother_id"
        " WHERE l.id=NEW.lot_id AND m.place_id IN (NEW.from_place_id, NEW.to_place_id))",
        "wood comes from its own mother plant",
    ),
    (
        "movement_in_chain",
        "movement",
        "INSERT",
        "NEW.number <> COALESCE((SELECT MAX(number) FROM ledger_movement),0)+1 OR NEW.chained_to <>"
        " COALESCE((SELECT seal FROM ledger_movement WHERE number=NEW.number-1),'')",
        "a movement follows the last one in number and seal",
    ),
    (
        "movement_reverses_its_mirror",
        "movement",
        "INSERT",
        "NEW.reverses_id IS NOT NULL AND NOT EXISTS (SELECT 1 FROM ledger_movement r WHERE r.id=NEW.reverses_id"
        " AND r.lot_id=NEW.lot_id AND r.count=NEW.count AND r.from_place_id=NEW.to_place_id"
        " AND r.to_place_id=NEW.from_place_id AND r.reverses_id IS NULL)",
        "a correction mirrors the movement it reverses",
    ),
)

# The balances of the two places follow each movement, in the same transaction. Constraints are checked on the row proposed
# before a conflict is looked for, so the row is made sure of first, then added to.
_KEEP = (
    "INSERT INTO ledger_balance (lot_id, place_id, count, is_source)"
    " SELECT NEW.lot_id, p.id, 0, p.kind IN ('mother','became') FROM ledger_place p WHERE p.id=NEW.{place}"
    " ON CONFLICT (lot_id, place_id) DO NOTHING;"
    " UPDATE ledger_balance SET count = count {sign} NEW.count WHERE lot_id=NEW.lot_id AND place_id=NEW.{place};"
)
KEEPER = "movement_keeps_balance"


def expected() -> set[str]:
    """Return the names of the triggers that must stand."""
    names = {f"guard_{name}" for name, *_ in REFUSALS} | {f"guard_{KEEPER}"}
    if connection.vendor == "postgresql":
        names |= {f"guard_{table}_no_truncate" for table in FOR_EVER}
    return names


def _statements(vendor: str) -> list[str]:
    keep = "".join(
        _KEEP.format(place=place, sign=sign) for place, sign in (("from_place_id", "-"), ("to_place_id", "+"))
    )
    if vendor == "sqlite":
        refusals = [
            f"CREATE TRIGGER guard_{name} BEFORE {event} ON ledger_{table} FOR EACH ROW WHEN {condition}"
            f" BEGIN SELECT RAISE(ABORT, '{sentence}'); END"
            for name, table, event, condition, sentence in REFUSALS
        ]
        return [
            *refusals,
            f"CREATE TRIGGER guard_{KEEPER} AFTER INSERT ON ledger_movement FOR EACH ROW BEGIN {keep} END",
        ]
    statements = []
    for name, table, event, condition, sentence in REFUSALS:
        given_back = "OLD" if event == "DELETE" else "NEW"
        statements += [
            f"CREATE OR REPLACE FUNCTION guard_{name}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN IF {condition} THEN"
            f" RAISE EXCEPTION '{sentence}' USING ERRCODE='integrity_constraint_violation'; END IF; RETURN {given_back}; END $$",
            f"CREATE TRIGGER guard_{name} BEFORE {event} ON ledger_{table} FOR EACH ROW EXECUTE FUNCTION guard_{name}()",
        ]
    for table in FOR_EVER:
        statements.append(
            f"CREATE TRIGGER guard_{table}_no_truncate BEFORE TRUNCATE ON ledger_{table}"
            f" FOR EACH STATEMENT EXECUTE FUNCTION guard_{table}_no_delete()"
        )
    statements += [
        f"CREATE OR REPLACE FUNCTION guard_{KEEPER}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN {keep} RETURN NEW; END $$",
        f"CREATE TRIGGER guard_{KEEPER} AFTER INSERT ON ledger_movement FOR EACH ROW EXECUTE FUNCTION guard_{KEEPER}()",
    ]
    return statements


def _standing(using: BaseDatabaseWrapper) -> dict[str, str]:
    """Return the guard's triggers that stand, by name, with the table each is on."""
    if using.vendor == "sqlite":
        query = "SELECT name, tbl_name FROM sqlite_master WHERE type='trigger' AND name LIKE 'guard_%'"
    else:
        query = (
            "SELECT t.tgname, c.relname FROM pg_trigger t JOIN pg_class c ON c.oid=t.tgrelid"
            " WHERE t.tgname LIKE 'guard_%' AND NOT t.tgisinternal AND t.tgenabled <> 'D'"
            " AND c.relnamespace = current_schema()::regnamespace"
        )
    with using.cursor() as cursor:
        cursor.execute(query)
        return dict(cursor.fetchall())


def remove(using: BaseDatabaseWrapper) -> None:
    """Take the guard down, as a migration that rewrites rows must."""
    with using.cursor() as cursor:
        for name, table in _standing(using).items():
            cursor.execute(f"DROP TRIGGER {name}" + (f" ON {table}" if using.vendor == "postgresql" else ""))


def install(using: BaseDatabaseWrapper) -> None:
    """Put the guard up, replacing what stands. Safe to repeat; does nothing before the tables exist."""
    tables = set(using.introspection.table_names())
    if not {f"ledger_{table}" for _, table, *_ in REFUSALS} <= tables:
        return
    from django.db import transaction

    with transaction.atomic(using=using.alias):
        remove(using)
        with using.cursor() as cursor:
            for statement in _statements(using.vendor):
                cursor.execute(statement)


def missing() -> set[str]:
    """Return the names of triggers that do not stand. Empty is well."""
    return expected() - set(_standing(connection))
