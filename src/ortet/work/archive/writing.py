"""The whole book into one zip file of open formats."""

import hashlib
import io
import json
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import IO, TextIO, cast

from django.db.migrations.recorder import MigrationRecorder
from django.db.models import Max

from ortet import __version__
from ortet.ledger import rules
from ortet.ledger.booking import Refused
from ortet.ledger.models import Movement, Nursery, Photo
from ortet.tables.package import Table, descriptor, resource_of, write_rows
from ortet.wood.speech import say
from ortet.work.check import one_moment
from ortet.work.remarks import file_of, misplaced

from .book import stored

__all__ = ["DESCRIPTOR", "Archived", "archive"]

DESCRIPTOR = "datapackage.json"
ALWAYS = (1980, 1, 1, 0, 0, 0)  # the time a zip file gives each entry: the same book makes the same archive


@dataclass(frozen=True, slots=True)
class Archived:
    """What went into an archive."""

    tables: int
    rows: int
    photos: int


class _Counted(io.RawIOBase):
    """A file written to that knows how much it was given, and the hash of that."""

    def __init__(self, to: IO[bytes]) -> None:
        self.to, self.sha256, self.size = to, hashlib.sha256(), 0

    def writable(self) -> bool:
        return True

    def write(self, data: bytes) -> int:  # type: ignore[override]
        self.sha256.update(data)
        self.size += len(data)
        return self.to.write(data)


def _entry(name: str, *, packed: bool = True) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name, ALWAYS)
    entry.compress_type = zipfile.ZIP_DEFLATED if packed else zipfile.ZIP_STORED
    entry.external_attr = 0o600 << 16  # once unpacked, its owner's only
    return entry


def _put_table(
    pack: zipfile.ZipFile, table: Table, rows: Iterable[Sequence[object]]
) -> tuple[int, dict[str, object]]:
    with pack.open(_entry(table.file), "w", force_zip64=True) as file:
        counted = _Counted(file)
        text: TextIO = io.TextIOWrapper(cast("IO[bytes]", counted), encoding="utf-8", newline="")
        many = write_rows(text, table, rows)
        text.flush()
    return many, resource_of(table.file, counted.size, counted.sha256.hexdigest(), table)


def _photos(pack: zipfile.ZipFile) -> Iterator[dict[str, object]]:
    for photo in Photo.objects.order_by("pk"):
        picture = file_of(photo).read_bytes()
        name = f"photos/{photo.name}"
        pack.writestr(_entry(name, packed=False), picture)
        yield resource_of(name, len(picture), hashlib.sha256(picture).hexdigest())


def archive(out: IO[bytes]) -> Archived:
    """Write the whole book into a zip file: each table as CSV, the photos, and a descriptor of it all.

    The book is recounted first, every seal with it. The same book makes the same bytes. Passwords, one-time codes and tries to
    sign in stay behind.

    Raises
    ------
    Refused
        If the book does not hold: an archive is of a book that does.
    """
    with one_moment():
        wrong = [f"{fault.where}: {fault.message}" for fault in rules.check()]
        wrong += [f"{where}: {what}" for where, what in misplaced()]
        if wrong:
            raise Refused(
                say(
                    "The book does not hold: {wrong}. See `ortet check`, and keep a copy of the database file as it is. "
                    "Nothing was archived.",
                    wrong=wrong[0],
                )
            )
        resources, rows = [], 0
        with zipfile.ZipFile(out, "w") as pack:
            tables = stored()
            for one in tables:
                many, resource = _put_table(pack, one.table, one.rows())
                resources.append(resource)
                rows += many
            pictures = list(_photos(pack))
            last = MigrationRecorder.Migration.objects.filter(app="ledger").aggregate(last=Max("name"))[
                "last"
            ]
            said = descriptor(
                "ortet-book",
                [*resources, *pictures],
                title=Nursery.get().name,
                ortet={
                    "version": __version__,
                    "tables_as_of": last,
                    "last_seal": Movement.objects.order_by("number").values_list("seal", flat=True).last()
                    or "",
                },
            )
            pack.writestr(_entry(DESCRIPTOR), json.dumps(said, ensure_ascii=False, indent=1))
    return Archived(len(tables), rows, len(pictures))
