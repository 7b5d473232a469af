"""The brake on signing in, by password or by token: whoever has guessed too often waits."""

from datetime import datetime, timedelta
from ipaddress import ip_address, ip_network

from django.db import transaction

from ortet.ledger.models import SignInTry

__all__ = ["begin_try", "forget_tries", "wrong_token"]

MOST, WITHIN = 10, timedelta(minutes=15)


def _machine(address: str) -> str:
    """Return what stands for one machine: of IPv6 its network; nothing for loopback, as a proxy here passes all on from it."""
    try:
        ip = ip_address(address)
    except ValueError:
        return ""
    if ip.is_loopback:
        return ""
    return str(ip) if ip.version == 4 else str(ip_network((ip, 64), strict=False))


def _key(name: str) -> str:
    return name.strip().casefold()[:150]


def begin_try(name: str, address: str, now: datetime) -> datetime | None:
    """Count a try to sign in before its password is looked at; return until when to wait where there were too many.

    Counted first, so that many tries at once are not let through together. A try while waiting is not counted, so that
    waiting ends.
    """
    of = {"name": _key(name), "address": _machine(address)}
    with transaction.atomic():
        SignInTry.objects.filter(at__lte=now - WITHIN).delete()
        until = []
        for field, value in of.items():
            tries = SignInTry.objects.filter(**{field: value}).order_by("-at").values_list("at", flat=True)
            if value and len(latest := list(tries[:MOST])) == MOST:
                until.append(latest[-1] + WITHIN)
        if not until:
            SignInTry.objects.create(**of, at=now)
    return max(until, default=None)


def wrong_token(address: str, now: datetime) -> datetime | None:
    """Count a token that lets nobody in; return until when that machine waits where there were too many.

    Counted apart from passwords: a program that was shut out and goes on asking slows nobody's signing in.
    """
    return begin_try(f"token from {_machine(address)}", "", now)


def forget_tries(name: str) -> None:
    """Count no more what went before: this person is who they say, or has a new password."""
    SignInTry.objects.filter(name=_key(name)).delete()
