"""A book from an archive: into an empty one only, all or nothing, and recounted before it counts."""

import hashlib
import io
import json
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from itertools import islice
from pathlib import Path
from typing import IO, Any, cast

from django.apps import apps
from django.contrib.auth.models import Permission, User
from django.core.management.color import no_style
from django.db import DatabaseError, connection, transaction
from django.db.models import NOT_PROVIDED, Model

from ortet.ledger import rules
from ortet.ledger.booking import Refused, take_turn
from ortet.ledger.models import Balance, Nursery, Photo
from ortet.tables.package import Column, read_rows, seal_of
from ortet.wood.speech import say
from ortet.work.remarks import file_of, misplaced

from .book import BALANCE, HANDS, PASSING, Stored, stored
from .writing import DESCRIPTOR, Archived

__all__ = ["restore"]

AT_ONCE = 500
BROKEN = (
    zipfile.BadZipFile,
    zlib.error,
    json.JSONDecodeError,
    UnicodeDecodeError,
    EOFError,
    NotImplementedError,
)


def restore(file: IO[bytes]) -> Archived:
    """Make an empty book equal to the one that was archived; return what came in.

    The guard stands all the while: movements are booked one after the other as the archive has them, the database keeps the
    balances from them, and they must come out as archived. Hands come without their passwords.

    Raises
    ------
    Refused
        If this book is not empty, the archive is broken, changed or of a later Ortet, or what it says does not hold.
    """
    written: list[Path] = []
    try:
        with zipfile.ZipFile(file) as pack, transaction.atomic():
            take_turn()
            _refuse_unless_empty()
            resources = _resources(pack)
            tables = stored()
            _refuse_unknown(resources, tables)
            rows = sum(_take_in(pack, one, resources) for one in tables if one.table.file in resources)
            _reset_counters(tables)
            photos = _take_photos(pack, resources, written)
            _refuse_unless_it_holds()
        return Archived(len(tables), rows, photos)
    except BROKEN as error:
        _remove(written)
        raise Refused(
            say(
                "This is no archive of a book, or it is broken: {error}. Take another copy. Nothing was restored.",
                error=error,
            )
        ) from None
    except DatabaseError as error:
        _remove(written)
        raise Refused(
            say(
                "The book refuses what the archive says: {error}. Nothing was restored.",
                error=str(error).splitlines()[0],
            )
        ) from None
    except BaseException:
        _remove(written)
        raise


def _remove(written: list[Path]) -> None:
    for path in written:
        path.unlink(missing_ok=True)


def _refuse_unless_empty() -> None:
    models = [
        model for model in apps.get_app_config("ledger").get_models() if model not in (*PASSING, Nursery)
    ]
    full = next((model for model in models if model._base_manager.exists()), None)
    if full is not None or User.objects.count() > 1:
        what = say("more than one hand") if full is None else str(full._meta.verbose_name_plural)
        raise Refused(
            say(
                "This book is not empty: it holds {what}. Name an empty folder in ORTET_FOLDER, or an empty database in "
                "ORTET_DATABASE, and restore there. Nothing was restored.",
                what=what,
            )
        )


def _resources(pack: zipfile.ZipFile) -> dict[str, dict[str, Any]]:
    """Return the archive's files by path, after looking that the descriptor is as it was written."""
    if DESCRIPTOR not in pack.namelist():
        raise Refused(
            say(
                "This is no archive of a book: it has no {descriptor}. Nothing was restored.",
                descriptor=DESCRIPTOR,
            )
        )
    said = json.loads(pack.read(DESCRIPTOR))
    if not isinstance(said, dict) or said.get("seal") != seal_of(said):
        raise Refused(
            say(
                "{descriptor} is not as it was archived: it was changed since. Take another copy. Nothing was restored.",
                descriptor=DESCRIPTOR,
            )
        )
    resources = {resource["path"]: resource for resource in said["resources"]}
    if gone := sorted(resources.keys() - set(pack.namelist())):
        raise Refused(
            say("{gone} is missing from the archive. Take another copy. Nothing was restored.", gone=gone[0])
        )
    return resources


def _refuse_unknown(resources: Mapping[str, Mapping[str, Any]], tables: list[Stored]) -> None:
    known = {one.table.file: {column.name for column in one.table.columns} for one in tables}
    for path, resource in resources.items():
        if not path.endswith(".csv"):
            continue
        columns = [field["name"] for field in resource["schema"]["fields"]]
        if new := sorted(set(columns) - known.get(path, set())):
            raise Refused(
                say(
                    "{path} holds {new}, which this Ortet does not know: a later one made the archive. Restore with that one. "
                    "Nothing was restored.",
                    path=path,
                    new=", ".join(new),
                )
            )


