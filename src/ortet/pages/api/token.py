"""Who calls: a program by its token, within its scopes. No cookie is looked at."""

from django.http import HttpRequest
from django.utils.timezone import now
from ninja.security import HttpBearer

from ortet.ledger.models import Device
from ortet.work.brake import wrong_token
from ortet.work.programs import known_program, lacks

from .problems import Lacks, Waits

__all__ = ["Token"]


class Token(HttpBearer):
    """A bearer token (RFC 6750) with the scopes that a call needs."""

    def __init__(self, *needs: str) -> None:
        self.needs = needs
        super().__init__()

    def authenticate(self, request: HttpRequest, token: str) -> Device | None:
        """Return the program, or nothing where the token lets nobody in."""
        device = known_program(token, now=now())
        if device is None:
            until = wrong_token(request.META.get("REMOTE_ADDR", ""), now())
            if until is not None:
                raise Waits(until)
            return None
        if missing := lacks(device, self.needs):
            raise Lacks(missing)
        request.user = device.user
        return device
