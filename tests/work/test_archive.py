"""The whole book out and in again: equal, or not at all."""

import csv
import io
import json
import re
import zipfile
from decimal import Decimal
from pathlib import Path

import dplib
import pytest
from django.contrib.auth.models import User
from django.db import connection
from jsonschema import Draft7Validator

from ortet import work
from ortet.ledger import guard
from ortet.ledger.models import Lot, Movement, Nursery, Photo
from ortet.tables.package import Column, Table, read_rows, seal_of, write_rows
from ortet.work import Refused
from ortet.work.archive import archive, restore
from ortet.work.archive.book import stored
from ortet.work.check import check
from ortet.work.nursery import may_write
from ortet.work.remarks import file_of

pytestmark = pytest.mark.django_db


def archived() -> bytes:
    out = io.BytesIO()
    archive(out)
    return out.getvalue()


def empty_the_book() -> None:
    """Take everything out, as a new folder or database would be; the guard stands again afterwards."""
    for photo in Photo.objects.all():
        file_of(photo).unlink(missing_ok=True)
    guard.remove(connection)
    Movement.objects.update(reverses=None)
    for one in reversed(stored()):
        one.model._base_manager.all()._raw_delete("default") if one.model is not User else None
    User.objects.all().delete()
    guard.install(connection)


@pytest.fixture
def whole(full_book, ada, ben) -> bytes:
    """An archive of a book in which every deed was done once, some words of it hard to write down."""
    Nursery(
        id=1, name='Hill "north",\r\nand Čáslav', zone="Europe/Prague", transit={"3": 0.5, "1": 0.5}
    ).save()
    work.note("=1+1, say; «quoted»\nand a second line", lot="L1", by=ada, at=full_book.lot.made_at)
    work.add_mother("M9", "Ribes nigrum 'Rook' KRÄHE", "blackcurrant")
    return archived()


def changed(whole: bytes, name: str, change) -> io.BytesIO:
    """Return an archive with one of its files changed, or left out where the change makes nothing of it."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(whole)) as old, zipfile.ZipFile(out, "w") as new:
        for entry in old.namelist():
            content = old.read(entry)
            content = change(content) if entry == name else content
            if content is not None:
                new.writestr(entry, content)
    out.seek(0)
    return out


def test_a_restored_book_is_equal_and_archives_to_the_same_bytes(whole):
    before = check()
    empty_the_book()
    assert Lot.objects.count() == 0
    came = restore(io.BytesIO(whole))
    assert check() == before and not before[0], before
    assert archived() == whole
    assert came.rows > 100 and came.photos == 1 and file_of(Photo.objects.get()).exists()
    assert not guard.missing()
    assert Nursery.get().name == 'Hill "north",\r\nand Čáslav'


def test_hands_come_back_with_what_they_may_and_without_their_passwords(whole):
    empty_the_book()
    restore(io.BytesIO(whole))
    ada, ben = User.objects.get(username="ada"), User.objects.get(username="ben")
    assert may_write(ada) and not may_write(ben)
    assert not ada.has_usable_password()
    assert b"password" not in zipfile.ZipFile(io.BytesIO(whole)).read("hand.csv")


def test_the_book_goes_on_after_a_restore(whole):
    empty_the_book()
    restore(io.BytesIO(whole))
    ada = User.objects.get(username="ada")
    at = Movement.objects.order_by("number").last().at
    work.add_mother("M77", "New", "elder", site="Hill")
    lot = work.take("M77", 3, mark="N1", by=ada, at=at)
    assert lot.pk > 0 and check()[0] == []


def test_only_an_empty_book_is_restored_into(whole):
    with pytest.raises(Refused, match=r"not empty.*Nothing was restored"):
        restore(io.BytesIO(whole))


@pytest.mark.parametrize(
    ("name", "change", "says"),
    [
        (
            "movement.csv",
            lambda text: text.replace(b",taken,", b",bagged,", 1),
            "movement.csv is not as it was archived",
        ),
        (
            "weighing.csv",
            lambda text: text.replace(b"320.0", b"310.0"),
            "weighing.csv is not as it was archived",
        ),
        ("lot.csv", lambda text: None, "lot.csv is missing"),
        (
            "datapackage.json",
            lambda text: text.replace(b"500", b"501"),
            "datapackage.json is not as it was archived",
        ),
        ("datapackage.json", lambda text: b"{}", "datapackage.json is not as it was archived"),
        ("datapackage.json", lambda text: None, "no archive of a book"),
    ],
)
def test_a_changed_archive_is_refused_whole(whole, name, change, says):
    empty_the_book()
    if name == "datapackage.json" and change(b"500") == b"501":
        change = lambda text: text.replace(b'"maxLength": ', b'"maxLength": 1', 1)  # noqa: E731
    with pytest.raises(Refused, match=says):
        restore(changed(whole, name, change))
    assert Lot.objects.count() == 0 and not (Nursery.objects.exists())


def forged(whole: bytes, path: str, old: bytes, new: bytes) -> io.BytesIO:
    """Return an archive changed by somebody who also mended its hashes and its descriptor's seal."""
    import hashlib

    content = zipfile.ZipFile(io.BytesIO(whole)).read(path)
    assert old in content
    content = content.replace(old, new, 1)
    said = json.loads(zipfile.ZipFile(io.BytesIO(whole)).read("datapackage.json"))
    for resource in said["resources"]:
        if resource["path"] == path:
            resource["hash"] = f"sha256:{hashlib.sha256(content).hexdigest()}"
    said["seal"] = seal_of(said)
    once = changed(whole, path, lambda _: content)
    return changed(once.getvalue(), "datapackage.json", lambda _: json.dumps(said).encode())


