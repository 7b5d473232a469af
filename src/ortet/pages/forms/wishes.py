"""Forms of what is wanted: orders, own targets, what a mother plant may give; and what a bench can do."""

from datetime import timedelta
from typing import Any

from django import forms
from django.utils.text import format_lazy
from django.utils.translation import gettext_lazy as _

from ortet.ledger import models as book
from ortet.ledger.models import Kind, Purpose, Use
from ortet.ledger.orders import FIRST, LAST, USUAL
from ortet.pages import known
from ortet.wood.naming import fold
from ortet.wood.speech import say, to_say
from ortet.work.orders import Line

from .deed import Deed
from .fields import (
    CountField,
    DayField,
    HeatsField,
    NamesField,
    Notes,
    NumberField,
    PriceField,
    TemperatureField,
    one_of,
)

__all__ = ["Cancel", "Limit", "Order", "SetUpBench", "Want"]

PRIORITIES = [
    (FIRST, format_lazy(_("{priority}, gives way last"), priority=FIRST)),
    (2, "2"),
    (USUAL, format_lazy(_("{priority}, as most"), priority=USUAL)),
    (4, "4"),
    (LAST, format_lazy(_("{priority}, gives way first"), priority=LAST)),
]
WINDOW = timedelta(days=42)  # how long an order usually may wait from its first day [common practice]


def _priority() -> forms.TypedChoiceField:
    return forms.TypedChoiceField(
        label=_("When wood is short"),
        choices=PRIORITIES,
        coerce=int,
        required=False,
        empty_value=USUAL,
    )


class Order(Deed):
    """One line of an order; the first makes the order."""

    title = _("Note an order")
    why = _("What is promised is planned for: how much to take, who gets what, which day to post.")
    act = _("Note it")
    first = ("buyer", "variety", ("count", "use"), ("first_day", "last_day"))
    folded = {
        to_say("Grades, price, substitutes"): ("grades", ("least", "price"), "instead", "priority"),
        to_say("Tax on this line"): ("tax_percent", "tax_note"),
        to_say("Add to an order; country"): ("add_to", "country"),
        to_say("Carriage; a swap"): ("carriage", "is_swap", "in_return"),
    }
    offers = {"buyer": known.buyers, "variety": known.varieties}

    buyer = forms.CharField(
        label=_("Buyer"), max_length=120, required=False, help_text=_("A new name makes a new buyer.")
    )
    add_to = CountField(
        label=_("Add to order number"),
        least=1,
        required=False,
        help_text=_("Empty: this is the first line of a new order."),
    )
    country = forms.CharField(
        label=_("Country it goes to"), max_length=2, required=False, help_text=_("Two letters, such as DE.")
    )
    variety = forms.CharField(label=_("Variety"), max_length=120)
    count = CountField(label=_("Cuttings"), least=1)
    use = one_of(_("For"), Use.choices)
    first_day = DayField(label=_("Posted from"))
    last_day = DayField(label=_("Posted until"))
    least = CountField(
        label=_("No fewer than"),
        least=1,
        required=False,
        help_text=_("As many as asked: all or nothing."),
    )
    grades = NamesField(
        label=_("Grades accepted"),
        max_length=120,
        required=False,
        help_text=_("Commas between; empty: any."),
    )
    price = PriceField(label=_("Price of one"), required=False, help_text=_("In your own money."))
    tax_percent = PriceField(
        label=_("Tax, per cent"),
        required=False,
        max_value=100,
        decimal_places=4,
        help_text=_("Empty: the nursery's usual rate."),
    )
    tax_note = forms.CharField(label=_("Why this rate"), max_length=120, required=False)
    carriage = PriceField(
        label=_("Carriage, without tax"), required=False, help_text=_("What the buyer pays for posting.")
    )
    is_swap = forms.BooleanField(label=_("A swap: no money changes hands"), required=False)
    in_return = Notes(_("What comes back for it"))
    instead = NamesField(
        label=_("Taken instead"),
        max_length=300,
        required=False,
        help_text=_("Varieties, the preferred first, commas between."),
    )
    priority = _priority()

    def usual(self) -> dict[str, Any]:
        """Return wood to root, posted within six weeks."""
        today = self.nursery.today()
        return {"use": Use.ROOTING, "first_day": today, "last_day": today + WINDOW, "priority": USUAL}

    def fit(self) -> None:
        """Name the order that this line is added to, in place of a buyer to type in."""
        if order := self.of_order:
            self.title = say("Add to order {order} of {buyer}", order=order.number, buyer=order.buyer)
            self.first = self.first[1:]
            for name in ("buyer", "add_to", "country", "carriage", "is_swap", "in_return"):
                self.fields[name].widget = forms.HiddenInput()
            self.folded = dict([*self.folded.items()][:2])

    @property
    def of_order(self) -> book.Order | None:
        """The order that this line is added to, where it is named before the form is sent."""
        return None if self.said("buyer") else known.order_or_none(self.said("add_to"))

    def clean(self) -> dict[str, Any]:
        """Refuse another buyer's order, and a country where the order has one already."""
        said = super().clean()
        order = known.order_or_none(str(said.get("add_to") or ""))
        if order and said.get("buyer") and fold(said["buyer"]) != order.buyer.name_key:
            self.add_error(
                "add_to",
                say(
                    "Order {order} is of {buyer}. Nothing was booked.", order=order.number, buyer=order.buyer
                ),
            )
        if order and said.get("country") and said["country"].upper() != order.country:
            goes = order.country or say("no country that was named")
            self.add_error(
                "country",
                say(
                    "{country}: order {order} goes to {goes}. Nothing was booked.",
                    country=said["country"],
                    order=order.number,
                    goes=goes,
                ),
            )
        return said

    def deed(self) -> dict[str, Any]:
        """Return the order with its one line; a note on a line that is added stays with that line."""
        said = super().deed()
        adds = said["add_to"] is not None
        line = Line(
            variety=said["variety"],
            count=said["count"],
            first_day=said["first_day"],
            last_day=said["last_day"],
            use=said["use"],
            least=said["least"] or 1,
            grades=said["grades"],
            price=said["price"],
            priority=said["priority"],
            instead=said["instead"],
            note=said["note"] if adds else "",
            tax_percent=said["tax_percent"],
            tax_note=said["tax_note"],
        )
        order = {
            name: said[name] for name in ("id", "at", "buyer", "add_to", "carriage", "is_swap", "in_return")
        }
        country = said.get("country", "")
        return {**order, "country": country, "note": "" if adds else said["note"], "lines": [line]}


