"""Varieties and the mother plants that wood is taken from."""

from datetime import date
from typing import Any

from django.db import models

from ortet.wood.naming import fold

from .places import Place


class Variety(models.Model):
    """A named clone: what the label promises."""

    name = models.CharField(max_length=120)  # the cultivar epithet, without quotation marks
    name_key = models.CharField(max_length=240, unique=True, editable=False)  # by which names are compared
    as_received = models.CharField(
        max_length=240, blank=True
    )  # word for word, where it came as more than that
    species = models.CharField(max_length=32)  # a key of ortet.science.species
    group = models.CharField(max_length=60, blank=True)  # the cultivar Group, without the word
    selling_name = models.CharField(max_length=120, blank=True)  # a trade designation: no name under the Code
    right = models.CharField(max_length=200, blank=True)  # a breeder's right, as noted
    right_until = models.DateField(null=True, blank=True)  # its last day, as noted
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["name"]
        verbose_name_plural = "varieties"
        constraints = [models.CheckConstraint(condition=~models.Q(name=""), name="variety_has_a_name")]

    def __str__(self) -> str:
        return f"\N{LEFT SINGLE QUOTATION MARK}{self.name}\N{RIGHT SINGLE QUOTATION MARK}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Keep the key by which names are compared."""
        self.name_key = fold(self.name)
        super().save(*args, **kwargs)

    def right_on(self, day: date) -> str:
        """Return the right that protects it on a day; nothing where none is noted, or its last day is past."""
        return "" if self.right_until and self.right_until < day else self.right


class MotherPlant(models.Model):
    """A plant wood is taken from. It is itself a place: what was taken from it is its balance below nothing."""

    accession = models.CharField(max_length=40)
    accession_key = models.CharField(
        max_length=80, unique=True, editable=False
    )  # by which numbers are compared
    variety = models.ForeignKey(Variety, models.PROTECT, related_name="mothers")
    place = models.OneToOneField(Place, models.PROTECT, related_name="mother")
    site = models.ForeignKey(Place, models.PROTECT, null=True, blank=True, related_name="mothers_here")
    source = models.CharField(max_length=200, blank=True)
    health = models.CharField(max_length=200, blank=True)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["accession"]
        constraints = [
            models.CheckConstraint(condition=~models.Q(accession=""), name="mother_has_an_accession")
        ]

    def __str__(self) -> str:
        return f"{self.accession} {self.variety}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Keep the key by which accession numbers are compared."""
        self.accession_key = fold(self.accession)
        super().save(*args, **kwargs)
