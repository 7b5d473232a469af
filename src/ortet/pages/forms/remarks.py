"""Forms that say or show how something is: a note, a photo."""

from typing import Any

from django.utils.translation import gettext_lazy as _

from ortet.pages import known

from .deed import Deed
from .fields import CodeField, Notes

__all__ = ["Note", "Photograph"]


class _About(Deed):
    """Something about a lot, a place, or a lot in a place."""

    offers = {"lot": known.lots, "place": known.places}

    lot = CodeField(label=_("Lot"), required=False, help_text=_("Code or mark, typed or scanned."))
    place = CodeField(
        label=_("Bag, batch or place"), required=False, help_text=_("One of the two is enough.")
    )

    def deed(self) -> dict[str, Any]:
        """Return what it is about."""
        said = super().deed()
        return {**said, "lot": said["lot"] or None, "place": said["place"] or None}


class Note(_About):
    """Note something."""

    title = _("Note")
    why = _("What no other reading has room for stays with the lot or the place.")
    act = _("Note it")
    first = ("lot", "place", "note")

    note = Notes(_("In your words"), required=True)

    def deed(self) -> dict[str, Any]:
        """Return the words."""
        said = super().deed()
        return {"words": said.pop("note"), **said}


class Photograph(_About):
    """What a photo is of; the picture comes beside it."""
