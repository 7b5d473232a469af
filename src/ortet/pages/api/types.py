"""How values travel: counts as whole numbers, money as decimal text, moments with their zone, words without NUL."""

import re
from datetime import date, datetime
from decimal import Decimal
from typing import Annotated, Any

from django.utils import timezone
from ninja import Schema
from pydantic import BeforeValidator, ConfigDict, Field, PlainSerializer, WithJsonSchema

from ortet.ledger.booking import MOST

__all__ = [
    "Answer", "Asked", "At", "Count", "Day", "Degrees", "Grams", "Length", "Many", "Money", "Name", "Note", "Number",
    "Paid", "Percent", "Rate", "Share", "When", "Words",
]  # fmt: skip

PRICE = r"^(0|[1-9][0-9]{0,7})(\.[0-9]{1,2})?$"
PERCENT = r"^(0|[1-9][0-9]{0,2})(\.[0-9]{1,4})?$"
# RFC 3339, section 5.6, with the offset that says which moment is meant. [published]
MOMENT = r"^\d{4}-\d{2}-\d{2}[Tt ]\d{2}:\d{2}:\d{2}(\.\d+)?([Zz]|[+-]\d{2}:\d{2})$"


class Asked(Schema):
    """What is sent. A field that is not known is refused, so that a slip of the pen is not taken for silence."""

    model_config = ConfigDict(extra="forbid")


class Answer(Schema):
    """What is answered."""

    model_config = ConfigDict(from_attributes=True)


def _moment(value: Any) -> Any:
    if isinstance(value, datetime):
        return value
    if not isinstance(value, str) or not re.match(MOMENT, value):
        raise ValueError("write a moment with its offset, such as 2027-01-15T09:30:00+01:00")
    return value.upper()


def _day(value: Any) -> Any:
    if isinstance(value, date) or (isinstance(value, str) and re.match(r"^\d{4}-\d{2}-\d{2}$", value)):
        return value
    raise ValueError("write a day as 2027-01-15")


def _price(value: Any) -> Any:
    if isinstance(value, Decimal) or (isinstance(value, str) and re.match(PRICE, value)):
        return value
    raise ValueError('write money as text with at most two decimals, such as "4.50"')


def _percent(value: Any) -> Any:
    if isinstance(value, Decimal) or (isinstance(value, str) and re.match(PERCENT, value)):
        return value
    raise ValueError('write a rate in per cent as text with at most four decimals, such as "8.875"')


def _whole(value: Any) -> Any:
    """Take 4.0 for 4, as JSON Schema does; true is no number."""
    if isinstance(value, bool) or (isinstance(value, float) and not value.is_integer()):
        raise ValueError("write a whole number")
    return int(value) if isinstance(value, float) else value


def _one_line(limit: int) -> Any:
    return Field(min_length=1, max_length=limit)


Name = Annotated[str, _one_line(200)]  # a code, a mark, a name
Words = Annotated[str, Field(max_length=200)]
Note = Annotated[str, Field(max_length=2_000)]
Count = Annotated[int, Field(strict=True, ge=1, le=MOST), BeforeValidator(_whole)]
Many = Annotated[int, Field(strict=True, ge=0, le=MOST), BeforeValidator(_whole)]
Number = Annotated[
    int, Field(strict=True, ge=1, le=2**31 - 1), BeforeValidator(_whole)
]  # of an order, a movement
Share = Annotated[float, Field(strict=True, gt=0, lt=1)]
Grams = Annotated[float, Field(strict=True, ge=0, le=100_000, allow_inf_nan=False)]
Length = Annotated[float, Field(strict=True, gt=0, le=3_000, allow_inf_nan=False)]
Degrees = Annotated[float, Field(strict=True, ge=-50, le=100, allow_inf_nan=False)]
At = Annotated[
    datetime,
    BeforeValidator(_moment),
    WithJsonSchema(
        {
            "type": "string",
            "format": "date-time",
            "pattern": MOMENT,
            "description": "When it was done, with its offset (RFC 3339). Left out: now.",
        }
    ),
]
Day = Annotated[date, BeforeValidator(_day), WithJsonSchema({"type": "string", "format": "date"})]
Paid = Annotated[
    Decimal,
    BeforeValidator(_price),
    WithJsonSchema({"type": "string", "pattern": PRICE, "description": "Money, as decimal text."}),
]
Rate = Annotated[
    Decimal,
    BeforeValidator(_percent),
    WithJsonSchema({"type": "string", "pattern": PERCENT, "description": "Per cent, as decimal text."}),
]
# Answers
When = Annotated[
    datetime,
    PlainSerializer(lambda at: timezone.localtime(at).isoformat(), return_type=str),
    WithJsonSchema({"type": "string", "format": "date-time"}),
]
Money = Annotated[
    Decimal,
    PlainSerializer(lambda amount: f"{amount:.2f}", return_type=str),
    WithJsonSchema({"type": "string", "pattern": r"^-?[0-9]+\.[0-9]{2}$"}),
]
Percent = Annotated[
    Decimal,
    PlainSerializer(
        lambda rate: f"{rate.normalize():f}" if rate != round(rate, 2) else f"{rate:.2f}", return_type=str
    ),
    WithJsonSchema({"type": "string", "pattern": r"^[0-9]+\.[0-9]{2,4}$"}),
]
