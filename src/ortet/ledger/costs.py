"""What growing costs: money spent, and the minutes that each deed takes."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from .batches import Batch
from .orders import Order
from .plants import Variety
from .readings import Reading

__all__ = ["Expense", "Minutes", "Outlay"]


class Outlay(models.TextChoices):
    """What money was spent on."""

    MATERIAL = "material", _("materials")
    PLANTS = "plants", _("plants and wood bought")
    HEAT = "heat", _("heat and power")
    WAGES = "wages", _("wages")
    POSTAGE = "postage", _("postage")
    FEES = "fees", _("fees and licences")
    TOOLS = "tools", _("tools and upkeep")
    OTHER = "other", _("other")


class Expense(Reading):
    """Money spent. Never changed: a wrong one is reversed by another."""

    on = models.DateField()
    outlay = models.CharField(max_length=10, choices=Outlay)
    what = models.CharField(max_length=120)
    net = models.DecimalField(max_digits=12, decimal_places=2)
    tax = models.DecimalField(max_digits=12, decimal_places=2, default=0)
    variety = models.ForeignKey(Variety, models.PROTECT, null=True, blank=True, related_name="expenses")
    batch = models.ForeignKey(Batch, models.PROTECT, null=True, blank=True, related_name="expenses")
    order = models.ForeignKey(Order, models.PROTECT, null=True, blank=True, related_name="expenses")
    reverses = models.OneToOneField("self", models.PROTECT, null=True, blank=True, related_name="reversed_by")

    class Meta(Reading.Meta):
        constraints = [models.CheckConstraint(condition=~models.Q(what=""), name="expense_is_for_something")]


class Minutes(Reading):
    """From now on a deed is reckoned at so many minutes for a hundred cuttings. The latest counts."""

    deed = models.CharField(max_length=10)  # a ledger.movements.Why
    per_hundred = models.DecimalField(max_digits=7, decimal_places=2)

    class Meta(Reading.Meta):
        verbose_name_plural = "minutes"
        constraints = [
            models.CheckConstraint(condition=models.Q(per_hundred__gte=0), name="minutes_not_negative")
        ]
