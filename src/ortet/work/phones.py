"""Phones on the farm's network: let in by a one-time code, known by a secret of their own, shut out at once.

Programs, which come in by a token, are devices too and are shut out here alike.
"""

import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import count

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Q
from django.utils.crypto import salted_hmac

from ortet.ledger.booking import Refused
from ortet.ledger.models import Device, Pairing
from ortet.wood import code as codes
from ortet.wood.speech import say, to_say

from .nursery import add_helper

__all__ = [
    "KEPT", "LASTS", "Invitation", "free_name", "hash_of", "invite", "invited", "known", "note_seen", "pair", "shut_out",
]  # fmt: skip

LASTS = timedelta(minutes=10)  # how long a code lets in [our choice]
KEPT = timedelta(days=400)  # browsers keep no cookie longer (RFC 6265bis, 5.5) [published]
SEEN = timedelta(minutes=1)  # how exactly it is noted when a phone was last seen
NOT_TAKEN = to_say(
    "was used already, has run out or was never given. Ask at the desk for a new one. Nobody was let in."
)


@dataclass(frozen=True, slots=True)
class Invitation:
    """A one-time code, as it is shown once; the book keeps only its hashes."""

    user: User
    name: str  # of the phone
    token: str  # to scan
    code: str  # to type
    until: datetime


def hash_of(secret: str) -> str:
    """Return what the book keeps of a secret; the key of the installation goes in, as a typed code alone is short."""
    return salted_hmac("ortet.work.phones", secret, algorithm="sha256").hexdigest()


def free_name(wanted: str) -> str:
    """Return the wanted name, numbered where a phone or program that is let in has it."""
    taken = {
        name.casefold() for name in Device.objects.filter(shut_out_at=None).values_list("name", flat=True)
    }
    wanted = " ".join(wanted.split())[:70]
    return next(
        name for n in count(1) if (name := wanted if n == 1 else f"{wanted} {n}").casefold() not in taken
    )


def _refuse_other_than_grower(by: User) -> None:
    if not by.is_superuser:
        raise Refused(say("Only the grower lets phones in and shuts them out. Nothing was changed."))


def invite(hand: str, *, by: User, now: datetime, name: str = "", may_write: bool = True) -> Invitation:
    """Make a one-time code that pairs a phone with a hand; a name not in the book becomes a new helper.

    Parameters
    ----------
    hand : str
        Whose phone it is.
    name : str
        What the phone is called; otherwise after its hand.
    may_write : bool
        For a new helper only.

    Raises
    ------
    Refused
        If the hand has no name or may no longer come in, or another than the grower asks.
    """
    _refuse_other_than_grower(by)
    if not (hand := hand.strip()):
        raise Refused(
            say("Say whose phone it is: a hand of this book, or a new helper's name. No code was made.")
        )
    with transaction.atomic():
        Pairing.objects.filter(until__lte=now).delete()
        user = User.objects.filter(username__iexact=hand).first() or add_helper(hand, may_write=may_write)
        if not user.is_active:
            raise Refused(say("{user} may no longer come in. No code was made.", user=user.username))
        made = Invitation(
            user=user,
            name=free_name(name.strip() or say("{user}'s phone", user=user.username)),
            token=secrets.token_urlsafe(32),
            code=codes.make(secrets.randbits(5 * codes.PAYLOAD)),
            until=now + LASTS,
        )
        hashes = {"token_hash": hash_of(made.token), "code_hash": hash_of(made.code)}
        Pairing.objects.create(user=user, name=made.name, until=made.until, **hashes)
    return made


def invited(secret: str, *, now: datetime) -> Pairing | None:
    """Return the pairing that a scanned token or a typed code stands for, while it lets in."""
    which = Q(token_hash=hash_of(secret)) | Q(code_hash=hash_of(secret))
    return Pairing.objects.filter(which, until__gt=now, user__is_active=True).select_related("user").first()


def pair(secret: str, *, now: datetime, instead_of: Device | None = None) -> tuple[Device, str]:
    """Use up a code; return the phone and the secret that it is known by from now on.

    Parameters
    ----------
    secret : str
        The scanned token or the typed code.
    instead_of : Device
        What this phone was paired as before; that ends.

    Raises
    ------
    Refused
        If the code was used, has run out or was never given.
    """
    with transaction.atomic():
        pairing = invited(secret, now=now)
        # whoever deletes the row has the code: of two at once only one
        if pairing is None or not Pairing.objects.filter(pk=pairing.pk).delete()[0]:
            raise Refused(say("This code {not_taken}", not_taken=say(NOT_TAKEN)))
        if instead_of is not None:
            _end(instead_of, now)
        token = secrets.token_urlsafe(32)
        device = Device.objects.create(
            name=free_name(pairing.name),
            user=pairing.user,
            token_hash=hash_of(token),
            made_at=now,
            last_seen=now,
        )
    return device, token


def known(token: str, *, now: datetime) -> Device | None:
    """Return the phone that holds this secret, unless it was shut out or long not seen; note that it was seen."""
    device = (
        Device.objects.filter(token_hash=hash_of(token), shut_out_at=None, user__is_active=True)
        .filter(last_seen__gt=now - KEPT, is_program=False)
        .select_related("user")
        .first()
    )
    if device is not None:
        note_seen(device, now)
    return device


def note_seen(device: Device, now: datetime) -> None:
    """Note when a phone or a program was last seen, to the minute."""
    if now - device.last_seen >= SEEN:
        Device.objects.filter(pk=device.pk).update(last_seen=now)


def _end(device: Device, now: datetime) -> None:
    device.shut_out_at = now
    device.save(update_fields=["shut_out_at"])


def shut_out(name: str, *, by: User, now: datetime) -> Device:
    """Shut a phone or a program out, by its name: from its next request on nobody comes in with it.

    Raises
    ------
    Refused
        If none that is let in is called so, or another than the grower shuts out what is not a program of their own.
    """
    with transaction.atomic():
        let_in = Device.objects.filter(shut_out_at=None)
        if not by.is_superuser:
            let_in = let_in.filter(is_program=True, user=by)
        device = let_in.filter(name__iexact=name.strip()).first()
        if device is None:
            _refuse_other_than_grower(by)
            there = ", ".join(str(device) for device in let_in) or say("none")
            raise Refused(
                say(
                    "No phone or program that is let in is called {name!r}. Let in are: {there}. Nothing was changed.",
                    name=name,
                    there=there,
                )
            )
        _end(device, now)
    return device
