"""The triggers by which the database itself refuses what an account must not contain.

The same rules on SQLite and PostgreSQL, declared once.
They are installed after every migration and counted when the program starts.
"""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager

from django.db import connection
from django.db.backends.base.base import BaseDatabaseWrapper

from ortet.wood.speech import to_say

__all__ = ["erasing", "expected", "install", "missing", "remove"]

# Rows that stand for ever. PostgreSQL's TRUNCATE would slip past row triggers, so it gets one of its own.
FOR_EVER = (
    "movement",
    "derivation",
    "standing",
    "weighing",
    "inspection",
    "treatment",
    "withdrawal",
    "batch",
    "count",
    "sale",
    "trial",
    "note",
    "photo",
    "receivedline",
    "warrant",
    "parcel",
    "packing",
    "sending",
    "reportlink",
    "arrival",
    "complaint",
    "replacement",
    "payment",
    "receipt",
    "strikereport",
    "erasure",
    "expense",
    "minutes",
)

# What makes a row the same row. SQLite's INSERT OR REPLACE drops a row that shares one of these without asking any DELETE
# trigger, so an INSERT that would is refused before it comes to that.
SAME = {
    "movement": ("id", "number", "seal", "reverses_id"),
    "derivation": ("id", "parent_id,child_id"),
    "standing": ("id", "bag_id,since"),
    "weighing": ("id",),
    "inspection": ("id",),
    "treatment": ("id",),
    "withdrawal": ("id", "reading"),
    "lot": ("id", "code", "mark_key"),
    "place": ("id", "code"),
    "motherplant": ("id", "accession_key", "place_id"),
    "variety": ("id", "name_key"),
    "bag": ("place_id",),
    "balance": ("id", "lot_id,place_id"),
    "batch": ("place_id",),
    "count": ("id",),
    "sale": ("id", "movement_id"),
    "trial": ("id", "number"),
    "note": ("id",),
    "photo": ("id", "name"),
    "received": ("id", "number"),
    "receivedline": ("id", "lot_id", "received_id,position"),
    "warrant": ("id",),
    "parcel": ("place_id", "number"),
    "packing": ("movement_id",),
    "sending": ("id", "parcel_id"),
    "reportlink": ("id", "word_hash"),
    "arrival": ("id",),
    "complaint": ("id",),
    "replacement": ("order_id",),
    "payment": ("id",),
    "receipt": ("id", "number", "cancels_id"),
    "strikereport": ("id",),
    "erasure": ("id",),
    "expense": ("id", "reverses_id"),
    "minutes": ("id",),
}


def _same(table: str, *, but_itself: bool = False) -> str:
    """Return the condition that another row of a table shares a key with the new one."""
    keys = (" AND ".join(f"o.{part}=NEW.{part}" for part in key.split(",")) for key in SAME[table])
    rows = (
        f"EXISTS (SELECT 1 FROM ledger_{table} o WHERE {key}{' AND o.id<>NEW.id' * but_itself})"
        for key in keys
    )
    return " OR ".join(rows)


# The count that the movements give a lot in a place, recounted: what a balance must be.
_RECOUNT = (
    "(SELECT COALESCE(SUM(CASE WHEN m.to_place_id={place} THEN m.count ELSE -m.count END),0) FROM ledger_movement m"
    " WHERE m.lot_id=NEW.lot_id AND (m.to_place_id={place} OR m.from_place_id={place}))"
)
_OWN_MOTHER = "(SELECT m.place_id FROM ledger_lot l JOIN ledger_motherplant m ON m.id=l.mother_id WHERE l.id=NEW.lot_id)"
_OWN_SENDER = (
    "EXISTS (SELECT 1 FROM ledger_receivedline l JOIN ledger_received r ON r.id=l.received_id"
    " WHERE l.lot_id=NEW.lot_id AND r.sender_id=NEW.{place})"
)


def _kind(place: str, *kinds: str) -> str:
    """Return the condition that a place of the new row is of one of these kinds."""
    among = ",".join(f"'{kind}'" for kind in kinds)
    return f"(SELECT kind FROM ledger_place WHERE id=NEW.{place}) IN ({among})"


