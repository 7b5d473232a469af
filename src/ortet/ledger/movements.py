"""Movements and the balances that the database keeps from them."""

import hashlib
from datetime import UTC

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _
from uuid_utils.compat import uuid7

from ortet.wood.speech import say

from .lots import Lot
from .places import Place


class Why(models.TextChoices):
    """Why cuttings moved."""

    TAKEN = "taken", _("taken")
    RECEIVED = "received", _("received")
    BAGGED = "bagged", _("bagged")
    MOVED = "moved", _("moved")
    SPLIT = "split", _("split off")
    STRUCK = "struck", _("struck")
    GRAFTED = "grafted", _("grafted")
    POTTED = "potted", _("potted on")
    PACKED = "packed", _("packed")
    SOLD = "sold", _("sold")
    GIVEN_UP = "given_up", _("given up")
    LOST = "lost", _("not found")
    CORRECTED = "corrected", _("corrected")


class Movement(models.Model):
    """So many cuttings of a lot, from one place to another. Never changed; a mistake is reversed by another."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    number = models.BigIntegerField(unique=True)  # 1, 2, 3 … in the order booked
    lot = models.ForeignKey(Lot, models.PROTECT, related_name="movements")
    from_place = models.ForeignKey(Place, models.PROTECT, related_name="movements_out")
    to_place = models.ForeignKey(Place, models.PROTECT, related_name="movements_in")
    count = models.PositiveIntegerField()
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    why = models.CharField(max_length=10, choices=Why)
    note = models.TextField(blank=True)
    reverses = models.OneToOneField("self", models.PROTECT, null=True, blank=True, related_name="reversed_by")
    chained_to = models.CharField(max_length=64)  # the seal of the movement before, or '' for the first
    seal = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["number"]
        constraints = [
            models.CheckConstraint(condition=models.Q(count__gt=0), name="movement_moves_something"),
            models.CheckConstraint(
                condition=~models.Q(from_place=models.F("to_place")), name="movement_has_two_ends"
            ),
            models.CheckConstraint(condition=models.Q(number__gt=0), name="movement_is_numbered"),
        ]

    def __str__(self) -> str:
        return say(
            "{number}: {count} of {lot} from {there} to {here}",
            number=self.number,
            count=self.count,
            lot=self.lot,
            there=self.from_place,
            here=self.to_place,
        )

    @property
    def words(self) -> str:
        """What was noted of it: sealed with it, or beside it where a buyer may be named, with what packed or sold it."""
        beside = {Why.PACKED: "packing", Why.SOLD: "sale"}.get(Why(self.why))
        return self.note or (getattr(getattr(self, beside, None), "note", "") if beside else "")

    def sealed(self, lot: str, from_place: str, to_place: str) -> str:
        """Return the SHA-256 seal over what this movement says, given the codes of its lot and places."""
        words = (
            self.number,
            self.id,
            lot,
            from_place,
            to_place,
            self.count,
            self.at.astimezone(UTC).isoformat(timespec="microseconds"),
            self.by_id,
            self.why,
            self.note,
            self.reverses_id or "",
            self.chained_to,
        )
        return hashlib.sha256("\x1f".join(map(str, words)).encode()).hexdigest()


class Balance(models.Model):
    """How many cuttings of a lot are in a place. Written by the database's own triggers only."""

    lot = models.ForeignKey(Lot, models.PROTECT, related_name="balances")
    place = models.ForeignKey(Place, models.PROTECT, related_name="balances")
    count = models.BigIntegerField()
    is_source = models.BooleanField()  # wood comes out of this place, so it may fall below nothing

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["lot", "place"], name="balance_once"),
            models.CheckConstraint(
                condition=models.Q(is_source=True) | models.Q(count__gte=0), name="balance_not_below_nothing"
            ),
        ]
        indexes = [models.Index(fields=["place"], condition=models.Q(count__gt=0), name="balance_of_a_place")]
