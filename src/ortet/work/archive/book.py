"""Which tables a book has and what is in them, by what Django knows of its models: a new table joins by itself."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from django.apps import apps
from django.contrib.auth.models import User
from django.db.models import Field, ForeignKey, Model

from ortet.ledger.models import Balance, Movement, Pairing, SignInTry
from ortet.tables.package import Column, Table

__all__ = ["BALANCE", "HANDS", "Stored", "stored"]

KINDS = {
    "AutoField": "integer",
    "BigAutoField": "integer",
    "BigIntegerField": "integer",
    "BooleanField": "boolean",
    "CharField": "string",
    "DateField": "date",
    "DateTimeField": "datetime",
    "DecimalField": "decimal",
    "EmailField": "string",
    "FloatField": "float",
    "IntegerField": "integer",
    "JSONField": "json",
    "PositiveBigIntegerField": "integer",
    "PositiveIntegerField": "integer",
    "PositiveSmallIntegerField": "integer",
    "SlugField": "string",
    "SmallIntegerField": "integer",
    "TextField": "string",
    "URLField": "string",
    "UUIDField": "uuid",
}
PASSING: tuple[type[Model], ...] = (Pairing, SignInTry)  # gone within minutes: doors, no part of the book
LATE: tuple[type[Model], ...] = (Movement, Balance)  # the guard looks at other tables when these are written
BALANCE = "balance"  # for whoever reads the archive; a book makes its own from the movements
# Who writes in the book. A password stays where it was set: an archive lies on sticks and in post boxes.
HANDS = Table(
    "hand",
    (
        Column("id", "integer"),
        Column("username", "string", longest=150),
        Column("is_active", "boolean"),
        Column("is_superuser", "boolean"),
        Column("is_staff", "boolean"),
        Column("date_joined", "datetime"),
        Column("may", "json"),
    ),
    key=("id",),
    unique=(("username",),),
)


@dataclass(frozen=True, slots=True)
class Stored:
    """A table of the book: its model and what its file looks like."""

    model: type[Model]
    table: Table

    def rows(self) -> Iterator[Sequence[object]]:
        """Yield its rows, always in the same order."""
        if self.table is HANDS:
            yield from _hands()
            return
        names = [column.name for column in self.table.columns]
        found = self.model._base_manager.order_by(*_in_order(self.model, self.table.key))
        yield from found.values_list(*names).iterator(chunk_size=5_000)


def _hands() -> Iterator[Sequence[object]]:
    for user in User.objects.order_by("id"):
        may = sorted(user.user_permissions.values_list("codename", flat=True))
        flags = (user.is_active, user.is_superuser, user.is_staff)
        yield (user.pk, user.username, *flags, user.date_joined, may)


def _in_order(model: type[Model], key: tuple[str, ...]) -> tuple[str, ...]:
    """Return what a table is sorted by: the number booked where rows follow one another, or the key."""
    return ("number",) if model is Movement else key


def _column(field: Field[Any, Any]) -> Column:
    meant = field
    while isinstance(meant, ForeignKey):  # a key may itself be another table's
        meant = meant.target_field
    kind = KINDS[meant.get_internal_type()]  # a field of a kind that is not here must find its place here
    longest = meant.max_length if kind == "string" else None
    return Column(field.attname, kind, field.null, longest)


def _table(model: type[Model]) -> Table:
    of = model._meta
    fields = [field for field in of.concrete_fields if model is not Balance or not field.primary_key]
    key = ("lot_id", "place_id") if model is Balance else tuple(field.attname for field in of.pk_fields)
    unique = [(field.attname,) for field in fields if field.unique and not field.primary_key]
    refers = [
        (field.attname, _name(field.related_model), field.target_field.attname)
        for field in fields
        if isinstance(field, ForeignKey) and isinstance(field.related_model, type)
    ]
    return Table(_name(model), tuple(map(_column, fields)), key, tuple(unique), tuple(refers))


def _name(model: type[Model]) -> str:
    return HANDS.name if model is User else str(model._meta.model_name)


def stored() -> list[Stored]:
    """Return the tables of a book, each after those it refers to; movements after all that does not need them.

    The account's guard looks, at each movement, at what stands in other tables, so those come first.
    """
    left = [model for model in apps.get_app_config("ledger").get_models() if model not in PASSING]
    placed: list[Stored] = [Stored(User, HANDS)]
    done: set[str] = {HANDS.name}
    while left:
        ready = [
            model for model in left if {to for _, to, _ in _table(model).refers} - {_name(model)} <= done
        ]
        assert ready, f"tables refer to each other in a circle: {left}"
        # balances after movements, though they do not refer to them
        chosen = min(ready, key=LATE.index if set(ready) <= set(LATE) else lambda model: model in LATE)
        placed.append(Stored(chosen, _table(chosen)))
        done.add(_name(chosen))
        left.remove(chosen)
    return placed