@pytest.mark.parametrize(
    ("path", "old", "new", "says"),
    [
        ("movement.csv", b",taken,", b",bagged,", "its seal does not fit"),
        ("movement.csv", b",40,", b",400,", "seal|balances"),
        ("lot.csv", b",rooting,", b",rooting,,", "line 2: .* cells in"),
        ("weighing.csv", b"320.0", b"heavy", "weighing.csv, line 2, gross_g: 'heavy' is no float"),
        ("weighing.csv", b"320.0", b"-320.0", "The book refuses what the archive says"),
        ("photo.csv", b".jpg", b".jpeg", "is not as it was archived"),
    ],
)
def test_a_forged_archive_fails_on_the_account_itself(whole, path, old, new, says):
    empty_the_book()
    with pytest.raises(Refused, match=says):
        restore(forged(whole, path, old, new))
    assert Lot.objects.count() == 0


def test_what_is_no_archive_is_refused():
    with pytest.raises(Refused, match="no archive of a book"):
        restore(io.BytesIO(b"PK but no"))


def test_a_book_that_does_not_hold_is_not_archived(full_book):
    guard.remove(connection)
    Movement.objects.filter(number=1).update(count=41)
    guard.install(connection)
    with pytest.raises(Refused, match=r"does not hold.*Nothing was archived"):
        archived()


def test_every_table_is_described_and_every_reference_leads_to_one(whole):
    """Table Schema 2.0 (datapackage.org): a key's columns are there, its values are never twice, its references exist. [published]"""
    with zipfile.ZipFile(io.BytesIO(whole)) as pack:
        said = json.loads(pack.read("datapackage.json"))
        assert {one["$schema"].rsplit("/", 2)[1] for one in [said, *said["resources"]]} == {"2.0"}
        tables = {one["name"]: one for one in said["resources"] if one.get("type") == "table"}
        for name, one in tables.items():
            fields = [field["name"] for field in one["schema"]["fields"]]
            rows = list(csv.reader(io.StringIO(pack.read(one["path"]).decode(), newline="")))
            assert rows[0] == fields and len(set(fields)) == len(fields)
            assert set(one["schema"]["primaryKey"]) <= set(fields)
            key = [fields.index(column) for column in one["schema"]["primaryKey"]]
            assert len({tuple(row[i] for i in key) for row in rows[1:]}) == len(rows) - 1
            for lead in one["schema"].get("foreignKeys", []):
                to = tables[lead["reference"].get("resource", name)]
                assert set(lead["fields"]) <= set(fields)
                there = [field["name"] for field in to["schema"]["fields"]]
                assert set(lead["reference"]["fields"]) <= set(there)
            assert len(pack.read(one["path"])) == one["bytes"]
    assert {"hand", "movement", "lot", "variety", "balance", "climatereading"} <= tables.keys()
    assert {"pairing", "signintry"}.isdisjoint(tables)


PROFILES = Path(dplib.__file__).parent / "profiles" / "2.0"  # Open Knowledge Foundation, MIT


def against_the_profile(name: str, said: dict) -> list[str]:
    profile = json.loads((PROFILES / f"{name}.json").read_text(encoding="utf-8"))
    return [f"{one.json_path}: {one.message[:200]}" for one in Draft7Validator(profile).iter_errors(said)]


def test_the_descriptor_is_by_the_standards_own_profiles(whole):
    """Data Package 2.0: its JSON Schema profiles, as the package dplib-py ships them. [published]"""
    with zipfile.ZipFile(io.BytesIO(whole)) as pack:
        said = json.loads(pack.read("datapackage.json"))
    assert against_the_profile("datapackage", said) == []
    for one in said["resources"]:
        assert against_the_profile("dataresource", one) == [], one["path"]
        if "schema" in one:
            assert against_the_profile("tableschema", one["schema"]) == [], one["path"]
    first = next(one for one in said["resources"] if "schema" in one)
    first["schema"]["fields"][0]["type"] = "whole number"
    assert against_the_profile("datapackage", said) and against_the_profile("tableschema", first["schema"])


