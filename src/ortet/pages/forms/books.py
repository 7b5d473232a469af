"""Forms of the books: an expense and its reversal, minutes of a deed, a receipt and its cancellation."""

import re
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from ortet.ledger import models as book
from ortet.ledger.models import Kind, Outlay, Why
from ortet.pages import known
from ortet.wood.speech import to_say
from ortet.work.books.spending import MINUTES, minutes_on

from .deed import Deed
from .fields import CodeField, CountField, DayField, Notes, PriceField

__all__ = ["CancelReceipt", "GiveReceipt", "ReceiptOfSales", "ReverseExpense", "SetMinutes", "Spend"]


class Spend(Deed):
    """Money spent."""

    title = _("Note an expense")
    why = _("What growing costs is carried by the plants that lived, and stands in the journal.")
    act = _("Note it")
    first = ("what", ("net", "tax"), ("outlay", "on"))
    folded = {to_say("For one variety, batch or order only"): ("variety", "batch", "order")}
    offers = {"variety": known.varieties, "batch": lambda: known.places(Kind.BATCH)}

    what = forms.CharField(label=_("What for"), max_length=120)
    net = PriceField(label=_("Amount without tax"), help_text=_("In your own money."))
    tax = PriceField(label=_("Tax in the bill"), required=False, help_text=_("Empty: none."))
    outlay = forms.ChoiceField(label=_("Kind"), choices=Outlay.choices)
    on = DayField(label=_("Day of the bill"))
    variety = forms.CharField(
        label=_("Variety"),
        max_length=120,
        required=False,
        help_text=_("Empty: for all that was handled in its season."),
    )
    batch = CodeField(label=_("Batch"), required=False, capitals="none")
    order = CountField(label=_("Order number"), least=1, required=False)

    def usual(self) -> dict[str, Any]:
        """Return materials of today."""
        return {"outlay": Outlay.MATERIAL, "on": self.nursery.today()}

    def deed(self) -> dict[str, Any]:
        """Return the expense; no tax is none."""
        said = super().deed()
        return {**said, "tax": said["tax"] or Decimal()}


class ReverseExpense(Deed):
    """Take an expense back."""

    title = _("Reverse an expense")
    why = _("Another of the same amounts below nothing takes it off; the mistake stays readable.")
    act = _("Reverse it")
    first = ("expense", "note")

    expense = forms.UUIDField(
        label=_("Expense"),
        widget=forms.HiddenInput,
        error_messages={"required": _("Pick it from the list of expenses.")},
    )
    note = Notes(_("What was wrong"), required=True)

    @property
    def of_expense(self) -> book.Expense | None:
        """The expense named so far."""
        try:
            return book.Expense.objects.filter(
                pk=self.fields["expense"].to_python(self.said("expense"))
            ).first()
        except forms.ValidationError:
            return None


class SetMinutes(Deed):
    """How long a deed takes."""

    title = _("Say how long a deed takes")
    why = _("Minutes for a hundred cuttings, times what an hour is reckoned at, are the labour in a plant.")
    act = _("Note it")
    first = ("deed_done", "per_hundred")

    deed_done = forms.ChoiceField(label=_("Deed"), choices=[(deed, Why(deed).label) for deed in MINUTES])
    per_hundred = PriceField(label=_("Minutes for a hundred"))

    def usual(self) -> dict[str, Any]:
        """Return the minutes as they are reckoned now."""
        deed = self.initial_deed
        return {"deed_done": deed, "per_hundred": minutes_on(self.nursery.today())[deed][0]}

    initial_deed = str(Why.STRUCK)

    def __init__(self, nursery: book.Nursery, data: Any = None, given: Any = None, **more: Any) -> None:
        named = (given or {}).get("deed_done", "")
        self.initial_deed = named if named in MINUTES else self.initial_deed
        super().__init__(nursery, data, given, **more)

    def deed(self) -> dict[str, Any]:
        """Return the deed and its minutes."""
        said = super().deed()
        return {"deed": said.pop("deed_done"), **said}


class GiveReceipt(Deed):
    """A receipt."""

    title = _("Give a receipt")
    why = _(
        "For what was sold for an order and stands on no receipt yet. It gets the next number, and never changes."
    )
    act = _("Give it")
    first = ("order",)

    order = CountField(label=_("Order number"), least=1)


class ReceiptOfSales(Deed):
    """A receipt for what was sold without an order."""

    title = _("Give a receipt without an order")
    why = _(
        "For what a buyer took at the gate and stands on no receipt yet. It gets the next number, and never changes."
    )
    act = _("Give it")
    first = ("sales", "paid")

    sales = forms.RegexField(
        regex=r"^\s*\d{1,9}([\s,;]+\d{1,9})*\s*$",
        label=_("Movements that sold them"),
        max_length=200,
        help_text=_("Their numbers, such as 41, 42; all of one buyer."),
        error_messages={"invalid": _("Write numbers of movements, such as 41, 42.")},
    )
    paid = forms.CharField(
        label=_("Paid at once, how"),
        max_length=40,
        required=False,
        help_text=_("Such as cash. Empty: the receipt does not say that it was paid."),
    )

    def deed(self) -> dict[str, Any]:
        """Return the numbers of the sales, and how they were paid."""
        said = super().deed()
        return {**said, "sales": [int(number) for number in re.findall(r"[0-9]+", said["sales"])]}


class CancelReceipt(Deed):
    """Cancel a receipt."""

    title = _("Cancel a receipt")
    why = _("Another receipt reverses its lines and sums; then a right one can be given.")
    act = _("Cancel it")
    first = ("number", "note")

    number = CountField(label=_("Receipt number"), least=1)
    note = Notes(_("Why"), required=True)