class Want(Deed):
    """What the nursery wants for itself."""

    title = _("Note what you want yourself")
    why = _("Own plants, grafts, a reserve and a backup compete with orders for the same wood.")
    act = _("Note it")
    first = ("purpose", "variety", ("count", "wanted_by"))
    folded = {to_say("How much it matters"): ("priority", "worth")}
    offers = {"variety": known.varieties}

    purpose = one_of(_("What for"), Purpose.choices)
    variety = forms.CharField(label=_("Variety"), max_length=120)
    count = CountField(
        label=_("How many"), least=1, help_text=_("Plants or grafts that live, or cuttings kept back.")
    )
    wanted_by = DayField(label=_("By"), required=False, help_text=_("The day they are to be there."))
    priority = _priority()
    worth = PriceField(label=_("What one is worth"), required=False, help_text=_("In your own money."))

    def usual(self) -> dict[str, Any]:
        """Return own plants."""
        return {"purpose": Purpose.PLANTS, "priority": USUAL}


class Cancel(Deed):
    """A wish that no longer counts."""

    needs = ("wish",)
    title = _("Cancel an order or a target")
    why = _("What is no longer wanted frees its wood for the rest. It stays readable in the list.")
    act = _("Cancel it")
    first = ("what",)

    what = forms.CharField(
        label=_("Which"), max_length=40, help_text=_("3 for order 3, 3/2 for its second line, or target 4.")
    )
    note = None

    @property
    def meant(self) -> list[book.OrderLine | book.Target]:
        """What would be cancelled, as far as it is named yet."""
        return known.wishes(self.said("what"))

    def deed(self) -> dict[str, Any]:
        """Return what is cancelled, and when."""
        said = super().deed()
        return {"what": said["what"], "at": said["at"]}


class Limit(Deed):
    """How much a mother plant may give."""

    needs = ("mother",)
    title = _("Say what a mother plant may give")
    why = _("A plan takes no more than this from it in one winter.")
    act = _("Note it")
    first = ("accession", "cuttings")
    offers = {"accession": known.mothers}

    accession = forms.CharField(label=_("Mother plant"), max_length=40)
    cuttings = CountField(label=_("Cuttings a winter"), least=0, help_text=_("0 spares the plant."))

    def fit(self) -> None:
        """Start from what the plant may give so far."""
        if not self.is_bound and self.of_mother and (last := self.of_mother.limits.last()):
            self.initial.setdefault("cuttings", last.cuttings)


class SetUpBench(Deed):
    """What a bench can do."""

    needs = ("bench",)
    title = _("Say what a bench can do")
    why = _("The plan sets batches on it by its cells and its heat.")
    act = _("Note it")
    first = ("bench", "cells", "heats", "air_c")
    folded = {to_say("Energy, and when it is free"): ("watts_per_k", ("first_day", "last_day"))}
    offers = {"bench": lambda: known.places(Kind.BENCH)}

    bench = forms.CharField(label=_("Bench"), max_length=80)
    cells = CountField(label=_("Cells"), least=1, help_text=_("Cuttings that fit on it at once."))
    heats = HeatsField(
        label=_("Base temperatures its mat can hold"),
        required=False,
        help_text=_("Spaces between; empty without a mat. Keep mats, plugs and cables out of the wet."),
    )
    air_c = TemperatureField(label=_("Air over it in spring"))
    watts_per_k = NumberField(
        label=_("Watts for each °C that its base is warmer than the air"),
        required=False,
        min_value=0,
        help_text=_(
            "Read it off a meter: watts while the mat holds its heat, by the degrees it holds it above the air."
        ),
    )
    first_day = DayField(label=_("Free from"), required=False)
    last_day = DayField(label=_("Free until"), required=False)
    note = None

    def fit(self) -> None:
        """Start from what the bench could do so far."""
        there = known.place_or_none(self.said("bench"), Kind.BENCH)
        if there is None or self.is_bound:
            return
        self.initial["bench"] = there.name
        if last := there.setups.last():
            for name in ("cells", "heats", "air_c", "first_day", "last_day"):
                self.initial.setdefault(name, getattr(last, name))
            self.initial.setdefault("watts_per_k", f"{last.watts_per_k:g}" if last.watts_per_k else "")

    def deed(self) -> dict[str, Any]:
        """Return what the bench can do."""
        said = super().deed()
        return {**said, "watts_per_k": said["watts_per_k"] or 0.0}
