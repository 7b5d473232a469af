"""Selling: what may be sold, parcels packed and sent, how they arrived, what was paid, and what buyers told back."""

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from ortet.wood.speech import say

from .movements import Movement
from .orders import Buyer, Order, OrderLine
from .places import Place
from .plants import Variety
from .readings import Reading

__all__ = [
    "Arrival",
    "Complaint",
    "Erasure",
    "Grievance",
    "Leave",
    "Packing",
    "Parcel",
    "Payment",
    "Receipt",
    "Replacement",
    "ReportLink",
    "Sending",
    "State",
    "StrikeReport",
    "Warrant",
]


class Leave(models.TextChoices):
    """On what ground a protected variety may be propagated and sold."""

    LICENCE = "licence", _("licence")
    EXEMPTION = "exemption", _("exemption")
    ENDED = "ended", _("ended")


class Warrant(Reading):
    """The licence or exemption for a protected variety, or that it ended. The latest counts."""

    variety = models.ForeignKey(Variety, models.PROTECT, related_name="warrants")
    leave = models.CharField(max_length=10, choices=Leave)
    words = models.CharField(max_length=200, blank=True)  # of whom, its number, what it allows
    until = models.DateField(null=True, blank=True)  # its last day


class Parcel(models.Model):
    """A box that is packed for an order: a place, from which its cuttings leave when it is sent."""

    place = models.OneToOneField(Place, models.PROTECT, primary_key=True, related_name="parcel")
    number = models.PositiveIntegerField(unique=True)
    order = models.ForeignKey(Order, models.PROTECT, related_name="parcels")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["number"]

    def __str__(self) -> str:
        return say("parcel {number}", number=self.number)


class Packing(models.Model):
    """Which line of its order a movement into a parcel fills."""

    movement = models.OneToOneField(Movement, models.PROTECT, primary_key=True, related_name="packing")
    line = models.ForeignKey(OrderLine, models.PROTECT, related_name="packings")
    note = models.TextField(blank=True)  # a movement's own is sealed, and a buyer may be named in it

    def __str__(self) -> str:
        return say("{what} for {whom}", what=self.movement, whom=self.line)


class Sending(Reading):
    """A parcel given to the carrier."""

    parcel = models.OneToOneField(Parcel, models.PROTECT, related_name="sending")
    gross_g = models.FloatField(null=True, blank=True)
    carrier = models.CharField(max_length=60, blank=True)
    tracking = models.CharField(max_length=60, blank=True)

    class Meta(Reading.Meta):
        constraints = [
            models.CheckConstraint(
                condition=models.Q(gross_g__isnull=True) | models.Q(gross_g__gt=0),
                name="sending_weighs_something",
            )
        ]


class ReportLink(Reading):
    """That a buyer may tell by a link what became of a parcel. The latest of a parcel counts."""

    parcel = models.ForeignKey(Parcel, models.PROTECT, related_name="report_links")
    word_hash = models.CharField(max_length=64, unique=True)  # of the word that the link ends with


class State(models.TextChoices):
    """How a parcel was when it was opened."""

    GOOD = "good", _("good")
    DRY = "dry", _("dry")
    WET = "wet", _("wet or mouldy")
    FROZEN = "frozen", _("frozen")
    HOT = "hot", _("overheated or grown")
    DAMAGED = "damaged", _("damaged")
    MISSING = "missing", _("never arrived")


class Arrival(Reading):
    """What the buyer said of a parcel when it came. The latest counts."""

    parcel = models.ForeignKey(Parcel, models.PROTECT, related_name="arrivals")
    state = models.CharField(max_length=10, choices=State)


class Grievance(models.TextChoices):
    """What a buyer complains of."""

    SHORT = "short", _("too few")
    NAME = "name", _("wrong name")
    DRY = "dry", _("dry")
    MOULDY = "mouldy", _("mouldy")
    DEAD = "dead", _("dead or frozen")
    FAILED = "failed", _("did not strike")
    LATE = "late", _("late")
    OTHER = "other", _("something else")


