"""The wood of the demo season as the grower wrote it down: what was cut from which plant, and how it was bagged."""

from dataclasses import dataclass
from datetime import datetime

from ortet.wood.cutting import Cutting

from .climate import BARN, CELLAR, local
from .plants import MOTHERS

__all__ = ["BAGS", "LOTS", "BagMade", "LotTaken"]

FILM_G_PER_CM3 = 0.92  # polyethylene
OF_PLANT = {mother.accession: mother for mother in MOTHERS}


@dataclass(frozen=True, slots=True)
class LotTaken:
    """One row of the grower's list of lots."""

    mark: str
    accession: str
    taken: datetime
    count: int
    use: str
    grade: str
    cutting: Cutting

    @property
    def species(self) -> str:
        """The kind of wood."""
        return OF_PLANT[self.accession].species


@dataclass(frozen=True, slots=True)
class BagMade:
    """One bag: what it is made of and what was put in, and what only the tale knows."""

    name: str
    closed: datetime
    polymer: str
    thickness_um: float
    layers: int
    width_mm: float
    height_mm: float
    closure: str
    packing: str
    packing_water_g: float
    contents: tuple[tuple[str, int], ...]
    leak: float  # how many times the usual slit its closure really is
    wet_g: float  # water on the wood when the bag was closed, which nobody noted
    weighed: str  # often, monthly, once, never
    looked: str  # the rounds at which it was opened: the letters of readings.LOOKS

    @property
    def store(self) -> str:
        """The fridge: shelves A and B are in the cellar, C and D in the barn."""
        return CELLAR if self.name[0] in "AB" else BARN

    @property
    def free_g(self) -> float:
        """Water that lay on the wood when the bag was closed, noted or not. [g]"""
        return self.wet_g + (self.packing_water_g if self.packing == "none" else 0.0)

    @property
    def packing_g(self) -> float:
        """Packing and the water in it. [g]"""
        if self.packing == "none":
            return 0.0
        return (
            1.35 * self.packing_water_g or 12.0
        )  # three parts of water to one of sawdust; four sheets of paper

    @property
    def tare_g(self) -> float:
        """Bag and packing without wood, as weighed to half a gram."""
        film = 2 * self.width_mm * self.height_mm * self.thickness_um * self.layers * FILM_G_PER_CM3 / 1e6
        return round(2 * (film + self.packing_g)) / 2


# usual piece: length, base, tip [mm], nodes
SIZES: dict[str, dict[str, tuple[float, float, float, int]]] = {
    "thick": {"blackcurrant": (240, 10, 8, 7), "redcurrant": (240, 10, 8, 8), "gooseberry": (200, 7, 5.5, 8), "elder": (250, 14, 11, 3),
              "grape": (340, 11, 9, 4), "quince": (260, 11, 8.5, 7), "mulberry": (220, 11, 8.5, 5), "pomegranate": (230, 8, 6, 8)},
    "medium": {"blackcurrant": (220, 8, 6.5, 6), "redcurrant": (220, 8, 6.5, 7), "gooseberry": (190, 6, 4.5, 7), "elder": (240, 11, 9, 3),
               "grape": (300, 9, 7.5, 4), "quince": (240, 9, 7, 6), "mulberry": (200, 9, 7, 5), "pomegranate": (210, 7, 5, 7)},
    "thin": {"blackcurrant": (200, 6.5, 5, 6), "redcurrant": (200, 6.5, 5, 6), "gooseberry": (170, 4.4, 3.4, 7), "elder": (220, 9, 7, 2),
             "grape": (260, 7.5, 6.5, 3), "quince": (200, 7, 5.5, 5), "mulberry": (180, 7, 5.5, 4), "pomegranate": (190, 5.5, 4, 7)},
}  # fmt: skip

