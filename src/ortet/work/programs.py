"""Programs that come in by a token: what each may do, given once, shut out like a phone; and what each sent, done once."""

import hashlib
import json
import secrets
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import TypeVar
from uuid import UUID

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import QuerySet

from ortet.ledger.booking import Refused, created, turn
from ortet.ledger.models import Device, Sent
from ortet.wood.speech import say, to_say

from .nursery import may_write
from .phones import free_name, hash_of, note_seen

__all__ = ["SCOPES", "Token", "WrongId", "give_token", "known_program", "lacks", "once", "programs_of"]

# What a program may do. A scope gives never more than the hand it books as has itself.
SCOPES = {
    "read": to_say(
        "see the wood, the places, the plan and the evidence; the book's sentences name buyers, never where they live"
    ),
    "write": to_say("book deeds, as its hand"),
    "orders": to_say("see orders and their buyers' names; together with write note and cancel them"),
    "buyers": to_say("see where buyers live and are reached; together with write note it"),
    "calendar": to_say("read the calendar by a private address, and nothing else"),
}
Result = TypeVar("Result")


class WrongId(Refused):
    """An id was used before for something else."""


@dataclass(frozen=True, slots=True)
class Token:
    """A program that was let in, and the secret it comes in by, as it is shown once; the book keeps only its hash."""

    device: Device
    secret: str


def _scopes(wanted: Iterable[str]) -> list[str]:
    asked = {word.strip().lower() for word in wanted if word.strip()}
    if unknown := sorted(asked - SCOPES.keys()):
        raise Refused(
            say(
                "{unknown}: no such scope. Say some of {scopes}. No token was given.",
                unknown=", ".join(map(repr, unknown)),
                scopes=", ".join(SCOPES),
            )
        )
    if not asked:
        raise Refused(
            say(
                "Say what the program may do: some of {scopes}. No token was given.", scopes=", ".join(SCOPES)
            )
        )
    if "calendar" in asked and len(asked) > 1:
        raise Refused(
            say(
                "A calendar's address lies in many hands: give it a token of its own, with the scope calendar alone. No token "
                "was given."
            )
        )
    return [scope for scope in SCOPES if scope in asked]


def give_token(name: str, scopes: Iterable[str], *, hand: User, by: User, now: datetime) -> Token:
    """Let a program in as a hand of the book; return the secret, which is shown once.

    Parameters
    ----------
    name
        What the program is called; numbered where another is called so.
    scopes
        Some of `SCOPES`.
    hand
        As whom it books.
    by
        Who gives it: the grower to any hand, everyone else to themselves.

    Raises
    ------
    Refused
        If it has no name, a scope is unknown, the hand may not write, or another than the grower gives it for somebody else.
    """
    if not name.strip():
        raise Refused(
            say("Say what the program is called, such as the scale in the shed. No token was given.")
        )
    said = _scopes(scopes)
    if by != hand and not by.is_superuser:
        raise Refused(say("Only the grower gives tokens for other hands. No token was given."))
    if not hand.is_active:
        raise Refused(say("{hand} may no longer come in. No token was given.", hand=hand.username))
    if "write" in said and not may_write(hand):
        raise Refused(
            say(
                "{hand} may read this book, not write in it: give the program no scope write. No token was given.",
                hand=hand.username,
            )
        )
    secret = secrets.token_urlsafe(32)
    with transaction.atomic():
        device = created(
            Device,
            name=free_name(name),
            user=hand,
            token_hash=hash_of(secret),
            made_at=now,
            last_seen=now,
            is_program=True,
            scopes=" ".join(said),
        )
    return Token(device, secret)


def known_program(secret: str, *, now: datetime) -> Device | None:
    """Return the program that holds this secret, unless it was shut out; note that it was seen, to the minute."""
    programs = Device.objects.filter(is_program=True, shut_out_at=None, user__is_active=True)
    device = programs.filter(token_hash=hash_of(secret)).select_related("user").first()
    if device is not None:
        note_seen(device, now)
    return device


def lacks(device: Device, needed: Iterable[str]) -> list[str]:
    """Return the scopes that a program lacks for what it asks; write also where its hand may no longer write."""
    has = set(device.may)
    if "write" in has and not may_write(device.user):
        has.remove("write")
    return [scope for scope in needed if scope not in has]


def programs_of(hand: User) -> QuerySet[Device]:
    """Return the programs that a hand may shut out: its own, the grower all."""
    programs = Device.objects.filter(is_program=True).select_related("user")
    return programs if hand.is_superuser else programs.filter(user=hand)


def _sent_before(id: UUID, deed: str, said_hash: str, device: Device) -> bool:
    before = Sent.objects.filter(pk=id).first()
    if before and (before.deed, before.said_hash, before.device_id) != (deed, said_hash, device.pk):
        raise WrongId(
            say(
                "The id {id} was sent before, with something else: {deed}. Make a new id for each deed. Nothing was booked.",
                id=id,
                deed=before.deed,
            )
        )
    return before is not None


def once(
    id: UUID,
    deed: str,
    said: object,
    *,
    device: Device,
    now: datetime,
    act: Callable[[], Result],
    again: Callable[[], Result] | None = None,
    in_turn: bool = True,
) -> Result:
    """Do a deed that a program sent under an id, once; sent again, answer without doing it again.

    Parameters
    ----------
    said
        What was sent, as JSON knows it: the same id with another content is refused.
    act, again
        The deed; and what answers when it was done before, where the deed itself would do it twice. Most deeds know their ids
        and answer again themselves.
    in_turn
        Whether the deed and its note are one transaction. A deed that takes long has turns of its own.

    Raises
    ------
    WrongId
        If the id was sent before with something else.
    """
    said_hash = hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()

    def do() -> Result:
        if _sent_before(id, deed, said_hash, device):
            return (again or act)()
        result = act()
        with turn():  # where a deed has turns of its own, the same may have been sent again meanwhile
            if not _sent_before(id, deed, said_hash, device):
                Sent.objects.create(id=id, device=device, deed=deed, said_hash=said_hash, at=now)
        return result

    if not in_turn:
        return do()
    with turn():
        return do()