# (name, table, event, condition that must not hold, sentence)
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
    *(
        (
            f"{table}_no_replace",
            table,
            "INSERT",
            _same(table),
            f"a {table} is not put in the place of another",
        )
        for table in SAME
    ),
    *(
        (f"{table}_no_delete", table, "DELETE", "1=1", f"a {table} is never removed")
        for table in ("lot", "place", "bag", "balance")
    ),
    *(
        (
            f"received_stands_{event.lower()}",
            "received",
            event,
            "OLD.finished_at IS NOT NULL",
            "a parcel that was finished is never changed or removed",
        )
        for event in ("UPDATE", "DELETE")
    ),
    ("climatereading_no_update", "climatereading", "UPDATE", "1=1", to_say("a reading is never changed")),
    (
        "bag_keeps_make",
        "bag",
        "UPDATE",
        "1=1",
        to_say("a bag keeps its make: wood re-wrapped is wood moved to another bag"),
    ),
    (
        "lot_keeps_identity",
        "lot",
        "UPDATE",
        "NEW.id<>OLD.id OR NEW.code<>OLD.code OR NEW.variety_id<>OLD.variety_id OR NEW.made_at<>OLD.made_at"
        " OR NEW.taken_at<>OLD.taken_at OR COALESCE(NEW.mother_id,0)<>COALESCE(OLD.mother_id,0)",
        to_say("a lot keeps its code, variety, mother plant and day"),
    ),
    (
        "lot_takes_no_mark",
        "lot",
        "UPDATE",
        _same("lot", but_itself=True),
        to_say("another lot has this mark"),
    ),
    (
        "lot_is_of_its_mother",
        "lot",
        "INSERT",
        "NEW.mother_id IS NOT NULL AND NOT EXISTS (SELECT 1 FROM ledger_motherplant m"
        " WHERE m.id=NEW.mother_id AND m.variety_id=NEW.variety_id)",
        to_say("a lot is of the variety of its mother plant"),
    ),
    (
        "place_keeps_kind",
        "place",
        "UPDATE",
        "NEW.id<>OLD.id OR NEW.kind<>OLD.kind OR NEW.code<>OLD.code",
        to_say("a place keeps its kind and code"),
    ),
    (
        "place_takes_no_name",
        "place",
        "UPDATE",
        "NEW.kind IN ('site','store','bench','bag','batch','ground','parcel') AND EXISTS (SELECT 1 FROM ledger_place o"
        " WHERE o.name_key=NEW.name_key AND o.kind IN ('site','store','bench','bag','batch','ground','parcel') AND o.id<>NEW.id)",
        to_say("another place has this name"),
    ),
    (
        "place_named_once",
        "place",
        "INSERT",
        "NEW.kind IN ('site','store','bench','bag','batch','ground','parcel') AND EXISTS (SELECT 1 FROM ledger_place o"
        " WHERE o.name_key=NEW.name_key AND o.kind IN ('site','store','bench','bag','batch','ground','parcel'))",
        to_say("another place has this name"),
    ),
    *(
        (
            f"sender_named_once_{event.lower()}",
            "place",
            event,
            "NEW.kind='sender' AND EXISTS (SELECT 1 FROM ledger_place o WHERE o.kind='sender'"
            f" AND o.name_key=NEW.name_key{' AND o.id<>NEW.id' if event == 'UPDATE' else ''})",
            to_say("another sender has this name"),
        )
        for event in ("INSERT", "UPDATE")
    ),
    (
        "place_one_end",
        "place",
        "INSERT",
        "NEW.kind IN ('became','sold','given_up','lost') AND EXISTS (SELECT 1 FROM ledger_place o WHERE o.kind=NEW.kind)",
        to_say("one place of this kind serves the whole book"),
    ),
    (
        "mother_keeps_place",
        "motherplant",
        "UPDATE",
        "NEW.place_id<>OLD.place_id OR (NEW.variety_id<>OLD.variety_id"
        " AND EXISTS (SELECT 1 FROM ledger_lot l WHERE l.mother_id=OLD.id))",
        to_say("a mother plant that wood was taken from keeps its variety"),
    ),
    (
        "standing_in_a_store",
        "standing",
        "INSERT",
        f"NOT ({_kind('bag_id', 'bag')} AND {_kind('store_id', 'store')})"
        f" AND NOT ({_kind('bag_id', 'batch')} AND {_kind('store_id', 'bench')})",
        to_say("a bag stands in a cold place, a batch on a bench"),
    ),
    (
        "derivation_same_variety",
        "derivation",
        "INSERT",
        "NEW.part<>'stock' AND (SELECT variety_id FROM ledger_lot WHERE id=NEW.parent_id) <>"
        " (SELECT variety_id FROM ledger_lot WHERE id=NEW.child_id)",
        to_say("wood that became another lot keeps its variety"),
    ),
    (
        "movement_after_lot",
        "movement",
        "INSERT",
        "NEW.at < (SELECT made_at FROM ledger_lot WHERE id=NEW.lot_id)",
        to_say("a movement is not dated before its lot was made"),
    ),
    (
        "movement_from_own_mother",
        "movement",
        "INSERT",
        f"({_kind('from_place_id', 'mother')} AND NEW.from_place_id<>COALESCE({_OWN_MOTHER},0))"
        f" OR ({_kind('to_place_id', 'mother')} AND (NEW.reverses_id IS NULL"
        f" OR NEW.to_place_id<>COALESCE({_OWN_MOTHER},0)))",
        to_say("wood comes from its own mother plant"),
    ),
    (
        "movement_from_own_sender",
        "movement",
        "INSERT",
        f"({_kind('from_place_id', 'sender')} AND NOT {_OWN_SENDER.format(place='from_place_id')})"
        f" OR ({_kind('to_place_id', 'sender')} AND (NEW.reverses_id IS NULL"
        f" OR NOT {_OWN_SENDER.format(place='to_place_id')}))",
        to_say("wood that was received comes from its own sender"),
    ),
    (
        "movement_between_lots",
        "movement",
        "INSERT",
        f"({_kind('to_place_id', 'became')} AND NOT EXISTS (SELECT 1 FROM ledger_derivation d WHERE d.parent_id=NEW.lot_id))"
        f" OR ({_kind('from_place_id', 'became')}"
        " AND NOT EXISTS (SELECT 1 FROM ledger_derivation d WHERE d.child_id=NEW.lot_id AND d.count=NEW.count))",
        to_say("wood becomes another lot by a derivation"),
    ),
    (
        "movement_ends_stay",
        "movement",
        "INSERT",
        f"{_kind('from_place_id', 'sold', 'given_up', 'lost')} AND NEW.reverses_id IS NULL",
        to_say("what was sold, given up or not found comes back by a correction only"),
    ),
    (
        "movement_into_own_batch",
        "movement",
        "INSERT",
        f"{_kind('to_place_id', 'batch')} AND NOT EXISTS"
        " (SELECT 1 FROM ledger_batch b WHERE b.place_id=NEW.to_place_id AND b.lot_id=NEW.lot_id)",
        to_say("a batch holds its own lot alone"),
    ),
    (
        "movement_not_to_a_site",
        "movement",
        "INSERT",
        f"{_kind('from_place_id', 'site')} OR {_kind('to_place_id', 'site')}",
        to_say("no cuttings lie on a growing site"),
    ),
    (
        "movement_in_chain",
        "movement",
        "INSERT",
        "NEW.number <> COALESCE((SELECT MAX(number) FROM ledger_movement),0)+1 OR NEW.chained_to <>"
        " COALESCE((SELECT seal FROM ledger_movement WHERE number=NEW.number-1),'')",
        to_say("a movement follows the last one in number and seal"),
    ),
    (
        "movement_reverses_its_mirror",
        "movement",
        "INSERT",
        "NEW.reverses_id IS NOT NULL AND NOT EXISTS (SELECT 1 FROM ledger_movement r WHERE r.id=NEW.reverses_id"
        " AND r.lot_id=NEW.lot_id AND r.count=NEW.count AND r.from_place_id=NEW.to_place_id"
        " AND r.to_place_id=NEW.from_place_id AND r.reverses_id IS NULL)",
        to_say("a correction mirrors the movement it reverses"),
    ),
    (
        "balance_begins_empty",
        "balance",
        "INSERT",
        "NEW.count<>0",
        to_say("a balance is kept by the database alone"),
    ),
    (
        "balance_is_the_recount",
        "balance",
        "UPDATE",
        "NEW.id<>OLD.id OR NEW.lot_id<>OLD.lot_id OR NEW.place_id<>OLD.place_id OR NEW.is_source<>OLD.is_source"
        f" OR NEW.count<>{_RECOUNT.format(place='NEW.place_id')}",
        to_say("a balance is kept by the database alone"),
    ),
)

