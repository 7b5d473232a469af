"""The collection of an invented nursery: every name here is made up, the place as well."""

from dataclasses import dataclass

__all__ = ["MOTHERS", "NURSERY", "SITE", "ZONE", "Mother"]

NURSERY = "Ebbenau Nursery (invented)"
ZONE = "Europe/Prague"
SITE = "Brook field"


@dataclass(frozen=True, slots=True)
class Mother:
    """One row of the grower's list of mother plants."""

    accession: str
    variety: str
    species: str
    source: str
    health: str
    note: str


def _mothers(table: str) -> tuple[Mother, ...]:
    return tuple(Mother(*(cell.strip() for cell in line.split("|"))) for line in table.strip().splitlines())


# accession | variety | species | source | health | note
MOTHERS = _mothers("""
C-01 | Inkwell Lass | blackcurrant | own cross of 2009 | no signs seen |
C-02 | Inkwell Lass | blackcurrant | from C-01 | no signs seen |
C-03 | Soot Lantern | blackcurrant | gift, Aldermoor hedge | big bud picked out in 2024 | look again before leaf
C-04 | Soot Lantern | blackcurrant | from C-03 | no signs seen |
C-05 | Brook Magpie | blackcurrant | own cross of 2012 | no signs seen |
C-06 | Brook Magpie | blackcurrant | from C-05 | no signs seen | half shade
C-07 | Tarn Velvet | blackcurrant | swapped at Lower Sedge fair | no signs seen |
R-01 | Ember Latch | redcurrant | own cross of 2011 | no signs seen |
R-02 | Ember Latch | redcurrant | from R-01 | no signs seen |
R-03 | Robin Thatch | redcurrant | gift, Tibb's yard | coral spot cut out in 2025 | knife cleaned between plants
R-04 | Robin Thatch | redcurrant | from R-03 | no signs seen |
R-05 | Glass Thimble | redcurrant | own cross of 2014 | no signs seen | pink fruit
R-06 | Milk Pennant | redcurrant | own cross of 2014 | no signs seen | white fruit
G-01 | Hobnail Green | gooseberry | old bush by the gate | no signs seen |
G-02 | Hobnail Green | gooseberry | from G-01 | no signs seen |
G-03 | Old Mittens | gooseberry | gift, Aldermoor hedge | mildew in wet summers | thin wood
G-04 | Old Mittens | gooseberry | from G-03 | mildew in wet summers | thin wood
G-05 | Amber Bodkin | gooseberry | own cross of 2015 | no signs seen |
G-06 | Pepper Hedge | gooseberry | swapped at Lower Sedge fair | no signs seen |
E-01 | Ditch Umbel | elder | hedge, selected 2008 | no signs seen | wide pith
E-02 | Ditch Umbel | elder | from E-01 | no signs seen |
E-03 | Owl Parasol | elder | own seedling of 2016 | no signs seen | dark leaf
E-04 | Plum Saucer | elder | gift, Tibb's yard | no signs seen |
V-01 | Slate Finch | grape | own seedling of 2007 | no signs seen | south bank
V-02 | Slate Finch | grape | from V-01 | no signs seen |
V-03 | Cellar Wren | grape | swapped at Lower Sedge fair | no signs seen |
V-04 | Cellar Wren | grape | from V-03 | no signs seen |
V-05 | Dusk Pergola | grape | own seedling of 2010 | no signs seen |
V-06 | Dusk Pergola | grape | from V-05 | no signs seen |
V-07 | Rook's Rosary | grape | gift, Aldermoor hedge | no signs seen | late to ripen its wood
Q-01 | Brass Owl | quince | old tree by the pond | no signs seen |
Q-02 | Brass Owl | quince | from Q-01 | no signs seen |
Q-03 | Wool Lamp | quince | own seedling of 2013 | no signs seen |
Q-04 | Wool Lamp | quince | from Q-03 | leaf blight in 2023 |
Q-05 | Gilded Barrow | quince | gift, Tibb's yard | no signs seen |
M-01 | Ink Saint | mulberry | old tree by the chapel | no signs seen |
M-02 | Ink Saint | mulberry | from M-01 | no signs seen |
M-03 | Silk Tinker | mulberry | own seedling of 2005 | no signs seen |
P-01 | Copper Bellows | pomegranate | swapped at Lower Sedge fair | no signs seen | against the wall, fleece
P-02 | Hearth Pennon | pomegranate | own seedling of 2017 | no signs seen | against the wall, fleece
""")
