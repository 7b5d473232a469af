"""Forms that record: weigh, inspect, treat, withdraw."""

from typing import Any
from uuid import UUID

from django import forms
from django.utils.translation import gettext_lazy as _

from ortet.ledger.models import FreeWater, TreatmentKind
from ortet.ledger.places import WOOD
from ortet.pages import known
from ortet.wood.speech import say, to_say
from ortet.work.cautions import cautions

from .deed import Deed
from .fields import CodeField, CountField, MassField, Notes, NumberField, one_of

__all__ = ["Inspect", "Treat", "Weigh", "Withdraw"]

CALLUS = [
    ("0", _("0 none")),
    ("1", _("1 first specks")),
    ("2", _("2 half the ring")),
    ("3", _("3 most of it")),
    ("4", _("4 full ring")),
]
WATER = [
    ("", _("not looked at")),
    (FreeWater.NONE, _("none")),
    (FreeWater.DROPLETS, _("droplets")),
    (FreeWater.POOLED, _("pooled")),
]
TREATMENTS = [
    (TreatmentKind.AIR, _("opened and aired")),
    (TreatmentKind.WIPE, _("wiped dry and aired")),
    (TreatmentKind.WASH, _("washed")),
    (TreatmentKind.DISINFECT, _("disinfected")),
    (TreatmentKind.WAX, _("waxed")),
]


class Weigh(Deed):
    """Weigh a bag."""

    needs = ("bag",)
    title = _("Weigh a bag")
    why = _("What a bag loses between two weighings is the water its wood lost.")
    first = ("bag", "gross_g")
    offers = {"bag": known.bags}

    bag = CodeField(label=_("Bag"), help_text=_("What is written on it, or its code scanned."))
    gross_g = MassField(label=_("Weight, bag and all"))

    def fit(self) -> None:
        """Let a thumb go straight to the scale's number."""
        if self.said("bag") and not self.is_bound:
            self.fields["gross_g"].widget.attrs["autofocus"] = True

    @property
    def weighed_before(self) -> list[Any]:
        """The last weighings of the bag, to compare with."""
        from ortet.ledger.models import Weighing
        from ortet.ledger.readings import readings_that_count

        place = self.of_place
        return list(readings_that_count(Weighing).filter(place=place).order_by("-at")[:3]) if place else []


class Inspect(Deed):
    """Inspect a lot."""

    needs = ("lot",)
    title = _("Inspect")
    why = _("Leave empty what you did not look at: nothing seen is not the same as none.")
    first = ("place", "lot", ("sound", "mouldy", "dry"), "free_water")
    folded = {
        to_say("Scratch test"): (("scratch_green", "scratch_of"),),
        to_say("Callus"): ("callus", ("callused", "callused_of")),
        to_say("Roots"): (("rooted", "rooted_of"),),
    }
    offers = {"place": lambda: known.places(*WOOD), "lot": known.lots}

    place = CodeField(label=_("Bag or bench"), help_text=_("What is written on it, or its code scanned."))
    lot = CodeField(label=_("Lot"), required=False, help_text=_("May stay empty where only one lies there."))
    sound = CountField(label=_("Sound"), required=False)
    mouldy = CountField(label=_("Mouldy"), required=False)
    dry = CountField(label=_("Dry"), required=False)
    scratch_green = CountField(label=_("Green under the bark"), required=False)
    scratch_of = CountField(label=_("Of how many scratched"), least=1, required=False)
    callus = one_of(_("The lot as a whole"), CALLUS, required=False, initial="")
    callused = CountField(label=_("Callused"), required=False, help_text=_("Most of the ring."))
    callused_of = CountField(label=_("Of how many"), least=1, required=False, help_text=_("Looked at."))
    rooted = CountField(label=_("Rooted"), required=False, help_text=_("One root will do."))
    rooted_of = CountField(label=_("Of how many"), least=1, required=False, help_text=_("Looked at."))
    free_water = one_of(_("Free water in the bag"), WATER, required=False, initial="")

    def fit(self) -> None:
        """Offer the lots that lie in the place; find the place of a lot that lies in one only."""
        lot = self.of_lot
        if (
            lot
            and not self.said("place")
            and not self.is_bound
            and len(places := known.places_of(lot, WOOD)) == 1
        ):
            self.initial["place"] = known.place_or_none(places[0][0]).name
        if place := self.of_place:
            self.choose("lot", known.lots_in(place), picked=lot.code if lot else "")

    def deed(self) -> dict[str, Any]:
        """Return what was seen; empty is not looked at."""
        said = super().deed()
        return {**said, "lot": said["lot"] or None, "callus": int(said["callus"]) if said["callus"] else None}


class Treat(Deed):
    """Treat wood."""

    needs = ("lot",)
    title = _("Treat")
    why = _("Record what was done to the wood, or to its bag: the forecast starts anew from it.")
    first = ("place", "lot", "kind")
    folded = {to_say("With what, how strong, how long"): ("agent", ("strength", "minutes"))}
    offers = {"place": known.places, "lot": known.lots}

    place = CodeField(label=_("Bag or bench"), help_text=_("What is written on it, or its code scanned."))
    lot = CodeField(label=_("Lot"), required=False, help_text=_("Empty: all that lies there."))
    kind = one_of(_("What was done"), TREATMENTS)
    agent = forms.CharField(label=_("With"), required=False, max_length=80)
    strength = forms.CharField(label=_("Strength"), required=False, max_length=40)
    minutes = NumberField(label=_("Minutes"), required=False, min_value=0, max_value=10_000)

    def fit(self) -> None:
        """Offer the lots that lie in the place."""
        if place := self.of_place:
            lot = self.of_lot
            self.choose(
                "lot", known.lots_in(place), picked=lot.code if lot else "", none=say("all that lies there")
            )

    @property
    def cautions(self) -> list[tuple[str, tuple[str, ...]]]:
        """For each treatment that can hurt someone, its cautions."""
        return [(str(words), cautions(kind)) for kind, words in TREATMENTS if cautions(kind)]

    def deed(self) -> dict[str, Any]:
        """Return what was done."""
        said = super().deed()
        return {**said, "lot": said["lot"] or None}


class Withdraw(Deed):
    """Withdraw a reading."""

    title = _("Withdraw a reading")
    why = _("It stays readable and no longer counts. Then record what is right as a new one.")
    act = _("Withdraw it")
    first = ("note",)

    reading = forms.UUIDField(
        widget=forms.HiddenInput,
        error_messages={"required": _("Name the reading: open this from the lot's history.")},
    )
    note = Notes(_("What was wrong"), required=True)

    @property
    def takes_back(self) -> known.Reading | None:
        """The reading named so far."""
        try:
            return known.reading(UUID(self.said("reading")))
        except ValueError:
            return None