# The balances of the two places follow each movement, in the same transaction: recounted, not added to, so that the rows of
# one statement may come in any order.
_KEEP = (
    "INSERT INTO ledger_balance (lot_id, place_id, count, is_source)"
    " SELECT NEW.lot_id, p.id, 0, p.kind IN ('mother','sender','became') FROM ledger_place p WHERE p.id=NEW.{place}"
    " AND NOT EXISTS (SELECT 1 FROM ledger_balance b WHERE b.lot_id=NEW.lot_id AND b.place_id=NEW.{place});"
    " UPDATE ledger_balance SET count = {recount} WHERE lot_id=NEW.lot_id AND place_id=NEW.{place};"
)
KEEPER = "movement_keeps_balance"


def _statements(vendor: str) -> dict[str, list[str]]:
    """Return for each trigger the statements that make it."""
    keep = "".join(
        _KEEP.format(place=place, recount=_RECOUNT.format(place=f"NEW.{place}"))
        for place in ("from_place_id", "to_place_id")
    )
    if vendor == "sqlite":
        made = {
            f"guard_{name}": [
                f"CREATE TRIGGER guard_{name} BEFORE {event} ON ledger_{table} FOR EACH ROW WHEN {condition}"
                f" BEGIN SELECT RAISE(ABORT, '{sentence}'); END"
            ]
            for name, table, event, condition, sentence in REFUSALS
        }
        made[f"guard_{KEEPER}"] = [
            f"CREATE TRIGGER guard_{KEEPER} AFTER INSERT ON ledger_movement FOR EACH ROW BEGIN {keep} END"
        ]
        return made
    made = {}
    for name, table, event, condition, sentence in REFUSALS:
        given_back = "OLD" if event == "DELETE" else "NEW"
        body = (
            f" BEGIN IF {condition} THEN RAISE EXCEPTION '{sentence}'"
            f" USING ERRCODE='integrity_constraint_violation'; END IF; RETURN {given_back}; END "
        )
        made[f"guard_{name}"] = [
            _function(name, body),
            f"CREATE TRIGGER guard_{name} BEFORE {event} ON ledger_{table}"
            f" FOR EACH ROW EXECUTE FUNCTION guard_{name}()",
        ]
    for table in FOR_EVER:
        made[f"guard_{table}_no_truncate"] = [
            f"CREATE TRIGGER guard_{table}_no_truncate BEFORE TRUNCATE ON ledger_{table}"
            f" FOR EACH STATEMENT EXECUTE FUNCTION guard_{table}_no_delete()"
        ]
    made[f"guard_{KEEPER}"] = [
        _function(KEEPER, f" BEGIN {keep} RETURN NEW; END "),
        f"CREATE TRIGGER guard_{KEEPER} AFTER INSERT ON ledger_movement"
        f" FOR EACH ROW EXECUTE FUNCTION guard_{KEEPER}()",
    ]
    return made


