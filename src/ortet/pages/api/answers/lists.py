"""Answers that are part of a list, with how many fit in all."""

from ninja import Field

from ortet.pages.api.types import Answer

from .wishes import Buyer, Evidence, Label, Line
from .wood import LotRow, Mother, PlaceRow, Variety

__all__ = [
    "Buyers",
    "EvidenceOf",
    "Lots",
    "Mothers",
    "Orders",
    "Places",
    "Rows",
    "Varieties",
    "Written",
]


class Rows(Answer):
    """Part of a list."""

    total: int = Field(description="How many fit in all.")


class Lots(Rows):
    """Lots."""

    rows: list[LotRow]


class Places(Rows):
    """Places."""

    rows: list[PlaceRow]


class Mothers(Rows):
    """Mother plants."""

    rows: list[Mother]


class Varieties(Rows):
    """Varieties."""

    rows: list[Variety]


class Buyers(Rows):
    """Buyers."""

    rows: list[Buyer]


class Orders(Rows):
    """Lines of orders."""

    rows: list[Line]


class Written(Rows):
    """Labels."""

    rows: list[Label]


class EvidenceOf(Rows):
    """What the counts say of each variety."""

    rows: list[Evidence]
