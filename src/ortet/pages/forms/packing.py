"""Forms about what goes out: pack, found only, send; how it arrived, complaints, replacements, what buyers tell."""

from functools import cached_property
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from ortet.ledger.models import Complaint, Grievance, Movement, State, Why
from ortet.pages import known
from ortet.wood.speech import say, to_say
from ortet.work import Refused
from ortet.work.answered import answered
from ortet.work.orders import read_line
from ortet.work.packing import find_complaint, walk
from ortet.work.packing.after import find_line
from ortet.work.packing.showing import ParcelView, view
from ortet.work.packing.walk import Stop

from .deed import Deed
from .fields import CodeField, CountField, DayField, MassField, Notes, one_of

__all__ = ["Arrived", "Complain", "FoundOnly", "Pack", "Replace", "Send", "Told"]


class _AtStop(Deed):
    """One bag of the pick walk, and the line that it is opened for."""

    needs = ("lot",)
    line = forms.CharField(
        label=_("Order line"), max_length=20, help_text=_("Such as 3/2 for the second line of order 3.")
    )
    scanned = CodeField(
        label=_("Scan the label"),
        help_text=_(
            "The code on the bag or the lot's label, typed or scanned: it proves that the wood is right."
        ),
    )
    lot = CodeField(
        label=_("Lot"), required=False, help_text=_("Empty: what the pick walk has for the line.")
    )
    from_place = CodeField(label=_("From"), required=False, help_text=_("Empty: where the pick walk has it."))
    within = forms.CharField(required=False, max_length=12, widget=forms.HiddenInput)  # the order walked

    def fit(self) -> None:
        """Ask for the label and the count only, where the walk led here."""
        self.fields["scanned"].widget.attrs |= {"data-scan": "", "autofocus": True}
        if self.stop:
            for name in ("line", "lot", "from_place"):
                self.fields[name].widget = forms.HiddenInput()

    @cached_property
    def stop(self) -> Stop | None:
        """The stop of the walk that is named so far."""
        try:
            number, position = read_line(self.said("line"))
            stops = walk(number)
        except Refused:
            return None
        lot, place = self.of_lot, known.place_or_none(self.said("from_place"))
        return next(
            (one for one in stops if one.line.position == position and lot == one.lot and place == one.place),
            None,
        )

    def deed(self) -> dict[str, Any]:
        """Return what is packed, out of which bag."""
        said = super().deed()
        said.pop("within")
        return {**said, "from_place": said["from_place"] or None}


class Pack(_AtStop):
    """Pack for an order."""

    title = _("Pack")
    why = _("Into the parcel of the order. The label proves the bag: the wrong one is refused.")
    act = _("Pack it")
    first = ("line", "scanned", "count")
    folded = {to_say("Another lot, another bag"): ("lot", "from_place")}

    count = CountField(
        label=_("Cuttings"), least=1, required=False, help_text=_("Empty: all that are to be picked here.")
    )

    def fit(self) -> None:
        """Start from what the walk says."""
        super().fit()
        if (stop := self.stop) and not self.is_bound:
            self.initial["count"] = min(stop.count, stop.there) or stop.count


class FoundOnly(_AtStop):
    """Fewer were found than planned."""

    title = _("Found fewer")
    why = _(
        "What was found is packed, what is missing is booked out, and the plan is made anew around it at once."
    )
    act = _("Book it and plan anew")
    first = ("line", "found", "scanned", "rest", "gone")
    folded = {to_say("Another lot, another bag"): ("lot", "from_place")}

    found = CountField(label=_("Found and good"))
    rest = one_of(
        _("The others were"),
        [("not found", _("not there")), ("given up", _("there, but no longer fit to send"))],
    )
    gone = CountField(
        label=_("How many of them"), required=False, help_text=_("Empty: all that the book still has there.")
    )