class Complaint(Reading):
    """A buyer's complaint. What makes it good is a replacement, or a payment back."""

    line = models.ForeignKey(OrderLine, models.PROTECT, related_name="complaints")
    parcel = models.ForeignKey(Parcel, models.PROTECT, null=True, blank=True, related_name="complaints")
    what = models.CharField(max_length=10, choices=Grievance)
    count = models.PositiveIntegerField()

    class Meta(Reading.Meta):
        constraints = [models.CheckConstraint(condition=models.Q(count__gt=0), name="complaint_of_something")]

    def __str__(self) -> str:
        return say(
            "{count} of {line}: {what}", count=self.count, line=self.line, what=self.get_what_display()
        )


class Replacement(models.Model):
    """An order that makes a complaint good."""

    order = models.OneToOneField(Order, models.PROTECT, primary_key=True, related_name="replaces")
    complaint = models.ForeignKey(Complaint, models.PROTECT, related_name="replacements")

    def __str__(self) -> str:
        return say("{what} for {whom}", what=self.order, whom=self.complaint)


class Payment(Reading):
    """Money that came for an order, or, below nothing, went back."""

    order = models.ForeignKey(Order, models.PROTECT, related_name="payments")
    amount = models.DecimalField(max_digits=12, decimal_places=2)
    on = models.DateField()
    is_deposit = models.BooleanField(default=False)  # paid before anything was sent
    how = models.CharField(max_length=40, blank=True)  # cash, transfer
    complaint = models.ForeignKey(
        Complaint, models.PROTECT, null=True, blank=True, related_name="payments_back"
    )

    class Meta(Reading.Meta):
        constraints = [models.CheckConstraint(condition=~models.Q(amount=0), name="payment_is_of_something")]


class Receipt(Reading):
    """A receipt as it was given out, numbered without gaps. A wrong one is cancelled by another."""

    number = models.PositiveIntegerField(unique=True)
    order = models.ForeignKey(Order, models.PROTECT, null=True, blank=True, related_name="receipts")
    buyer = models.ForeignKey(
        Buyer, models.PROTECT, null=True, blank=True, related_name="receipts"
    )  # of what was sold without an order; else the order knows whose it is
    said = models.JSONField()  # its lines and sums as printed; holds no address
    cancels = models.OneToOneField("self", models.PROTECT, null=True, blank=True, related_name="cancelled_by")

    class Meta(Reading.Meta):
        constraints = [
            models.CheckConstraint(
                condition=models.Q(order__isnull=True, buyer__isnull=False)
                | models.Q(order__isnull=False, buyer__isnull=True),
                name="receipt_of_an_order_or_a_buyer",
            )
        ]

    def __str__(self) -> str:
        return say("receipt {number}", number=self.number)

    @property
    def whose(self) -> Buyer:
        """Whom it is for."""
        of = self.order.buyer if self.order else self.buyer
        assert of is not None  # the database holds that it has the one or the other
        return of


class StrikeReport(Reading):
    """What a buyer told of the cuttings of a line: so many set, so many rooted. Apart from what was counted here."""

    movement = models.ForeignKey(Movement, models.PROTECT, related_name="reports")  # which sent them
    struck = models.PositiveIntegerField()
    rooted = models.PositiveIntegerField()
    told_on = models.DateField()
    by_link = models.BooleanField(default=False)  # the buyer wrote it, else a slip was copied

    class Meta(Reading.Meta):
        constraints = [
            models.CheckConstraint(
                condition=models.Q(struck__gt=0, rooted__lte=models.F("struck")),
                name="strike_report_adds_up",
            )
        ]


class Erasure(Reading):
    """That a buyer's name and addresses were taken out of the book, and on what ground. Holds no name."""

    buyer = models.ForeignKey(Buyer, models.PROTECT, related_name="erasures")
