"""Batches struck or grafted, what was counted on them, and whom their plants were sold to."""

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _
from uuid_utils.compat import uuid7

from ortet.wood.speech import say

from .lots import Lot
from .movements import Movement
from .orders import Buyer, OrderLine
from .places import Place
from .readings import Reading

__all__ = ["Batch", "Count", "Craft", "Sale", "Trial"]


class Craft(models.TextChoices):
    """How a batch was made."""

    STRIKE = "strike", _("struck")
    GRAFT = "graft", _("grafted")


class Trial(models.Model):
    """Batches laid out so that treatments can be compared honestly. The layout is fixed before the first is struck."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    number = models.PositiveIntegerField(unique=True)  # by which people call it
    name = models.CharField(max_length=60)
    question = models.TextField()
    seed = models.PositiveIntegerField()  # of the draw
    design = (
        models.JSONField()
    )  # as evidence.trials writes it: treatments, tray, and every plot with its cells
    made_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["number"]
        constraints = [models.CheckConstraint(condition=~models.Q(name=""), name="trial_has_a_name")]

    def __str__(self) -> str:
        return say("Trial {number}, {name}", number=self.number, name=self.name)


class Batch(models.Model):
    """Cuttings of one lot, struck or grafted together on one day under one treatment. It never changes.

    How many there are is the account's to say: what moved here, less what left.
    """

    place = models.OneToOneField(Place, models.PROTECT, primary_key=True, related_name="batch")
    lot = models.ForeignKey(Lot, models.PROTECT, related_name="batches")
    craft = models.CharField(max_length=6, choices=Craft, default=Craft.STRIKE)
    tray = models.CharField(max_length=40, blank=True)  # as written on it; several batches may share one
    medium = models.CharField(max_length=80, blank=True)
    treatment = models.CharField(max_length=120, blank=True)  # of the base, in the grower's words
    is_wounded = models.BooleanField(default=False)
    base_c = models.FloatField(null=True, blank=True)  # what the mat is set to
    struck_at = models.DateTimeField()
    trial = models.ForeignKey(Trial, models.PROTECT, null=True, blank=True, related_name="batches")
    plot = models.PositiveIntegerField(null=True, blank=True)  # which of the trial's

    class Meta:
        ordering = ["struck_at", "place_id"]
        verbose_name_plural = "batches"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(trial__isnull=True, plot__isnull=True)
                | models.Q(trial__isnull=False, plot__gte=1),
                name="batch_trial_and_plot",
            ),
            models.CheckConstraint(
                condition=models.Q(base_c__isnull=True) | models.Q(base_c__gte=0, base_c__lte=40),
                name="batch_base_is_bearable",
            ),
        ]

    def __str__(self) -> str:
        return self.place.name


class Count(Reading):
    """What stood in a batch or on a standing ground on a day; empty where it was not counted."""

    lot = models.ForeignKey(Lot, models.PROTECT, related_name="counts")
    place = models.ForeignKey(Place, models.PROTECT, related_name="counts")
    rooted = models.PositiveIntegerField(null=True, blank=True)  # of a graft: taken
    callused = models.PositiveIntegerField(null=True, blank=True)  # callus and no root yet
    leafed = models.PositiveIntegerField(null=True, blank=True)  # leaves and no root
    dead = models.PositiveIntegerField(null=True, blank=True)

    class Meta(Reading.Meta):
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(
                    rooted__isnull=True, callused__isnull=True, leafed__isnull=True, dead__isnull=True
                ),
                name="count_counts_something",
            )
        ]

    @property
    def counted(self) -> int:
        """Cuttings counted, whatever they were."""
        return sum(number or 0 for number in (self.rooted, self.callused, self.leafed, self.dead))


class Sale(Reading):
    """Whom a movement out of the nursery went to, and for how much."""

    movement = models.OneToOneField(Movement, models.PROTECT, related_name="sale")
    buyer = models.ForeignKey(Buyer, models.PROTECT, related_name="sales")
    line = models.ForeignKey(OrderLine, models.PROTECT, null=True, blank=True, related_name="sales")
    price = models.DecimalField(max_digits=10, decimal_places=2, null=True, blank=True)  # of one

    class Meta(Reading.Meta):
        constraints = [
            models.CheckConstraint(
                condition=models.Q(price__isnull=True) | models.Q(price__gte=0),
                name="sale_price_not_negative",
            )
        ]