@contextmanager
def _opened(pack: zipfile.ZipFile, resource: Mapping[str, Any]) -> Iterator[io.TextIOWrapper]:
    """Open a table of the archive after looking that it is as it was written."""
    path = resource["path"]
    with pack.open(path) as file:
        sha256 = hashlib.file_digest(cast("io.BufferedReader", file), "sha256").hexdigest()
    if resource["hash"] != f"sha256:{sha256}":
        raise Refused(
            say(
                "{path} is not as it was archived: it was changed since. Take another copy. Nothing was restored.",
                path=path,
            )
        )
    with pack.open(path) as file, io.TextIOWrapper(file, encoding="utf-8", newline="") as text:
        yield text


def _take_in(pack: zipfile.ZipFile, one: Stored, resources: Mapping[str, Mapping[str, Any]]) -> int:
    resource = resources[one.table.file]
    named = {column.name: column for column in one.table.columns}
    columns = [named[field["name"]] for field in resource["schema"]["fields"]]
    try:
        with _opened(pack, resource) as text:
            rows = (
                dict(zip([c.name for c in columns], row, strict=True)) for row in read_rows(text, columns)
            )
            if one.table is HANDS:
                return _take_hands(rows)
            if one.table.name == BALANCE:
                return _compare_balances(rows)
            _refuse_lacking(one, columns)
            return _take_rows(one.model, rows)
    except ValueError as error:
        if isinstance(error, Refused | UnicodeDecodeError):
            raise
        raise Refused(
            say("{file}, {error}. Nothing was restored.", file=one.table.file, error=error)
        ) from None


def _refuse_lacking(one: Stored, columns: list[Column]) -> None:
    """Refuse an older archive whose table lacks what has no usual value; what has one gets it."""
    there = {column.name for column in columns}
    for field in one.model._meta.concrete_fields:
        usual = (
            field.null or field.default is not NOT_PROVIDED or (field.blank and field.empty_strings_allowed)
        )
        if field.attname not in there and not usual and not field.primary_key:
            raise Refused(
                say(
                    "{file} lacks {column}, which a book needs. Nothing was restored.",
                    file=one.table.file,
                    column=field.attname,
                )
            )


def _take_rows(model: type[Model], rows: Iterator[dict[str, object]]) -> int:
    if model is Nursery:
        Nursery.objects.all().delete()
    many = 0
    while batch := [model(**row) for row in islice(rows, AT_ONCE)]:
        model._base_manager.bulk_create(batch)
        many += len(batch)
    return many


def _take_hands(rows: Iterator[dict[str, object]]) -> int:
    """Put the hands in, in place of the grower of this empty book, whose password stays."""
    here = User.objects.first()
    User.objects.all().delete()
    many = 0
    for row in rows:
        may = cast("list[str]", row.pop("may"))
        user = User(**row)
        user.set_unusable_password()
        if here is not None and here.username == user.username:
            user.password = here.password
        user.save(force_insert=True)
        user.user_permissions.set(
            Permission.objects.filter(codename__in=may, content_type__app_label="ledger")
        )
        many += 1
    return many


def _compare_balances(rows: Iterator[dict[str, object]]) -> int:
    archived = {(row["lot_id"], row["place_id"]): row["count"] for row in rows}
    kept = {
        (lot, place): count
        for lot, place, count in Balance.objects.values_list("lot_id", "place_id", "count")
    }
    if archived != kept:
        raise Refused(
            say("The movements do not come to the balances that the archive says. Nothing was restored.")
        )
    return len(archived)


def _reset_counters(tables: list[Stored]) -> None:
    """Let the next number a database gives come after those that came in."""
    models = [one.model for one in tables]
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), models):
            cursor.execute(statement)


def _take_photos(
    pack: zipfile.ZipFile, resources: Mapping[str, Mapping[str, Any]], written: list[Path]
) -> int:
    """Put the photos beside the book, each as its row says; a file of no row stays out."""
    many = 0
    for photo in Photo.objects.iterator():
        path = f"photos/{photo.name}"
        picture = pack.read(path) if path in resources else b""
        if Path(photo.name).name != photo.name or hashlib.sha256(picture).hexdigest() != photo.sha256:
            raise Refused(
                say("{path} is not as it was archived. Take another copy. Nothing was restored.", path=path)
            )
        there = file_of(photo)
        there.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        if not there.exists():
            written.append(there)
            there.touch(0o600)
            there.write_bytes(picture)
        many += 1
    return many


def _refuse_unless_it_holds() -> None:
    wrong = [f"{fault.where}: {fault.message}" for fault in rules.check()]
    wrong += [f"{where}: {what}" for where, what in misplaced()]
    if wrong:
        raise Refused(
            say("What the archive says does not hold: {wrong}. Nothing was restored.", wrong=wrong[0])
        )
