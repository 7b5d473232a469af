"""The ledger as Django knows it; its guard goes up after every migration."""

from django.apps import AppConfig
from django.db.models.signals import post_migrate


def _put_up_guard(using: str, **_: object) -> None:
    from django.db import connections

    from . import guard

    guard.install(connections[using])


class LedgerConfig(AppConfig):
    """The account."""

    name = "ortet.ledger"
    label = "ledger"

    def ready(self) -> None:
        # A later, harmless migration on SQLite rebuilds a table and silently drops its triggers: install them each time.
        from django.utils import translation

        from ortet.wood import speech

        speech.speaks(
            translation.gettext, translation.ngettext, lambda: translation.get_language() or speech.ENGLISH
        )
        post_migrate.connect(_put_up_guard, sender=self)