class Send(Deed):
    """Send a parcel."""

    title = _("Send")
    why = _(
        "The parcel goes to the carrier. All that lies in it is sold to the buyer of its order, at the price of each line."
    )
    act = _("Book as sent")
    first = ("parcel", "gross_g", ("carrier", "tracking"))

    parcel = CountField(label=_("Parcel"), least=1)
    gross_g = MassField(label=_("Weight of the closed parcel"), required=False)
    carrier = forms.CharField(label=_("Carrier"), required=False, max_length=60)
    tracking = forms.CharField(label=_("Tracking number"), required=False, max_length=60)

    @cached_property
    def box(self) -> ParcelView | None:
        """The parcel named so far."""
        number = self.said("parcel")
        try:
            return view(int(number)) if number.isdecimal() and len(number) < 10 else None
        except Refused:
            return None

    def fit(self) -> None:
        """Ask no more for a parcel that was named by the link that led here."""
        if self.box:
            self.fields["parcel"].widget = forms.HiddenInput()


class Arrived(Deed):
    """How a parcel arrived."""

    title = _("How it arrived")
    why = _("What the buyer saw on opening it. The latest word counts.")
    act = _("Note it")
    first = ("parcel", "state", "note")

    parcel = CountField(label=_("Parcel"), least=1)
    state = one_of(_("It was"), State.choices)


class Complain(Deed):
    """Note a complaint."""

    title = _("Note a complaint")
    why = _("It stays on Today until a replacement or a payment back answers it.")
    act = _("Note it")
    first = ("line", "what", "count", "note")
    folded = {to_say("Which parcel"): ("parcel",)}

    line = forms.CharField(
        label=_("Order line"), max_length=20, help_text=_("Such as 3/2 for the second line of order 3.")
    )
    what = one_of(_("What is wrong"), Grievance.choices)
    count = CountField(label=_("Of how many"), least=1)
    parcel = CountField(
        label=_("Parcel"), least=1, required=False, help_text=_("Its number, where it is known.")
    )
    note = Notes(_("In the buyer's words"))

    def fit(self) -> None:
        """Start from the whole line."""
        try:
            line = find_line(self.said("line"))
        except Refused:
            return
        self.fields["count"].help_text = say(
            "{count} {variety} were ordered.", count=line.count, variety=line.variety
        )


class Replace(Deed):
    """Answer a complaint by a replacement."""

    title = _("Replace")
    why = _("A new order of the same, without a price: it is planned, picked and sent like any other.")
    act = _("Order the replacement")
    first = ("complaint", "count", "until")

    complaint = forms.UUIDField(
        widget=forms.HiddenInput, error_messages={"required": _("Choose a complaint on the order's page.")}
    )
    count = CountField(label=_("Cuttings"), least=1, required=False)
    until = DayField(label=_("Send it by"), required=False, help_text=_("Empty: within a month."))

    def fit(self) -> None:
        """Say what was complained of."""
        if about := self.about:
            self.fields["count"].help_text = say(
                "Empty: all {count} that are not answered yet.", count=answered(about).left
            )

    @property
    def about(self) -> Complaint | None:
        """The complaint named so far."""
        try:
            return find_complaint("", self.fields["complaint"].to_python(self.said("complaint")))
        except (Refused, forms.ValidationError):
            return None


class Told(Deed):
    """Copy what a buyer told."""

    title = _("What the buyer told")
    why = _("It stays apart from what was counted here: nobody here saw how they were handled.")
    act = _("Note it")
    first = ("sale", ("struck", "rooted"), "told_on")

    sale = CountField(
        label=_("Movement that sold them"), least=1, help_text=_("Its number, from the parcel's page.")
    )
    struck = CountField(label=_("Set to root, or grafted"), least=1)
    rooted = CountField(label=_("Rooted, or taken"))
    told_on = DayField(label=_("Told on"))

    def usual(self) -> dict[str, Any]:
        """Start from today."""
        return {"told_on": self.nursery.today()}

    def fit(self) -> None:
        """Say how many were sent."""
        if moved := self.sold:
            self.fields["sale"].widget = forms.HiddenInput()
            self.fields["struck"].help_text = say("{count} were sent.", count=moved.count)

    @property
    def sold(self) -> Movement | None:
        """The sale named so far."""
        number = self.said("sale")
        rows = Movement.objects.filter(why=Why.SOLD).select_related("lot__variety", "sale__buyer")
        return rows.filter(number=int(number)).first() if number.isdecimal() and len(number) < 12 else None
