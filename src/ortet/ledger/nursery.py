"""The nursery itself: how it likes things shown, and which files were loaded."""

from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from uuid_utils.compat import uuid7


class Units(models.TextChoices):
    """How lengths, weights and temperatures are shown."""

    METRIC = "metric", _("metric")
    US = "US", "US"


def usual_transit() -> dict[str, float]:
    """Return how many working days a parcel takes. [common practice]"""
    return {"1": 0.5, "2": 0.35, "3": 0.15}


class Nursery(models.Model):
    """One row: the nursery that keeps this book."""

    name = models.CharField(max_length=80, default="My nursery")
    zone = models.CharField(max_length=64, default="UTC")
    units = models.CharField(max_length=6, choices=Units, default=Units.METRIC)
    address = models.CharField(max_length=120, default="http://localhost:8137")  # what labels' codes lead to
    country = models.CharField(
        max_length=2, blank=True
    )  # ISO 3166-1: whose public holidays the carrier keeps
    region = models.CharField(max_length=6, blank=True)  # ISO 3166-2, after the hyphen
    last_frost = models.CharField(max_length=5, blank=True)  # usual day of the last frost, as MM-DD
    kwh_price = models.DecimalField(max_digits=8, decimal_places=4, null=True, blank=True)
    transit = models.JSONField(default=usual_transit)  # share of parcels by working days on the way
    letterhead = models.TextField(blank=True)  # name, street and place as papers carry them
    contact = models.CharField(max_length=120, blank=True)  # telephone or email, for buyers
    operator = models.CharField(
        max_length=40, blank=True
    )  # number of an operator authorised to issue plant passports
    currency = models.CharField(max_length=3, default="EUR")  # ISO 4217
    tax_number = models.CharField(max_length=30, blank=True)
    tax_percent = models.DecimalField(
        max_digits=7, decimal_places=4, null=True, blank=True
    )  # sales tax or VAT on a line that says nothing else; empty: none is charged
    year_starts = models.CharField(max_length=5, default="01-01")  # first day of the tax year, as MM-DD
    wage = models.DecimalField(max_digits=8, decimal_places=2, null=True, blank=True)  # of one hour
    holds_addresses = models.PositiveSmallIntegerField(
        default=36
    )  # months after the last dealing until a buyer may be erased
    paper = models.CharField(max_length=6, default="A4")  # or letter
    fixed_now = models.DateTimeField(null=True, blank=True)  # a demo season stands still at this moment

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(id=1), name="nursery_only_one")]
        verbose_name_plural = "nurseries"

    def __str__(self) -> str:
        return self.name

    @classmethod
    def get(cls) -> "Nursery":
        """Return the nursery, with its defaults where it has not been described yet."""
        return cls.objects.filter(id=1).first() or cls(id=1)

    @property
    def tz(self) -> ZoneInfo:
        """The grower's zone."""
        return ZoneInfo(self.zone)

    def now(self) -> datetime:
        """Return the moment that counts as now: the clock's, or the fixed one of a demo season."""
        return self.fixed_now or timezone.now()

    def today(self) -> date:
        """Return the day that it is there."""
        return self.now().astimezone(self.tz).date()


class Load(models.Model):
    """A file that was loaded, known by the hash of its bytes."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    sha256 = models.CharField(max_length=64)
    into = models.CharField(max_length=80)  # what it was loaded as and where to
    name = models.CharField(max_length=200)
    rows = models.PositiveIntegerField()
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["sha256", "into"], name="load_once")]
        ordering = ["at"]


class SignInTry(models.Model):
    """A try to sign in that has not succeeded; kept as long as it may bring the next to a halt."""

    name = models.CharField(max_length=150)
    address = models.CharField(max_length=45)  # where it came from
    at = models.DateTimeField(db_index=True)

    class Meta:
        verbose_name_plural = "sign-in tries"

    def __str__(self) -> str:
        return f"{self.name} from {self.address}, {self.at:%Y-%m-%d %H:%M}"
