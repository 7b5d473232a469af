"""Plans that were made of the season: what to take, who gets what, what goes on the bench, which day to post.

A plan is added, never changed; the latest of its kind counts. A choice made by hand is part of the plan it was made in, and
kept by those after it.
"""

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _
from uuid_utils.compat import uuid7

from .lots import Lot, Use
from .orders import Order, OrderLine, Target
from .places import Place
from .plants import MotherPlant

__all__ = ["BenchSetup", "Pack", "Pick", "Plan", "PlanKind", "Posting", "Slot", "ToTake"]


class BenchSetup(models.Model):
    """What a bench can do from now on. The latest counts."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    place = models.ForeignKey(Place, models.PROTECT, related_name="setups")
    cells = models.PositiveIntegerField()
    heats = models.JSONField(
        default=list, blank=True
    )  # base temperatures its mats can hold; none: as the air [°C]
    air_c = models.FloatField()  # usual in spring
    watts_per_k = models.FloatField(default=0)  # heat lost for each degree of the base above the air [W/K]
    first_day = models.DateField(null=True, blank=True)
    last_day = models.DateField(null=True, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["at", "id"]
        constraints = [
            models.CheckConstraint(condition=models.Q(cells__gt=0), name="bench_has_cells"),
            models.CheckConstraint(condition=models.Q(watts_per_k__gte=0), name="bench_heat_not_negative"),
        ]


class PlanKind(models.TextChoices):
    """Which decision a plan is of."""

    TAKE = "take", _("what to take")
    ALLOT = "allot", _("who gets what")
    BENCH = "bench", _("what goes on the bench")
    POST = "post", _("which day to post")


class Plan(models.Model):
    """What was planned at a moment, and why."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    kind = models.CharField(max_length=8, choices=PlanKind)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    movements = models.BigIntegerField(default=0)  # how many the book held: what comes later is done since
    said = models.JSONField(
        default=dict
    )  # what binds, what would change it, what it assumed, what it leaves undone

    class Meta:
        ordering = ["at", "id"]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}, {self.at:%Y-%m-%d}"


class _Part(models.Model):
    """One line of a plan."""

    plan = models.ForeignKey(Plan, models.CASCADE, related_name="%(class)ss")
    count = models.PositiveIntegerField()
    why = models.TextField(blank=True)

    class Meta:
        abstract = True
        ordering = ["id"]


class ToTake(_Part):
    """So many cuttings to take from a mother plant."""

    plan = models.ForeignKey(Plan, models.CASCADE, related_name="to_take")
    mother = models.ForeignKey(MotherPlant, models.PROTECT, related_name="+")
    use = models.CharField(max_length=10, choices=Use)


class Pick(_Part):
    """So many cuttings for a line or a target: of a lot in its place, or still to be taken from a mother plant."""

    lot = models.ForeignKey(Lot, models.PROTECT, null=True, blank=True, related_name="picks")
    place = models.ForeignKey(Place, models.PROTECT, null=True, blank=True, related_name="picks")
    mother = models.ForeignKey(MotherPlant, models.PROTECT, null=True, blank=True, related_name="picks")
    line = models.ForeignKey(OrderLine, models.PROTECT, null=True, blank=True, related_name="picks")
    target = models.ForeignKey(Target, models.PROTECT, null=True, blank=True, related_name="picks")
    day = models.DateField()  # the first on which all of its delivery can be picked
    by_hand = models.BooleanField(default=False)

    class Meta(_Part.Meta):
        constraints = [
            models.CheckConstraint(
                condition=models.Q(line__isnull=True) | models.Q(target__isnull=True),
                name="pick_for_one_wish",
            ),
            models.CheckConstraint(
                condition=models.Q(lot__isnull=False, place__isnull=False, mother__isnull=True)
                | models.Q(lot__isnull=True, place__isnull=True, mother__isnull=False),
                name="pick_of_a_lot_or_a_plant",
            ),
        ]


class Slot(_Part):
    """So many cuttings of a lot to be set on a bench from a day on, at a base temperature."""

    lot = models.ForeignKey(Lot, models.PROTECT, related_name="slots")
    place = models.ForeignKey(Place, models.PROTECT, related_name="+")  # where it lies when planned
    bench = models.ForeignKey(Place, models.PROTECT, related_name="slots")
    base_c = models.FloatField(null=True, blank=True)  # none: no mat [°C]
    start = models.DateField()
    risk = models.FloatField()  # that leaves come before roots by more than the reserve bears [0-1]
    risk_later = models.FloatField(null=True, blank=True)  # the same, were it set a week later [0-1]
    ready = models.DateField(null=True, blank=True)  # half of those that root have roots
    by_hand = models.BooleanField(default=False)


class Pack(models.TextChoices):
    """What goes into a parcel against the weather."""

    NONE = "none", _("no pack")
    WARM = "warm", _("a warm pack")
    COLD = "cold", _("a cold pack")


class Posting(_Part):
    """The day on which an order is best posted."""

    order = models.ForeignKey(Order, models.PROTECT, related_name="postings")
    day = models.DateField(null=True, blank=True)  # none: hold
    pack = models.CharField(max_length=4, choices=Pack, default=Pack.NONE)
    risk = models.FloatField()  # that the wood is harmed or late [0-1]
    by_hand = models.BooleanField(default=False)
