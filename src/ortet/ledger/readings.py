"""Readings: what was weighed, seen, done to the wood, and what the loggers recorded. Added to, never changed."""

from typing import TypeVar

from django.conf import settings
from django.db import models
from django.db.models import QuerySet
from django.utils.translation import gettext_lazy as _
from uuid_utils.compat import uuid7

from .lots import Lot
from .places import Place


class FreeWater(models.TextChoices):
    """Liquid water seen in a bag."""

    NONE = "none", _("none")
    DROPLETS = "droplets", _("droplets")
    POOLED = "pooled", _("pooled")


class TreatmentKind(models.TextChoices):
    """What was done to the wood or its bag."""

    DISINFECT = "disinfect", _("disinfected")
    WASH = "wash", _("washed")
    WAX = "wax", _("waxed")
    AIR = "air", _("opened and aired")
    WIPE = "wipe", _("wiped dry and aired")


class Reading(models.Model):
    """Who recorded something, when."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    note = models.TextField(blank=True)

    class Meta:
        abstract = True
        ordering = ["at", "id"]


class Weighing(Reading):
    """A bag on the scale."""

    place = models.ForeignKey(Place, models.PROTECT, related_name="weighings")
    gross_g = models.FloatField()

    class Meta(Reading.Meta):
        constraints = [
            models.CheckConstraint(condition=models.Q(gross_g__gt=0), name="weighing_weighs_something")
        ]


def _k_of_n(name: str) -> models.Q:
    """Return the condition that a count and what it is out of are both there, or neither."""
    of = f"{name}_of"
    return models.Q(**{f"{name}__isnull": True, f"{of}__isnull": True}) | models.Q(
        **{f"{name}__isnull": False, f"{of}__isnull": False, f"{of}__gt": 0, f"{name}__lte": models.F(of)}
    )


class Inspection(Reading):
    """What was seen of one lot in one place; empty where it was not looked at."""

    lot = models.ForeignKey(Lot, models.PROTECT, related_name="inspections")
    place = models.ForeignKey(Place, models.PROTECT, related_name="inspections")
    sound = models.PositiveIntegerField(null=True, blank=True)
    mouldy = models.PositiveIntegerField(null=True, blank=True)
    dry = models.PositiveIntegerField(null=True, blank=True)
    scratch_green = models.PositiveIntegerField(null=True, blank=True)
    scratch_of = models.PositiveIntegerField(null=True, blank=True)
    callus = models.PositiveSmallIntegerField(null=True, blank=True)  # 0 none … 4 full ring
    callused = models.PositiveIntegerField(null=True, blank=True)
    callused_of = models.PositiveIntegerField(null=True, blank=True)
    rooted = models.PositiveIntegerField(null=True, blank=True)
    rooted_of = models.PositiveIntegerField(null=True, blank=True)
    free_water = models.CharField(max_length=8, choices=FreeWater, blank=True)

    class Meta(Reading.Meta):
        constraints = [
            models.CheckConstraint(
                condition=models.Q(scratch_of__isnull=True, scratch_green__isnull=True)
                | models.Q(scratch_green__lte=models.F("scratch_of")),
                name="inspection_scratch_k_of_n",
            ),
            models.CheckConstraint(
                condition=models.Q(callus__isnull=True) | models.Q(callus__lte=4),
                name="inspection_callus_0_to_4",
            ),
            models.CheckConstraint(condition=_k_of_n("callused"), name="inspection_callused_k_of_n"),
            models.CheckConstraint(condition=_k_of_n("rooted"), name="inspection_rooted_k_of_n"),
        ]


class Treatment(Reading):
    """What was done to a lot, or to a bag with all in it."""

    lot = models.ForeignKey(Lot, models.PROTECT, null=True, blank=True, related_name="treatments")
    place = models.ForeignKey(Place, models.PROTECT, related_name="treatments")
    kind = models.CharField(max_length=10, choices=TreatmentKind)
    agent = models.CharField(max_length=80, blank=True)
    strength = models.CharField(max_length=40, blank=True)
    minutes = models.FloatField(null=True, blank=True)


# A remark is about a lot, about a place, or about a lot in a place.
_ABOUT = models.Q(lot__isnull=False) | models.Q(place__isnull=False)


class Note(Reading):
    """Words about a lot or a place that no other reading has room for."""

    lot = models.ForeignKey(Lot, models.PROTECT, null=True, blank=True, related_name="notes")
    place = models.ForeignKey(Place, models.PROTECT, null=True, blank=True, related_name="notes")

    class Meta(Reading.Meta):
        constraints = [
            models.CheckConstraint(condition=_ABOUT, name="note_is_about_something"),
            models.CheckConstraint(condition=~models.Q(note=""), name="note_says_something"),
        ]


class Photo(Reading):
    """A picture of a lot or a place. The file lies beside the book, in the folder `photos`."""

    lot = models.ForeignKey(Lot, models.PROTECT, null=True, blank=True, related_name="photos")
    place = models.ForeignKey(Place, models.PROTECT, null=True, blank=True, related_name="photos")
    name = models.CharField(max_length=60, unique=True)  # of the file
    sha256 = models.CharField(max_length=64)  # of what is in it, so that another put in its place is noticed
    width = models.PositiveSmallIntegerField()
    height = models.PositiveSmallIntegerField()

    class Meta(Reading.Meta):
        constraints = [
            models.CheckConstraint(condition=_ABOUT, name="photo_is_of_something"),
            models.CheckConstraint(
                condition=~models.Q(name="") & models.Q(width__gt=0, height__gt=0), name="photo_has_a_size"
            ),
        ]


class Withdrawal(Reading):
    """An earlier reading was mistaken and no longer counts; the note says why."""

    reading = models.UUIDField(unique=True)


class ClimateReading(models.Model):
    """What a logger or a weather record says of one cold place or site."""

    pk = models.CompositePrimaryKey("place_id", "at_s")
    place = models.ForeignKey(Place, models.PROTECT, related_name="climate", db_index=False)
    at_s = models.BigIntegerField()  # Unix seconds, UTC
    air_c = models.FloatField()
    humidity = models.FloatField(null=True)  # 0-1


Read = TypeVar("Read", bound=Reading)


def readings_that_count(model: type[Read]) -> QuerySet[Read]:
    """Return the readings of a kind that were not withdrawn, in order of time."""
    return model.objects.exclude(pk__in=Withdrawal.objects.values("reading")).order_by("at", "id")
