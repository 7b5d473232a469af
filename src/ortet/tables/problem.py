"""A problem found in a file, as a value: where it is, what is wrong and what to do."""

from dataclasses import dataclass

from ortet.wood.speech import say

__all__ = ["Problem"]


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing in a file that keeps it from being loaded."""

    file: str
    line: int | None
    column: str | None
    message: str
    remedy: str

    def __str__(self) -> str:
        where = self.file
        if self.line is not None:
            where += say(", row {line}", line=self.line)
        if self.column is not None:
            where += f', "{self.column}"'
        return f"{where}: {self.message} {self.remedy}".rstrip()
