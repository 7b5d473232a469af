"""Forms of buyers and of money: who they are, what was paid, what posting costs, what may be sold, and taking a buyer out."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.text import format_lazy
from django.utils.translation import gettext_lazy as _

from ortet.ledger import models as book
from ortet.ledger.models import Leave
from ortet.pages import known
from ortet.wood.naming import fold
from ortet.wood.speech import to_say
from ortet.work.owed import Sums, sums

from .deed import Deed
from .fields import CountField, DayField, Notes, PriceField, one_of

__all__ = ["BuyerAt", "Charge", "Erase", "Pay", "Variety", "Warrant"]

LAW = _("For how long a name must and may be kept is for the law where you are.")


class BuyerAt(Deed):
    """Who a buyer is, and where reached."""

    title = _("Who a buyer is, and where reached")
    why = _(
        "Parcels go there, and so does the word that something was wrong with what they bought. Note no more than you need."
    )
    act = _("Note it")
    first = ("name", "address", "email", ("country", "tax_number"), "is_trade", "note")
    folded = {to_say("Another name"): ("rename",)}
    offers = {"name": known.buyers}

    name = forms.CharField(label=_("Buyer"), max_length=120, help_text=_("A new name makes a new buyer."))
    address = Notes(_("Address"), help_text=_("Of somebody known, empty takes it out."))
    email = forms.EmailField(label=_("Email"), required=False)
    country = forms.CharField(
        label=_("Country"), max_length=2, required=False, help_text=_("Two letters, such as DE.")
    )
    tax_number = forms.CharField(label=_("Tax number"), max_length=30, required=False)
    is_trade = forms.BooleanField(label=_("A nursery or a shop, not a private person"), required=False)
    rename = forms.CharField(label=_("Called from now on"), max_length=120, required=False)
    note = Notes()
    at = None

    def fit(self) -> None:
        """Start from what is known."""
        who = book.Buyer.objects.filter(name_key=fold(self.said("name")), erased_at=None).first()
        if who and not self.is_bound:
            for field in ("address", "email", "country", "tax_number", "is_trade", "note"):
                self.initial.setdefault(field, getattr(who, field))
            self.initial["seen"] = "1"

    seen = forms.CharField(widget=forms.HiddenInput, required=False, max_length=1)

    def deed(self) -> dict[str, Any]:
        """Return what is to be noted; what stood empty in a form that never showed the buyer stays as it is."""
        said = {name: value for name, value in super().deed().items() if name not in ("id", "seen")}
        if self.cleaned_data["seen"]:
            return said
        return {name: value or None for name, value in said.items()}


class Pay(Deed):
    """Money for an order."""

    needs = ("wish",)
    title = _("Note a payment")
    why = _(
        "What is owed follows from it. A payment is never changed: mend a mistaken one by another the other way."
    )
    act = _("Note it")
    first = ("order", "way", ("amount", "on"), "how", "is_deposit")

    order = CountField(label=_("Order number"), least=1)
    way = one_of(_("Which way"), [("in", _("it came")), ("out", _("it went back"))])
    amount = PriceField(label=_("Amount"))
    on = DayField(label=_("On"), required=False, help_text=_("Empty: today."))
    how = forms.CharField(label=_("How"), max_length=40, required=False, help_text=_("Cash, transfer."))
    is_deposit = forms.BooleanField(label=_("A deposit: nothing was sent yet"), required=False)
    complaint = forms.UUIDField(widget=forms.HiddenInput, required=False)

    def usual(self) -> dict[str, Any]:
        """Return money that came."""
        return {"way": "in"}

    def fit(self) -> None:
        """Start from what is owed."""
        if self.of_order and not self.is_bound and self.owed and self.owed.owed:
            self.initial.setdefault("amount", abs(self.owed.owed))
            if self.owed.owed < 0:
                self.initial["way"] = "out"

    @property
    def of_order(self) -> book.Order | None:
        """The order named so far."""
        return known.order_or_none(self.said("order"))

    @property
    def owed(self) -> Sums | None:
        """What is owed for it."""
        return sums(self.of_order) if self.of_order else None

    def deed(self) -> dict[str, Any]:
        """Return the payment; what went back is below nothing."""
        said = super().deed()
        sign = Decimal(-1 if said.pop("way") == "out" else 1)
        return {**said, "amount": sign * said["amount"]}


class Charge(Deed):
    """What a buyer pays for posting."""

    needs = ("wish",)
    title = _("Charge for posting")
    why = _("Carriage goes on the receipt and on what is owed.")
    act = _("Note it")
    first = ("order", "carriage")
    order = CountField(label=_("Order number"), least=1)
    carriage = PriceField(label=_("Carriage, without tax"), help_text=_("0 takes it out."))
    at = None
    note = None

    def fit(self) -> None:
        """Start from what is charged so far."""
        there = known.order_or_none(self.said("order"))
        if there and there.carriage is not None and not self.is_bound:
            self.initial.setdefault("carriage", there.carriage)

    def deed(self) -> dict[str, Any]:
        """Return order and amount."""
        return {name: value for name, value in super().deed().items() if name != "id"}


class Variety(Deed):
    """What is known of a variety beside its name."""

    needs = ("mother",)
    title = _("Name and right of a variety")
    why = _(
        "Group and selling name stand beside the variety's own name, never in its place. A right that is noted stops orders."
    )
    act = _("Note it")
    first = ("name", "group", "selling_name", "right", "right_until", "note")
    offers = {"name": known.varieties}

    name = forms.CharField(label=_("Variety"), max_length=120)
    group = forms.CharField(
        label=_("Group"), max_length=60, required=False, help_text=_("Without the word Group.")
    )
    selling_name = forms.CharField(
        label=_("Selling name"),
        max_length=120,
        required=False,
        help_text=_(
            "A trade designation: shown in capitals after the variety's own name. Its owner may have to agree."
        ),
    )
    right = forms.CharField(
        label=_("Breeder's right or patent"),
        max_length=200,
        required=False,
        help_text=_("As the register has it: number, country, holder; also one that is only applied for."),
    )
    right_until = DayField(
        label=_("Its last day"), required=False, help_text=_("As the register says. Empty: not known.")
    )
    seen = forms.CharField(widget=forms.HiddenInput, required=False, max_length=1)
    at = None

    def fit(self) -> None:
        """Start from what is noted."""
        there = book.Variety.objects.filter(name_key=fold(self.said("name"))).first()
        if there and not self.is_bound:
            for field in ("group", "selling_name", "right", "right_until", "note"):
                self.initial.setdefault(field, getattr(there, field))
            self.initial["seen"] = "1"

    def deed(self) -> dict[str, Any]:
        """Return what is to be noted; what stood empty in a form that never showed the variety stays as it is."""
        said = {name: value for name, value in super().deed().items() if name not in ("id", "seen")}
        if self.cleaned_data["seen"]:
            return {**said, "right_until": said["right_until"] or ""}
        return {name: value or None for name, value in said.items()}


class Warrant(Deed):
    """A licence or exemption for a protected variety."""

    needs = ("mother",)
    title = _("A licence or exemption")
    why = _(
        "Orders of a protected variety stop until one is noted. Ortet does not judge it: ask the rights holder, and the law where you are."
    )
    act = _("Note it")
    first = ("variety", "leave", "words", "until")
    offers = {"variety": known.varieties}

    variety = forms.CharField(label=_("Variety"), max_length=120)
    leave = one_of(_("What"), Leave.choices)
    words = forms.CharField(
        label=_("In words"),
        max_length=200,
        required=False,
        help_text=_("Of whom, its number, what it allows; or the ground."),
    )
    until = DayField(label=_("Its last day"), required=False)

    def usual(self) -> dict[str, Any]:
        """Return a licence."""
        return {"leave": Leave.LICENCE}


class Erase(Deed):
    """Take a buyer out of the book."""

    title = _("Take a buyer out of the book")
    why = format_lazy(
        _(
            "Name, addresses, email, tax number and the notes that hold them go; counts, sales and sums stay. It cannot be undone. {law}"
        ),
        law=LAW,
    )
    act = _("Take out for good")
    first = ("buyer", "reason")
    buyer = forms.CharField(label=_("Buyer"), max_length=120, help_text=_("Name, or buyer and number."))
    reason = Notes(
        _("Reason"),
        help_text=_(
            "Needed while the last dealing is young; without the buyer's name. What is open or owed is ended first."
        ),
    )
    at = None
    note = None

    def deed(self) -> dict[str, Any]:
        """Return whom, and why, as of now."""
        return {**super().deed(), "at": self.nursery.now()}
