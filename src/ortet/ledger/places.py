"""Places: everywhere a cutting can be, the plant it came from and the ends included."""

from typing import Any

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _
from uuid_utils.compat import uuid7

from ortet.wood.naming import fold
from ortet.wood.speech import say


class Kind(models.TextChoices):
    """What a place is. It never changes."""

    SITE = "site", _("growing site")
    MOTHER = "mother", _("mother plant")
    SENDER = "sender", _("sender")
    BENCH = "bench", _("bench")
    STORE = "store", _("cold place")
    BAG = "bag", _("bag")
    BATCH = "batch", _("batch")
    GROUND = "ground", _("standing ground")
    PARCEL = "parcel", _("parcel")
    BECAME = "became", _("became another lot")
    SOLD = "sold", _("sold")
    GIVEN_UP = "given_up", _("given up")
    LOST = "lost", _("lost")


# Wood comes out of these, so their balance falls below nothing by as much as was taken.
SOURCES = (Kind.MOTHER, Kind.SENDER, Kind.BECAME)
# Dormant wood lies in these: what can be bagged, forecast, allotted and struck.
WOOD = (Kind.BENCH, Kind.STORE, Kind.BAG)
# Cuttings struck or grafted, and the plants they became, stand in these.
GROWING = (Kind.BATCH, Kind.GROUND)
# Where cuttings may be taken from one by one; what is packed leaves with its parcel, or is unpacked first.
LOOSE = (*WOOD, *GROWING)
ON_HAND = (*LOOSE, Kind.PARCEL)
# People call these by name, so no two of them may share one.
NAMED = (Kind.SITE, Kind.STORE, Kind.BENCH, Kind.BAG, Kind.BATCH, Kind.GROUND, Kind.PARCEL)
# One of each of these serves the whole book.
ENDS = (Kind.BECAME, Kind.SOLD, Kind.GIVEN_UP, Kind.LOST)


class Place(models.Model):
    """Somewhere cuttings are, come from or end."""

    code = models.CharField(max_length=8, unique=True)
    kind = models.CharField(max_length=10, choices=Kind)
    name = models.CharField(max_length=80)
    name_key = models.CharField(max_length=160, editable=False)  # by which names are compared
    note = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["name_key"],
                condition=models.Q(kind__in=("site", "store", "bench", "bag", "batch", "ground", "parcel")),
                name="place_named_once",
            ),
            models.UniqueConstraint(
                fields=["kind"],
                condition=models.Q(kind__in=("became", "sold", "given_up", "lost")),
                name="place_one_end_of_a_kind",
            ),
            models.UniqueConstraint(
                fields=["name_key"], condition=models.Q(kind="sender"), name="place_one_sender_of_a_name"
            ),
            models.CheckConstraint(condition=~models.Q(name=""), name="place_has_a_name"),
        ]
        ordering = ["name"]

    def __str__(self) -> str:
        return say(self.name) if self.kind in ENDS else self.name

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Keep the key by which names are compared."""
        self.name_key = fold(self.name)
        super().save(*args, **kwargs)


class Bag(models.Model):
    """What a bag is made of. A wood re-wrapped is wood moved into another bag, so this never changes."""

    place = models.OneToOneField(Place, models.PROTECT, primary_key=True, related_name="bag")
    polymer = models.CharField(max_length=8)
    thickness_um = models.FloatField()
    layers = models.PositiveSmallIntegerField()
    width_mm = models.FloatField()
    height_mm = models.FloatField()
    closure = models.CharField(max_length=16)
    packing = models.CharField(max_length=16)
    packing_water_g = models.FloatField(default=0)
    tare_g = models.FloatField(null=True, blank=True)
    closed_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(thickness_um__gt=0, layers__gt=0, width_mm__gt=0, height_mm__gt=0),
                name="bag_has_a_size",
            ),
            models.CheckConstraint(
                condition=models.Q(packing_water_g__gte=0), name="bag_packing_water_not_negative"
            ),
            models.CheckConstraint(
                condition=models.Q(tare_g__isnull=True) | models.Q(tare_g__gte=0),
                name="bag_tare_not_negative",
            ),
        ]

    def __str__(self) -> str:
        return self.place.name

    @property
    def film_m2(self) -> float:
        """Both faces of one layer. [m2]"""
        return 2 * self.width_mm * self.height_mm / 1e6


class Standing(models.Model):
    """From this hour on a bag stood in this cold place, or a batch on this bench."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    bag = models.ForeignKey(Place, models.PROTECT, related_name="standings")
    store = models.ForeignKey(Place, models.PROTECT, related_name="bags_stood_here")
    since = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["bag", "since"], name="standing_one_at_a_time")]
        ordering = ["bag_id", "since"]