def test_names_and_references_are_as_the_standards_words_ask(whole):
    """Data Resource 2.0, `name`: unique, of small letters, digits, points, hyphens and underscores, also that of a picture;
    Table Schema 2.0, `foreignKeys`: a reference to the table itself leaves the resource out. [published]"""
    with zipfile.ZipFile(io.BytesIO(whole)) as pack:
        said = json.loads(pack.read("datapackage.json"))
    names = [one["name"] for one in said["resources"]]
    assert len(set(names)) == len(names)
    assert all(re.fullmatch(r"[a-z0-9._-]+", name) for name in names)
    assert any(one["path"].startswith("photos/") for one in said["resources"])
    leads = {
        one["name"]: [lead["reference"].get("resource") for lead in one["schema"].get("foreignKeys", [])]
        for one in said["resources"]
        if "schema" in one
    }
    assert None in leads["movement"]  # what a movement takes back
    assert all(lead not in ("", name) for name, to in leads.items() for lead in to)


# How a cell of each type is written: Table Schema 2.0, "Field Types", and XML Schema's dateTime. [published]
WRITTEN = {
    "integer": r"[+-]?\d+",
    "number": r"(?i:nan|-?inf)|[+-]?(\d+(\.\d*)?|\.\d+)(E[+-]?\d+)?",
    "boolean": r"true|True|TRUE|1|false|False|FALSE|0",
    "date": r"\d{4}-\d\d-\d\d",
    "datetime": r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]\d\d:\d\d)?",
    "uuid": r"[0-9a-fA-F]{8}(-[0-9a-fA-F]{4}){3}-[0-9a-fA-F]{12}",
    "string": r"(?s:.*)",
}


def amiss(field: dict, cell: str, usual: list[str]) -> bool:
    """Whether a cell is other than its field promises; the field's own missing values go before the table's."""
    constraints = field.get("constraints", {})
    if cell in field.get("missingValues", usual):
        return bool(constraints.get("required"))
    kind = "uuid" if field["format"] == "uuid" else field["type"]
    return not re.fullmatch(WRITTEN[kind], cell) or len(cell) > constraints.get("maxLength", len(cell))


def test_every_cell_is_as_its_field_promises(whole):
    seen = set()
    with zipfile.ZipFile(io.BytesIO(whole)) as pack:
        for one in json.loads(pack.read("datapackage.json"))["resources"]:
            if "schema" not in one:
                continue
            fields, usual = one["schema"]["fields"], one["schema"]["missingValues"]
            for row in [*csv.reader(io.StringIO(pack.read(one["path"]).decode(), newline=""))][1:]:
                wrong = [
                    (one["path"], field["name"], cell)
                    for field, cell in zip(fields, row, strict=True)
                    if amiss(field, cell, usual)
                ]
                assert wrong == []
            seen |= {field["type"] for field in fields}
    assert seen == WRITTEN.keys() - {"uuid"}


@pytest.mark.parametrize(
    ("kind", "value", "cell"),
    [("float", 0.00001, "1E-05"), ("float", 0.1 + 0.2, "0.30000000000000004"), ("decimal", Decimal("1E+2"), "1E+2")],
)  # fmt: skip
def test_a_number_is_written_as_the_standard_writes_it_and_read_back(kind, value, cell):
    """Table Schema 2.0, `number`: an exponent is a capital E with its digits. [published]"""
    column = Column("a", kind)
    assert column.cell(value) == cell and column.value(cell) == value
    assert not amiss(column.described(), cell, [""])


def test_a_word_that_is_empty_is_told_from_none():
    """Table Schema 2.0: a field's own missing values go before the table's; required is never nothing. [published]"""
    word, perhaps = Column("a", "string").described(), Column("a", "string", may_be_empty=True).described()
    assert not amiss(word, "", [""]) and word["constraints"] == {"required": True}
    assert not amiss(perhaps, "", [""]) and "missingValues" not in perhaps
    assert amiss(Column("a", "integer").described(), "", [""])


def test_a_table_is_csv_as_rfc_4180_has_it():
    """RFC 4180, section 2, rules 1, 5, 6 and 7: lines end in CR LF, quotes are doubled, and its own example. [memory]"""
    table = Table("t", (Column("a", "string"), Column("b", "integer", may_be_empty=True)), ("a",))
    out = io.StringIO(newline="")
    write_rows(out, table, [('a "b", c', 1), ("x\r\ny", None)])
    assert out.getvalue() == 'a,b\r\n"a ""b"", c",1\r\n"x\r\ny",\r\n'
    out.seek(0)
    assert list(read_rows(out, table.columns)) == [['a "b", c', 1], ["x\r\ny", None]]


def test_the_tables_read_in_a_library_that_knows_nothing_of_us(whole):
    """pandas reads what the descriptor promises: counts that come to the balances."""
    import pandas as pd

    with zipfile.ZipFile(io.BytesIO(whole)) as pack:
        moved = pd.read_csv(io.BytesIO(pack.read("movement.csv")))
        kept = pd.read_csv(io.BytesIO(pack.read("balance.csv")))
    came = moved.groupby(["lot_id", "to_place_id"])["count"].sum()
    left = moved.groupby(["lot_id", "from_place_id"])["count"].sum()
    sums = came.rename_axis(["lot_id", "place_id"]).sub(
        left.rename_axis(["lot_id", "place_id"]), fill_value=0
    )
    assert sums.sort_index().tolist() == kept.set_index(["lot_id", "place_id"])["count"].sort_index().tolist()
