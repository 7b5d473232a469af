"""Lots: the unit that carries a label. A lot's identity never changes and two varieties never merge."""

from typing import Any

from django.db import models
from django.utils.translation import gettext_lazy as _
from uuid_utils.compat import uuid7

from ortet.wood import code as codes
from ortet.wood.cutting import Cutting
from ortet.wood.naming import fold

from .plants import MotherPlant, Variety


class Use(models.TextChoices):
    """What the wood is meant for."""

    ROOTING = "rooting", _("rooting")
    GRAFTING = "grafting", _("grafting")


class Lot(models.Model):
    """Cuttings of one variety, from one mother plant, same day and grade."""

    code = models.CharField(max_length=8, unique=True)
    # The grower's own name for it, and the key by which marks are compared; NULL, since many lots have none and none are alike.
    mark = models.CharField(max_length=40, null=True, blank=True)  # noqa: DJ001
    mark_key = models.CharField(max_length=80, unique=True, null=True, editable=False)  # noqa: DJ001
    variety = models.ForeignKey(Variety, models.PROTECT, related_name="lots")
    mother = models.ForeignKey(MotherPlant, models.PROTECT, null=True, blank=True, related_name="lots")
    made_at = models.DateTimeField()
    taken_at = (
        models.DateTimeField()
    )  # when the wood left the mother plant; a lot split off keeps its parent's
    use = models.CharField(max_length=10, choices=Use, default=Use.ROOTING)
    grade = models.CharField(max_length=20, blank=True)
    length_mm = models.FloatField()
    base_mm = models.FloatField()
    tip_mm = models.FloatField()
    nodes = models.PositiveSmallIntegerField(default=0)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["made_at", "id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(length_mm__gt=0, tip_mm__gt=0, base_mm__gte=models.F("tip_mm")),
                name="lot_has_a_size",
            )
        ]

    def __str__(self) -> str:
        return codes.show(self.code)

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Keep the key by which marks are compared."""
        self.mark_key = fold(self.mark) if self.mark else None
        super().save(*args, **kwargs)

    @property
    def cutting(self) -> Cutting:
        """The usual piece of this lot."""
        return Cutting(self.length_mm, self.base_mm, self.tip_mm, self.nodes)


class Part(models.TextChoices):
    """What the wood of one lot is in another: a piece of it split off, or one half of a graft."""

    SPLIT = "split", _("split off")
    SCION = "scion", _("scion")
    STOCK = "stock", _("rootstock")


class Derivation(models.Model):
    """So many cuttings of one lot became another lot. A graft has two: its scion's lot and its stock's."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    parent = models.ForeignKey(Lot, models.PROTECT, related_name="became")
    child = models.ForeignKey(Lot, models.PROTECT, related_name="came_from")
    count = models.PositiveIntegerField()
    part = models.CharField(max_length=5, choices=Part, default=Part.SPLIT)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(count__gt=0), name="derivation_moves_something"),
            models.CheckConstraint(
                condition=~models.Q(parent=models.F("child")), name="derivation_has_two_ends"
            ),
            models.UniqueConstraint(fields=["parent", "child"], name="derivation_once"),
        ]
