"""What logs must not hold: addresses that are keys, and what a database quotes of a row."""

import logging
import re
from types import TracebackType

__all__ = ["KeepKeys", "WithoutRows"]

# A calendar's secret, the code that pairs a phone, and the word of a buyer's link stand in the path.
KEY = re.compile(r"(/(?:calendar|pair|r)/)[^/\s?'\"]+")
# PostgreSQL adds the row that it refuses, a buyer's with where they live, and its values may hold line breaks.
ROW = re.compile(r"\nDETAIL: .*?(?=\n(?:HINT|CONTEXT|QUERY): |\n\n|\Z)", re.DOTALL)


def _without(value: object) -> object:
    return KEY.sub(r"\1…", value) if isinstance(value, str) and "/" in value else value


class KeepKeys(logging.Filter):
    """Take keys out of what is logged."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Let every record through, without keys."""
        record.msg = _without(record.msg)
        if isinstance(record.args, tuple):
            record.args = tuple(map(_without, record.args))
        return True


Broke = tuple[type[BaseException], BaseException, TracebackType | None] | tuple[None, None, None]


class WithoutRows(logging.Formatter):
    """Write how something broke, without what the database quotes of a row."""

    def formatException(self, ei: Broke) -> str:
        """Return the trace."""
        return ROW.sub("", super().formatException(ei))
