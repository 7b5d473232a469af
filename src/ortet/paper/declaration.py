"""A supplier's document for CAC fruit plant material: one label a lot, to be cut apart.

Its particulars are those of Directive 2014/96/EU, Article 5 (2); a document that is fixed to the material is yellow, 5 (3). It is in
one official language of the Union, 5 (4): English, whatever the grower reads, since the words it must bear are known here in no
other. It is the supplier who vouches for what it says. Typst lays it out (declaration.typ beside this file).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from ortet.wood.countries import EU
from ortet.wood.speech import say

from .sheet import Sheet, on_labels
from .typeset import SheetPaper

__all__ = ["COVERED", "SupplierLabel", "supplier_labels"]

# The kinds of Directive 2008/90/EC, Annex I, that grow here: genus, or genus and species. [memory]
COVERED = (
    "Castanea sativa", "Citrus", "Corylus avellana", "Cydonia oblonga", "Ficus carica", "Fortunella", "Fragaria", "Juglans regia",
    "Malus", "Olea europaea", "Pistacia vera", "Poncirus", "Prunus amygdalus", "Prunus armeniaca", "Prunus avium", "Prunus cerasus",
    "Prunus domestica", "Prunus persica", "Prunus salicina", "Pyrus", "Ribes", "Rubus", "Vaccinium",
)  # fmt: skip
EU_WORDS = "EU rules and standards"
CAC = "CAC material"  # pre-basic, basic and certified material carry an official label, which no supplier prints


@dataclass(frozen=True, slots=True)
class SupplierLabel:
    """The particulars of Directive 2014/96/EU, Article 5 (2), a to i; the category, g, is always CAC."""

    state: str  # b: member state, by name or code
    body: str  # c: official body, by name or code
    supplier: str  # d: name, or registration number
    batch: str  # e: serial, week or batch number
    botanical: str  # f
    variety: str  # h: denomination; of a rootstock that is no variety, its species
    issued: str  # i: date of issue
    note: str = ""  # h: rootstock and top apart, a denomination proposed or pending

    def __post_init__(self) -> None:
        """Refuse what lacks a particular.

        Raises
        ------
        ValueError
            If one is missing, or the kind is none of the directive's.
        """
        wanted = {
            say("b, the member state"): self.state,
            say("c, the official body: ask it for its name or code"): self.body,
            say("d, the supplier"): self.supplier,
            say("e, the batch"): self.batch,
            say("f, the botanical name"): self.botanical,
            say("h, the denomination"): self.variety,
            say("i, the date of issue"): self.issued,
        }
        for what, said in wanted.items():
            if not said.strip():
                raise ValueError(
                    say(
                        "A supplier's document without {what} (Directive 2014/96/EU, Article 5). Nothing was printed.",
                        what=what,
                    )
                )
        if self.state not in EU:
            raise ValueError(
                say(
                    "{state}: this supplier's document is that of the European Union. Ask the official body what is wanted "
                    "where you are. Nothing was printed.",
                    state=self.state,
                )
            )
        genus, *rest = self.botanical.split()
        kinds = {genus, *(f"{one} {other}" for one, other in pairwise([genus, *rest]))}
        if not kinds & set(COVERED):
            raise ValueError(
                say(
                    "{name} is none of the fruit kinds of Directive 2008/90/EC, Annex I: no CAC document is made for it. "
                    "Nothing was printed.",
                    name=self.botanical,
                )
            )

    @property
    def rows(self) -> tuple[tuple[str, str], ...]:
        """The particulars in the order of the article, each with what it is called."""
        return (
            ("", EU_WORDS),
            ("Member state", self.state),
            ("Official body", self.body),
            ("Supplier", self.supplier),
            ("Batch number", self.batch),
            ("Botanical name", self.botanical),
            ("Category", CAC),
            ("Variety", self.variety + (f"; {self.note}" if self.note else "")),
            ("Issued", self.issued),
        )


_SHEET = Sheet(columns=2, rows=4, width=92, height=62)


def supplier_labels(
    labels: Sequence[SupplierLabel], *, paper: SheetPaper = "a4", skip: int = 0, ground: bool = True
) -> bytes:
    """Return supplier's documents as labels, eight to a sheet, as a PDF.

    Parameters
    ----------
    skip
        Places of the first sheet that are used up already.
    ground
        Whether the label's ground is printed yellow; not where the paper itself is yellow.

    Raises
    ------
    ValueError
        If there is none, the paper is unknown, the sheet has not that many places, or no font has a letter of a name.
    """
    rows = [{"rows": one.rows} for one in labels]
    return on_labels(
        "declaration", _SHEET, rows, paper=paper, skip=skip, what=say("supplier's documents"), ground=ground
    )
