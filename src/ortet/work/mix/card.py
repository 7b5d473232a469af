"""What is asked of a mix, as it was typed, and the card that answers."""

from dataclasses import dataclass, field

from ortet.science.doses import Dose
from ortet.wood.volume import figures, show_volume

__all__ = ["Card", "Mixing", "Pour", "weight"]


@dataclass(frozen=True, slots=True)
class Pour:
    """So much of one thing to measure out."""

    amount: str
    what: str
    other: str = ""  # the same by another measure


@dataclass(frozen=True, slots=True)
class Card:
    """A mix, to be read at the tub."""

    agent: str
    title: str
    pours: tuple[Pour, ...]
    steps: tuple[str, ...]
    same: tuple[str, ...]  # the strength in other words
    keeps: tuple[str, ...]  # how long it lasts
    notes: tuple[str, ...]  # what the sum rests on
    doses: tuple[Dose, ...]
    cautions: tuple[str, ...]
    strength: str = ""  # to record a treatment with; nothing where none is booked
    minutes: float | None = None
    numbers: dict[str, float] = field(default_factory=dict)  # for programs: mL, g, g/L


@dataclass(frozen=True, slots=True)
class Mixing:
    """What is asked, as it was typed."""

    agent: str
    target: str = ""
    volume: str = ""
    stock: str = ""
    form: str = "liquid"
    density: float | None = None  # of the stock [kg/L]
    ph: float | None = None
    water_c: float | None = None
    minutes: float | None = None
    units: str = "metric"
    strip: str = ""  # what a test shows now: a strength, or the share that is left
    ago: str = ""  # how long before the test it was mixed
    least: str = ""  # the least that will do
    mixed_at: str = ""  # time of day

    def amount(self, ml: float, what: str) -> Pour:
        """Return what to pour, by the nursery's measures."""
        metric, here = show_volume(ml), show_volume(ml, self.units)
        return Pour(here, what, metric if here != metric else "")

    def show(self, ml: float) -> str:
        """Write a volume by the nursery's measures."""
        return show_volume(ml, self.units)


def weight(grams: float) -> str:
    """Write a weight as a small scale shows it."""
    return (
        f"{grams / 1000:.3g} kg"
        if grams >= 999.5
        else f"{figures(grams)} g"
        if grams >= 0.1
        else f"{figures(grams * 1000)} mg"
    )
