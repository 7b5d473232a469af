"""Phones that may come in over the farm's network, and the one-time codes that let them in."""

from django.conf import settings
from django.db import models
from django.db.models.functions import Lower
from uuid_utils.compat import uuid7


class Device(models.Model):
    """A paired phone: whoever holds it comes in as its hand, until it is shut out. Never deleted, so that it stays known."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    name = models.CharField(max_length=80)
    user = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="devices")
    token_hash = models.CharField(max_length=64, unique=True)  # of what the phone's cookie holds
    made_at = models.DateTimeField()
    last_seen = models.DateTimeField()  # to the minute
    is_program = models.BooleanField(default=False)  # comes in by a token, not by the farm's pages
    scopes = models.CharField(max_length=200, blank=True)  # what a program may do, separated by spaces
    shut_out_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                Lower("name"), condition=models.Q(shut_out_at__isnull=True), name="device_name_once"
            )
        ]
        ordering = ["made_at"]

    def __str__(self) -> str:
        return self.name

    @property
    def may(self) -> list[str]:
        """What a program may do."""
        return self.scopes.split()


class Pairing(models.Model):
    """A code that was shown and not used yet; gone with its use."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    user = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="pairings")
    name = models.CharField(max_length=80)  # what the phone will be called
    token_hash = models.CharField(max_length=64, unique=True)  # of what is scanned
    code_hash = models.CharField(max_length=64, unique=True)  # of what is typed
    until = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.name}, until {self.until:%Y-%m-%d %H:%M}"


class Sent(models.Model):
    """What a program sent under an id of its own, so that the same sent twice is done once. Holds nothing of what was said."""

    id = models.UUIDField(primary_key=True, editable=False)
    device = models.ForeignKey(Device, models.PROTECT, related_name="sent")
    deed = models.CharField(max_length=30)
    said_hash = models.CharField(max_length=64)
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.deed} by {self.device}"
