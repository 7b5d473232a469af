"""Parcels received: what the sender's slip says, what was found, and the lots that it became."""

from typing import Any

from django.conf import settings
from django.db import models

from ortet.wood.speech import say

from .lots import Lot
from .places import Place

__all__ = ["Received", "ReceivedLine"]


def an_empty_slip() -> dict[str, Any]:
    """Return what is known of a parcel that was just set on the bench."""
    return {"lines": [], "found": {}, "photos": []}


class Received(models.Model):
    """A parcel from a sender. What is said of it may change until it is finished, and never after."""

    number = models.PositiveIntegerField(unique=True)
    sender = models.ForeignKey(Place, models.PROTECT, related_name="received")
    posted_on = models.DateField(null=True, blank=True)
    opened_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    said = models.JSONField(default=an_empty_slip)  # lines of the slip with what was found of each
    seen_at = models.DateTimeField()  # when something was last noted of it
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        verbose_name_plural = "received"
        ordering = ["-number"]

    def __str__(self) -> str:
        return say("parcel {number} of {sender}", number=self.number, sender=self.sender)


class ReceivedLine(models.Model):
    """A line of a finished parcel and the lot it became, with what is still to be done about it."""

    received = models.ForeignKey(Received, models.PROTECT, related_name="lots")
    position = models.PositiveSmallIntegerField()  # of the line on the slip, from 1
    lot = models.OneToOneField(Lot, models.PROTECT, related_name="received")
    soaks_until = models.DateTimeField(null=True, blank=True)
    dip = models.CharField(max_length=60, blank=True)  # to disinfect it with; empty: not
    dip_minutes = models.FloatField(null=True, blank=True)
    apart = models.ForeignKey(Place, models.PROTECT, null=True, blank=True, related_name="kept_apart")
    is_held = models.BooleanField(default=False)  # until the plant-health authority has been asked

    class Meta:
        constraints = [models.UniqueConstraint(fields=["received", "position"], name="received_line_once")]
        ordering = ["received_id", "position"]

    def __str__(self) -> str:
        return f"{self.received.number}/{self.position}"
