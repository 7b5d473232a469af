"""What is known of a mother plant's descent beyond its variety, source and health."""

from django.db import models

from .plants import MotherPlant

__all__ = ["PassportData"]


class PassportData(models.Model):
    """Passport data of a mother plant, by the field names of the Multi-Crop Passport Descriptors v2.1."""

    mother = models.OneToOneField(MotherPlant, models.PROTECT, primary_key=True, related_name="passport")
    said = models.JSONField(default=dict)  # field name to text; what the book itself knows is not in it

    class Meta:
        verbose_name_plural = "passport data"

    def __str__(self) -> str:
        return f"passport data of {self.mother.accession}"
