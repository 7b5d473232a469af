"""The form that lets a program in."""

from typing import Any

from django import forms
from django.contrib.auth.models import User
from django.utils.translation import gettext_lazy as _

from ortet.wood.speech import say
from ortet.work.nursery import may_write
from ortet.work.programs import SCOPES

__all__ = ["CalendarAddress", "LetIn"]


def _name(label: str, hint: str) -> forms.CharField:
    return forms.CharField(
        label=label, max_length=70, help_text=hint, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )


class LetIn(forms.Form):
    """What a program is called, as whom it books and what it may do."""

    name = _name(_("What the program is called"), _("Such as the scale in the shed."))
    hand = forms.ChoiceField(label=_("Books as"))

    def __init__(self, by: User, *args: Any, **more: Any) -> None:
        super().__init__(
            *args, initial={"hand": by.username, "scope_read": True}, use_required_attribute=False, **more
        )
        hands = User.objects.filter(is_active=True).order_by("id") if by.is_superuser else [by]
        self.fields["hand"].choices = [(hand.username, hand.username) for hand in hands]
        if len(self.fields["hand"].choices) == 1:
            self.fields["hand"].widget = forms.HiddenInput()
        for scope, may in SCOPES.items():
            if scope == "calendar" or (scope == "write" and not by.is_superuser and not may_write(by)):
                continue
            words = say(may)
            self.fields[f"scope_{scope}"] = forms.BooleanField(
                label=scope, required=False, help_text=f"{words[0].upper()}{words[1:]}."
            )

    @property
    def scopes(self) -> list[str]:
        """The scopes that were ticked."""
        return [scope for scope in SCOPES if self.cleaned_data.get(f"scope_{scope}")]


class CalendarAddress(forms.Form):
    """Whose calendar it goes into."""

    name = _name(
        _("Where the calendar goes"),
        _("Such as my phone: each gets an address of its own, and is shut out alone."),
    )

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, prefix="calendar", use_required_attribute=False, **more)
