"""Strengths that others have used and published: ranges to choose among, never one right dose.

Each row says for what, how strong, how long, what came of it, and who says so. For one species the best strengths of
different trials lie apart by a factor of ten and more: try a few cuttings first.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["BLEACH_TOP", "DOSES", "Dose", "doses"]


@dataclass(frozen=True, slots=True)
class Dose:
    """What was used, for how long, and who says so."""

    agent: str
    use: str
    low: float  # in unit
    high: float
    unit: str
    time: str
    found: str
    source: str
    mark: str  # published, memory or common practice

    def __post_init__(self) -> None:
        if not (0 < self.low <= self.high and self.source and self.mark):
            raise ValueError(f"{self.use}: a dose needs a range, a source and a mark.")

    @property
    def range(self) -> str:
        """Write the range."""
        ends = f"{self.low:,g}" if self.low == self.high else f"{self.low:,g} to {self.high:,g}"
        return f"{ends} {self.unit}"


IOWA = "Iowa State University Extension, How do I sanitize my pruners"
PENN = "Penn State Extension, Disinfecting tools, equipment, pots, flats and benches"
MINNESOTA = "University of Minnesota Extension 2015, on Teviotdale 1991"
WHO = "WHO 2014, Infection prevention and control, Annex G, Table G.1"
BLEACH_TOP = 20.0  # g/L sodium hypochlorite: above it lies none of the rows below

DOSES = (
    Dose("bleach", "clean surfaces", 0.05, 0.05, "%", "wiped 10 min, immersed 30 min",
         "500 ppm available chlorine, on what was washed first", WHO, "published"),
    Dose("bleach", "blades and tools", 0.5, 0.6, "%", "10 min or more, then rinse",
         "1 part household bleach + 9 parts water, used within two hours; also where fire blight is about", IOWA, "published"),
    Dose("bleach", "pots, flats, benches", 0.5, 0.6, "%", "10 min under, then air-dry",
         "1 + 9, washed first: soil and sap keep it off; rinse metal", PENN, "published"),
    Dose("bleach", "blades, fire blight", 0.85, 1.1, "%", "dipped or sprayed",
         "a mix of about 1 in 5 was among the best; 70 % alcohol killed only some", MINNESOTA, "published"),
    Dose("bleach", "dormant cuttings", 0.5, 0.5, "%", "5 to 10 min, then rinse well",
         "can hurt buds and bark: try ten cuttings first", "growers' custom", "common practice"),
    Dose("alcohol", "blades and tools", 70, 70, "% by volume", "wiped or dipped, no soak",
         "straight from the bottle; not for fire blight", IOWA, "published"),
    Dose("alcohol", "blades and tools", 70, 70, "% by volume", "dipped or swabbed, left to dry",
         "do not rinse", PENN, "published"),
    Dose("hormone", "fig", 100, 1000, "ppm IBA", "20 min to 12 h",
         "best of nine: 500 ppm for 2 h, 13.3 points more rooted, callus 7 days sooner",
         "J. Sichuan Forestry Sci. Technol. 2017(1), doi 10.16779/j.cnki.1003-5508.2017.01.016 (abstract)", "published"),
    Dose("hormone", "pomegranate", 500, 1000, "ppm IBA", "not said in the abstract",
         "500 ppm the better: 73 % rooted", "Mehta, Singh & Harsana 2018, J. Med. Plants Stud. 6(1):250-253", "published"),
    Dose("hormone", "pomegranate", 1000, 5000, "ppm IBA", "quick dip",
         "5,000 ppm the best: 73 % rooted", "Singh 2017, Int. J. Hort. Floric. 5(4):318-323", "published"),
    Dose("hormone", "pomegranate", 3000, 12000, "ppm IBA", "dip",
         "9,000 ppm the best: 67.5 % rooted", "trial at Pakhribas, Nepal (read as a copy without its journal)", "memory"),
    Dose("hormone", "hardwood in general, quick dip", 2500, 10000, "ppm IBA", "3 to 5 s",
         "2,500 to 5,000 for easy and middling wood, up to 10,000 for hard", "Hartmann & Kester, Plant Propagation", "memory"),
    Dose("hormone", "hardwood in general, long soak", 20, 200, "ppm IBA", "24 h, bases only",
         "weaker for easy wood", "Hartmann & Kester, Plant Propagation", "memory"),
    Dose("hormone", "grape, currant, willow, poplar", 1000, 2000, "ppm IBA", "3 to 5 s",
         "mostly none is needed: they root without", "growers' custom", "common practice"),
)  # fmt: skip


def doses(agent: str) -> tuple[Dose, ...]:
    """Return what is known for bleach, alcohol or hormone; nothing for a product, whose label says it."""
    return tuple(dose for dose in DOSES if dose.agent == agent)