# mark, mother plant, taken, count, use, grade
TAKEN = """
26-001 G-01 2026-10-27 09:40 24 rooting medium
26-002 R-01 2026-10-27 10:30 28 rooting thick
26-003 G-03 2026-11-10 09:15 26 rooting thin
26-004 G-04 2026-11-10 10:05 30 rooting thin
26-005 G-05 2026-11-10 11:20 22 rooting medium
26-006 R-02 2026-11-17 09:30 30 rooting medium
26-007 R-03 2026-11-17 10:10 28 rooting medium
26-008 R-05 2026-11-17 11:05 24 rooting medium
26-009 R-06 2026-11-17 11:40 20 rooting thin
26-010 C-01 2026-11-24 09:20 30 rooting medium
26-011 C-02 2026-11-24 10:00 30 rooting medium
26-012 C-03 2026-11-24 10:45 26 rooting medium
26-013 C-05 2026-11-24 11:30 20 rooting medium
26-013B C-05 2026-11-24 11:30 20 rooting thin
26-014 M-01 2026-12-01 10:00 18 rooting medium
26-015 M-02 2026-12-01 10:40 14 rooting thin
26-016 P-01 2026-12-01 13:10 20 rooting medium
26-017 P-02 2026-12-01 13:50 16 rooting thin
26-018 C-04 2026-12-04 09:10 30 rooting medium
26-019 C-06 2026-12-04 09:50 28 rooting thin
26-020 C-07 2026-12-04 10:30 24 rooting medium
26-021 G-02 2026-12-04 11:10 30 rooting medium
26-022 G-06 2026-12-04 11:50 18 rooting medium
26-023 V-01 2026-12-09 09:30 40 rooting thick
26-024 V-02 2026-12-09 10:30 30 rooting medium
26-025 V-03 2026-12-09 11:20 30 rooting medium
26-026 V-04 2026-12-09 13:20 24 rooting medium
26-027 V-05 2026-12-15 09:40 30 rooting medium
26-028 V-06 2026-12-15 10:20 26 rooting medium
26-029 V-07 2026-12-15 11:00 20 rooting thin
26-030 Q-01 2026-12-15 12:30 30 rooting medium
26-031 Q-02 2026-12-15 13:20 24 rooting thick
26-032 E-01 2026-12-18 09:30 24 rooting medium
26-033 E-02 2026-12-18 10:10 18 rooting medium
26-034 E-03 2026-12-18 10:50 20 rooting thick
27-001 Q-03 2027-01-08 09:40 30 rooting medium
27-002 Q-04 2027-01-08 10:20 24 rooting medium
27-003 Q-05 2027-01-08 11:00 20 rooting thin
27-004 R-04 2027-01-08 12:40 30 rooting medium
27-005 M-03 2027-01-08 13:20 16 rooting medium
27-006 E-04 2027-01-14 09:30 20 rooting medium
27-007 V-01 2027-01-14 10:20 24 grafting medium
27-008 V-03 2027-01-14 11:00 20 grafting medium
27-009 Q-01 2027-01-14 12:40 20 grafting thin
27-010 Q-03 2027-01-14 13:20 16 grafting thin
27-011 C-01 2027-01-20 09:30 30 rooting medium
27-012 C-05 2027-01-20 10:10 30 rooting medium
27-013 R-01 2027-01-20 10:50 30 rooting medium
27-014 R-02 2027-01-20 11:30 26 rooting medium
27-015 G-02 2027-01-20 13:00 24 rooting medium
27-016 C-03 2027-01-27 09:40 24 rooting medium
27-017 C-07 2027-01-27 10:20 20 rooting medium
27-018 R-03 2027-01-27 11:00 24 rooting medium
27-019 G-05 2027-01-27 11:40 20 rooting thin
27-020 V-02 2027-02-03 09:50 24 grafting medium
27-021 Q-02 2027-02-11 14:10 30 rooting medium
27-022 E-01 2027-02-11 15:00 26 rooting medium
"""

