"""What is wanted: buyers' orders line by line, the grower's own targets, and what each mother plant may give."""

from typing import Any

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _
from uuid_utils.compat import uuid7

from ortet.wood.naming import fold
from ortet.wood.speech import say

from .lots import Use
from .plants import MotherPlant, Variety

__all__ = ["Buyer", "MotherLimit", "Order", "OrderLine", "Purpose", "Substitute", "Target"]

FIRST, USUAL, LAST = 1, 3, 5  # priorities: 1 gives way last


class Buyer(models.Model):
    """Somebody who orders wood or buys plants."""

    name = models.CharField(max_length=120)
    name_key = models.CharField(max_length=240, unique=True, editable=False)  # by which names are compared
    address = models.TextField(blank=True)  # where parcels go, and where to reach them about what they bought
    email = models.EmailField(blank=True)
    country = models.CharField(max_length=2, blank=True)  # ISO 3166-1, where parcels usually go
    is_trade = models.BooleanField(default=False)  # a nursery or a shop, not a private person
    tax_number = models.CharField(max_length=30, blank=True)
    note = models.TextField(blank=True)
    erased_at = models.DateTimeField(null=True, blank=True)  # name and addresses were taken out

    class Meta:
        ordering = ["name"]
        constraints = [models.CheckConstraint(condition=~models.Q(name=""), name="buyer_has_a_name")]

    def __str__(self) -> str:
        return self.name

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Keep the key by which names are compared."""
        self.name_key = fold(self.name)
        super().save(*args, **kwargs)


class Order(models.Model):
    """What a buyer asked for on a day."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    number = models.PositiveIntegerField(unique=True)
    buyer = models.ForeignKey(Buyer, models.PROTECT, related_name="orders")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    country = models.CharField(max_length=2, blank=True)  # ISO 3166-1, where the parcel goes
    carriage = models.DecimalField(
        max_digits=10, decimal_places=2, null=True, blank=True
    )  # what the buyer pays for posting, without tax
    is_swap = models.BooleanField(default=False)  # without money
    in_return = models.TextField(blank=True)  # what comes back for a swap
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["number"]

    def __str__(self) -> str:
        return say("order {number}", number=self.number)

    @property
    def goes_to(self) -> str:
        """The country its parcels go to: its own, else where its buyer's usually go; empty where neither is noted."""
        return self.country or self.buyer.country


class _Wanted(models.Model):
    """So many cuttings of a variety, and how much it matters."""

    use = models.CharField(max_length=10, choices=Use, default=Use.ROOTING)
    count = models.PositiveIntegerField()
    priority = models.PositiveSmallIntegerField(default=USUAL)  # 1 gives way last, 5 first
    ended_at = models.DateTimeField(null=True, blank=True)  # no longer wanted
    note = models.TextField(blank=True)

    class Meta:
        abstract = True


class OrderLine(_Wanted):
    """One variety of an order."""

    order = models.ForeignKey(Order, models.PROTECT, related_name="lines")
    position = models.PositiveSmallIntegerField()
    sent = models.UUIDField(unique=True, null=True, editable=False)  # what was asked for twice is noted once
    variety = models.ForeignKey(Variety, models.PROTECT, related_name="order_lines")
    least = models.PositiveIntegerField(default=1)  # fewer than this are no use to the buyer
    grades = models.CharField(max_length=120, blank=True)  # accepted, separated by commas; empty: any
    price = models.DecimalField(max_digits=10, decimal_places=2, null=True, blank=True)  # of one, without tax
    tax_percent = models.DecimalField(
        max_digits=7, decimal_places=4, null=True, blank=True
    )  # empty: the nursery's
    tax_note = models.CharField(max_length=120, blank=True)  # why this rate
    first_day = models.DateField()
    last_day = models.DateField()

    class Meta:
        ordering = ["order__number", "position"]
        constraints = [
            models.UniqueConstraint(fields=["order", "position"], name="order_line_once"),
            models.CheckConstraint(
                condition=models.Q(count__gt=0, least__gt=0, least__lte=models.F("count")),
                name="order_line_wants_something",
            ),
            models.CheckConstraint(
                condition=models.Q(first_day__lte=models.F("last_day")), name="order_line_has_a_window"
            ),
            models.CheckConstraint(
                condition=models.Q(priority__gte=FIRST, priority__lte=LAST), name="order_line_priority"
            ),
        ]

    def __str__(self) -> str:  # by which plans and addresses know it, in any language
        return f"order {self.order.number}/{self.position}"


class Substitute(models.Model):
    """A variety that a buyer takes in place of the one ordered."""

    line = models.ForeignKey(OrderLine, models.CASCADE, related_name="substitutes")
    variety = models.ForeignKey(Variety, models.PROTECT, related_name="+")
    rank = models.PositiveSmallIntegerField()  # 1 is preferred

    class Meta:
        ordering = ["line", "rank"]
        constraints = [models.UniqueConstraint(fields=["line", "variety"], name="substitute_once")]


class Purpose(models.TextChoices):
    """What a grower wants wood for besides orders."""

    PLANTS = "plants", _("own plants")
    GRAFTS = "grafts", _("own grafts")
    RESERVE = "reserve", _("reserve to sell from")
    BACKUP = "backup", _("backup against loss")


class Target(_Wanted):
    """What the grower wants of a variety for the nursery itself."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    number = models.PositiveIntegerField(unique=True)
    variety = models.ForeignKey(Variety, models.PROTECT, related_name="targets")
    purpose = models.CharField(max_length=8, choices=Purpose)
    worth = models.DecimalField(max_digits=10, decimal_places=2, null=True, blank=True)  # of one
    wanted_by = models.DateField(null=True, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["variety__name", "purpose", "at"]
        constraints = [
            models.CheckConstraint(condition=models.Q(count__gt=0), name="target_wants_something"),
            models.CheckConstraint(
                condition=models.Q(priority__gte=FIRST, priority__lte=LAST), name="target_priority"
            ),
        ]

    def __str__(self) -> str:  # by which plans and addresses know it, in any language
        return f"target {self.number}"


class MotherLimit(models.Model):
    """From now on no more than this is taken from a mother plant in one winter. The latest counts."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    mother = models.ForeignKey(MotherPlant, models.PROTECT, related_name="limits")
    cuttings = models.PositiveIntegerField()
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["at", "id"]
