"""Who sends a paper, as its head carries it."""

from dataclasses import dataclass

__all__ = ["Sender"]


@dataclass(frozen=True, slots=True)
class Sender:
    """The nursery on paper: its name, then street and place as they were given, and how it is reached."""

    lines: tuple[str, ...]
    contact: str = ""

    def __post_init__(self) -> None:
        if not self.lines or not self.lines[0]:
            raise ValueError("A paper names who sends it.")