# bag, closed, film, µm, layers, width, height, closure, packing, its water, contents; then the leak, water on the wood, weighed, looked at
BAGGED = """
A1  2026-10-27 15:30 LDPE 50  1 300 400 fold      none           0 26-001:24,26-002:28 1.0  0 often   bdf
A2  2026-11-10 15:00 LDPE 20  1 250 400 fold      none           0 26-003:26           20   0 often   be
A3  2026-11-10 15:10 LDPE 50  1 250 350 zip       none           0 26-004:30           1.0  0 monthly bdf
A4  2026-11-10 15:20 LDPE 50  1 250 350 zip       dry_paper      0 26-005:22           1.2  0 monthly ce
A5  2026-12-04 15:40 LDPE 50  1 300 400 zip       none           0 26-021:30,26-022:18 1.0  0 monthly df
A6  2026-12-09 16:10 HDPE 100 1 350 500 heat-seal none           0 26-023:40           1.0  0 monthly ce
A7  2026-12-09 16:20 LDPE 50  1 350 500 knot      none           0 26-024:30           1.0  0 monthly ce
A8  2027-01-08 16:00 LDPE 50  1 300 400 fold      none           0 27-004:30           1.0  0 never   f
A9  2027-01-14 15:30 LDPE 60  1 300 400 zip       none           0 27-007:24,27-008:20 0.8  0 monthly f
A10 2027-01-27 15:00 LDPE 50  1 250 400 fold      none           0 27-018:24,27-019:20 1.0  0 once    f
A11 2027-02-03 15:10 LDPE 60  1 300 450 zip       none           0 27-020:24 1.0  0 once    -
B1  2026-11-17 15:10 LDPE 50  2 300 450 fold      none           0 26-006:30,26-007:28 0.7  0 often   bdf
B2  2026-11-17 15:20 LDPE 60  1 300 400 zip       none           0 26-008:24,26-009:20 1.0  0 monthly ce
B3  2026-11-24 15:40 LDPE 50  1 300 400 knot      none           0 26-010:30           1.4  0 often   cdf
B4  2026-11-24 15:50 LDPE 50  1 300 400 fold      none           0 26-011:30           1.1  0 monthly ce
B5  2026-11-24 16:00 LDPE 50  1 300 450 zip       none           0 26-012:26,26-013:20 0.9  0 monthly df
B6  2026-12-15 16:10 LDPE 80  2 300 450 zip       none          20 26-030:30           0.4  0 often   e
B7  2026-12-15 16:20 LDPE 60  1 300 450 fold      none           0 26-031:24           1.0  0 monthly df
B8  2027-01-08 15:40 LDPE 50  1 300 400 zip       none           0 27-001:30           1.3  0 monthly f
B9  2027-01-08 15:50 LDPE 50  1 300 400 fold      none           0 27-002:24,27-003:20 1.0  0 monthly f
B10 2027-01-27 15:20 LDPE 75  1 300 400 zip       none           0 27-016:24,27-017:20 1.0  14 once    f
C1  2026-11-24 16:20 LDPE 50  1 300 400 fold      none           0 26-013B:20          1.0  0 monthly ce
C2  2026-12-01 15:20 LDPE 75  1 300 400 zip       dry_paper      0 26-014:18,26-015:14 1.0  0 monthly df
C3  2026-12-01 15:40 LDPE 50  1 300 400 zip       moist_sawdust 80 26-016:20,26-017:16 1.0  0 often   ce
C4  2026-12-04 15:50 PP   40  1 300 400 fold      none           0 26-018:30,26-019:28 1.2  0 often   df
C5  2026-12-04 16:00 LDPE 30  1 250 350 open      none           0 26-020:24           0.8  0 often   df
C6  2026-12-09 16:30 LDPE 50  1 350 500 fold      none           0 26-025:30           1.0  0 monthly ce
C7  2026-12-09 16:40 LDPE 50  1 350 500 knot      none           0 26-026:24           1.0  0 monthly df
C8  2027-01-20 15:20 LDPE 50  1 300 450 fold      none           0 27-011:30,27-012:30 1.0  0 monthly f
C9  2027-01-20 15:30 LDPE 50  1 300 450 zip       none           0 27-013:30,27-014:26 1.1  0 monthly f
D1  2026-12-15 16:30 LDPE 60  1 350 500 fold      none           0 26-027:30           1.0  0 monthly de
D2  2026-12-15 16:40 LDPE 60  1 350 500 zip       none           0 26-028:26,26-029:20 1.0  0 monthly df
D3  2026-12-18 15:30 LDPE 50  1 300 450 fold      none           0 26-032:24           1.0  0 monthly -
D4  2026-12-18 15:40 LDPE 50  1 300 450 zip       none           0 26-033:18,26-034:20 1.0  0 monthly df
D5  2027-01-08 16:10 LDPE 75  1 250 400 zip       dry_paper      0 27-005:16           1.0  0 monthly f
D6  2027-01-14 15:50 LDPE 50  1 300 450 fold      none           0 27-006:20           1.0  0 monthly f
D7  2027-01-14 16:00 LDPE 60  1 250 400 zip       none           0 27-009:20,27-010:16 1.0  0 monthly f
D8  2027-01-20 15:40 LDPE 50  1 250 400 fold      none           0 27-015:24           1.0  0 monthly f
"""


def _lots() -> tuple[LotTaken, ...]:
    lots = []
    for line in TAKEN.strip().splitlines():
        mark, accession, day, clock, count, use, grade = line.split()
        piece = Cutting(*SIZES[grade][OF_PLANT[accession].species])
        lots.append(LotTaken(mark, accession, local(f"{day} {clock}"), int(count), use, grade, piece))
    return tuple(lots)


def _bags() -> tuple[BagMade, ...]:
    bags = []
    for line in BAGGED.strip().splitlines():
        (
            name,
            day,
            clock,
            film,
            um,
            layers,
            wide,
            high,
            closure,
            packing,
            water,
            held,
            leak,
            wet,
            weighed,
            looked,
        ) = line.split()
        contents = tuple((lot, int(count)) for lot, count in (part.split(":") for part in held.split(",")))
        bags.append(
            BagMade(
                name,
                local(f"{day} {clock}"),
                film,
                float(um),
                int(layers),
                float(wide),
                float(high),
                closure,
                packing.replace("_", " "),
                float(water),
                contents,
                float(leak),
                float(wet),
                weighed,
                looked.strip("-"),
            )
        )
    return tuple(bags)


LOTS = _lots()
BAGS = _bags()