def _function(name: str, body: str) -> str:
    return f"CREATE OR REPLACE FUNCTION guard_{name}() RETURNS trigger LANGUAGE plpgsql AS $${body}$$"


def _said(statements: list[str]) -> str:
    """Return what of a trigger's statements the database keeps word for word."""
    first = statements[0]
    return first.split("$$")[1] if "$$" in first else first


def _standing(using: BaseDatabaseWrapper) -> dict[str, tuple[str, str]]:
    """Return the guard's triggers that stand, by name: the table each is on, and its words."""
    if using.vendor == "sqlite":
        query = "SELECT name, tbl_name, sql FROM sqlite_master WHERE type='trigger' AND name LIKE 'guard\\_%%' ESCAPE '\\'"
    else:
        query = (
            "SELECT t.tgname, c.relname, p.prosrc FROM pg_trigger t JOIN pg_class c ON c.oid=t.tgrelid"
            " JOIN pg_proc p ON p.oid=t.tgfoid WHERE t.tgname LIKE 'guard\\_%%' AND NOT t.tgisinternal"
            " AND t.tgenabled <> 'D' AND c.relnamespace = current_schema()::regnamespace"
        )
    with using.cursor() as cursor:
        cursor.execute(query, [])
        return {name: (table, words) for name, table, words in cursor.fetchall()}


def expected() -> set[str]:
    """Return the names of the triggers that must stand."""
    return set(_statements(connection.vendor))


def missing() -> set[str]:
    """Return the names of triggers that do not stand, or do not say what they must. Empty is well.

    A change to what they say comes with a migration, empty if need be: the guard is put up anew after each.
    """
    standing = {name: words for name, (_, words) in _standing(connection).items()}
    made = _statements(connection.vendor)
    return {
        name
        for name, statements in made.items()
        if name not in standing or (not name.endswith("_no_truncate") and standing[name] != _said(statements))
    }


def remove(using: BaseDatabaseWrapper) -> None:
    """Take the guard down, as a migration that rewrites rows must."""
    with using.cursor() as cursor:
        for name, (table, _) in _standing(using).items():
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
            for statements in _statements(using.vendor).values():
                for statement in statements:
                    cursor.execute(statement)


@contextmanager
def erasing(using: BaseDatabaseWrapper, tables: Iterable[str]) -> Iterator[None]:
    """Let rows of these tables be written anew within the block, which stands in a transaction: to take a person out of the book.

    Nobody else sees the guard down: it goes down and up in the same transaction as what is taken out.
    """
    names = {f"guard_{table}_no_update": f"ledger_{table}" for table in tables}
    made = _statements(using.vendor)
    is_postgres = using.vendor == "postgresql"
    with using.cursor() as cursor:
        if is_postgres:  # a table with checks still to come cannot be altered
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        for name, table in names.items():
            cursor.execute(f"DROP TRIGGER IF EXISTS {name}" + (f" ON {table}" if is_postgres else ""))
        yield
        for name in names:
            for statement in made[name]:
                cursor.execute(statement)
        if is_postgres:
            cursor.execute("SET CONSTRAINTS ALL DEFERRED")
