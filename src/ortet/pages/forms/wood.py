"""Forms that make lots and bags: take, split, bag."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from ortet.ledger.models import Bag as BagMade
from ortet.ledger.models import Kind, Use
from ortet.ledger.places import WOOD
from ortet.pages import known
from ortet.wood.speech import say, to_say
from ortet.work.bagging import next_bag_name
from ortet.work.taking import BENCH

from .deed import Deed
from .fields import CodeField, CountField, FilmField, LengthField, MassField, one_of

__all__ = ["Bag", "Split", "Take"]

SIZE = (("length_mm", "nodes"), ("base_mm", "tip_mm"))
# Common practice, how film, closure and packing are told by hand.
FILMS = [
    ("LDPE", _("soft, stretches: LDPE, most freezer and grocery-roll bags")),
    ("HDPE", _("thin, crackles: HDPE")),
    ("PP", _("clear, stiff: PP")),
    ("PET", _("very clear, tears straight: PET")),
]
CLOSURES = [
    ("heat-seal", _("heat-sealed")),
    ("knot", _("twisted and knotted")),
    ("zip", _("zip")),
    ("fold", _("folded over")),
    ("open", _("left open")),
]
PACKINGS = [
    ("none", _("nothing")),
    ("dry paper", _("dry paper")),
    ("damp paper", _("damp paper")),
    ("moist moss", _("moist moss")),
    ("moist sawdust", _("moist sawdust")),
]
MORE_LOTS = 3
ALL = _("Empty: all that lie there.")


class _Piece(Deed):
    """The size of a cutting, where it was measured."""

    use = one_of(_("Meant for"), Use.choices)
    grade = forms.CharField(label=_("Grade"), required=False, max_length=20)
    mark = forms.CharField(
        label=_("Your mark"),
        required=False,
        max_length=40,
        help_text=_("Your own name for the lot, if you write one. The code is made for you."),
    )
    length_mm = LengthField(label=_("Length"), required=False)
    base_mm = LengthField(label=_("Thickness at the base"), required=False)
    tip_mm = LengthField(label=_("Thickness at the tip"), required=False)
    nodes = CountField(label=_("Nodes"), required=False)


class Take(_Piece):
    """Take wood from a mother plant."""

    needs = ("mother",)
    title = _("Take wood")
    why = _("A new lot begins here: one mother plant, one day, one grade. It gets its code and its label.")
    act = _("Take")
    first = ("accession", "count", "grade", "mark")
    folded = {to_say("Use and bench"): ("use", "bench"), to_say("Size of a cutting, if measured"): SIZE}
    offers = {"accession": known.mothers, "bench": lambda: known.places(Kind.BENCH)}

    accession = CodeField(label=_("Mother plant"), help_text=_("Its accession number."))
    count = CountField(label=_("Cuttings"), least=1)
    bench = forms.CharField(
        label=_("Laid on bench"), max_length=80, help_text=_("A new name makes a new bench.")
    )

    def usual(self) -> dict[str, Any]:
        """Return rooting, on the bench."""
        return {"use": Use.ROOTING, "bench": BENCH}

    def deed(self) -> dict[str, Any]:
        """Return what was taken and where it lies."""
        said = super().deed()
        return {**said, "bench": known.name_of(said["bench"], Kind.BENCH)}


class Split(_Piece):
    """Split a lot."""

    needs = ("lot",)
    title = _("Split a lot")
    why = _("Part of a lot becomes a lot of its own, with its own label: another grade, or another use.")
    act = _("Split off")
    first = ("lot", "from_place", "count", "grade", "mark")
    folded = {to_say("Use and place"): ("use", "to_place"), to_say("Size of a cutting, if it differs"): SIZE}
    offers = {
        "lot": known.lots,
        "to_place": lambda: known.places(*WOOD),
        "from_place": lambda: known.places(*WOOD),
    }

    lot = CodeField(label=_("Lot"), help_text=_("Code or mark, typed or scanned."))
    count = CountField(label=_("Cuttings to split off"), least=1)
    from_place = CodeField(
        label=_("From"), required=False, help_text=_("May stay empty where the lot lies in one place.")
    )
    to_place = CodeField(label=_("To"), required=False, help_text=_("Empty: they stay where they are."))

    def fit(self) -> None:
        """Offer the places of the lot; start from its use and grade."""
        self.fields["use"].choices = [("", say("as before")), *Use.choices]
        self.fields["use"].required = False
        self.choose_from(among=WOOD)
        if lot := self.of_lot:
            self.initial.setdefault("grade", lot.grade)

    def deed(self) -> dict[str, Any]:
        """Return what is split off; empty is as before."""
        said = super().deed()
        return said | {name: said[name] or None for name in ("use", "from_place", "to_place")}


class Bag(Deed):
    """Bag wood."""

    needs = ("lot", "store")
    title = _("Bag wood")
    why = _(
        "Film, closure and packing decide how fast the wood dries and whether it sweats: the forecast needs them."
    )
    act = _("Close the bag")
    first = ("lot", "from_place", "count", "store", "name", "tare_g")
    folded = {
        to_say("More lots in this bag"): tuple(
            (f"lot_{row}", f"count_{row}") for row in range(2, MORE_LOTS + 2)
        ),
        to_say("The bag"): ("polymer", ("thickness_um", "layers"), ("width_mm", "height_mm")),
        to_say("Closure and packing"): ("closure", "packing", "packing_water_g"),
    }
    offers = {
        "lot": known.lots,
        "from_place": lambda: known.places(*WOOD),
        "store": lambda: known.places(Kind.STORE),
    }

    lot = CodeField(label=_("Lot"), help_text=_("Code or mark, typed or scanned."))
    from_place = CodeField(
        label=_("From"), required=False, help_text=_("May stay empty where the lot lies in one place.")
    )
    count = CountField(label=_("Cuttings"), least=1, required=False, help_text=ALL)
    store = CodeField(
        label=_("Stands in"),
        capitals="words",
        help_text=_("The cold place."),
    )
    name = forms.CharField(label=_("Written on the bag"), max_length=80)
    tare_g = MassField(
        label=_("Weight of bag and packing, without the wood"),
        required=False,
        help_text=_("Weighed empty, later weighings tell the wood's own loss."),
    )
    polymer = one_of(_("Film"), FILMS)
    thickness_um = FilmField(label=_("Thickness of one layer"))
    layers = CountField(label=_("Layers"), least=1)
    width_mm = LengthField(label=_("Width, lying flat"))
    height_mm = LengthField(label=_("Height, lying flat"))
    closure = one_of(_("Closure"), CLOSURES)
    packing = one_of(_("Packed with"), PACKINGS)
    packing_water_g = MassField(label=_("Water in the packing"), required=False)

    def usual(self) -> dict[str, Any]:
        """Return the film, closure and packing of the last bag closed: one works through one kind of bag."""
        usual = {"polymer": "LDPE", "thickness_um": 50.0, "layers": 1, "width_mm": 300.0, "height_mm": 400.0}
        usual |= {"closure": "fold", "packing": "none", "name": next_bag_name()}
        last = BagMade.objects.order_by("-closed_at", "-pk").first()
        if last:
            usual |= {name: getattr(last, name) for name in usual if name != "name"}
            standing = last.place.standings.select_related("store").first()
            usual |= {"store": standing.store.name} if standing else {}
        return usual

    def fit(self) -> None:
        """Start from the one lot that lies bare; offer its places; make room for more lots."""
        if not (self.is_bound or self.said("lot") or self.said("from_place")):
            self.initial["lot"] = known.only_lot_on(Kind.BENCH)
        self.choose_from(Kind.BENCH, among=WOOD)
        for row in range(2, MORE_LOTS + 2):
            self.fields[f"lot_{row}"] = CodeField(label=say("And lot"), required=False)
            self.fields[f"lot_{row}"].widget.attrs["list"] = "known-lot"
            self.fields[f"count_{row}"] = CountField(
                label=say("Cuttings (empty: all)"), least=1, required=False
            )

    def deed(self) -> dict[str, Any]:
        """Return the contents and the make of the bag."""
        said = super().deed()
        contents = [(said.pop("lot"), said.pop("count"), said.pop("from_place") or None)]
        for row in range(2, MORE_LOTS + 2):
            lot, count = said.pop(f"lot_{row}"), said.pop(f"count_{row}")
            contents += [(lot, count, self._bench_of(lot))] if lot else []
        said["packing_water_g"] = said["packing_water_g"] or 0
        said["store"] = known.name_of(said["store"], Kind.STORE)
        return {"contents": contents, **said}

    def _bench_of(self, text: str) -> str | None:
        """Return the one bench a lot lies on, where fresh wood is bagged from; None leaves it to the deed to ask."""
        lot = known.lot_or_none(text)
        benches = [place.code for place in known.where(lot) if place.kind == Kind.BENCH] if lot else []
        return benches[0] if len(benches) == 1 else None

    def clean(self) -> dict[str, Any]:
        """Refuse a count without its lot."""
        said = super().clean()
        for row in range(2, MORE_LOTS + 2):
            if said.get(f"count_{row}") and not said.get(f"lot_{row}"):
                self.add_error(
                    f"lot_{row}",
                    say(
                        "{count} cuttings of which lot? Name it, or leave the count empty.",
                        count=said[f"count_{row}"],
                    ),
                )
        return said
