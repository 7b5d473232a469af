"""Forms of the phones: whose phone it is, and the code as it is typed."""

from typing import Any

from django import forms
from django.contrib.auth.models import User
from django.utils.text import format_lazy
from django.utils.translation import gettext_lazy as _

from ortet.wood import code as codes
from ortet.wood.speech import say

from .fields import one_of

__all__ = ["Helper", "TypedCode"]


class Helper(forms.Form):
    """Whose phone it is."""

    hand = forms.CharField(
        label=_("Whose phone"),
        max_length=150,
        help_text=_(
            "A hand of this book, or a new helper's name: they come in by their phone, without a password."
        ),
        widget=forms.TextInput(attrs={"autocapitalize": "none", "autocomplete": "off"}),
    )
    name = forms.CharField(
        label=_("What the phone is called"),
        max_length=70,
        required=False,
        help_text=_("Such as the blue one. Empty: after its hand."),
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    may = one_of(_("A new helper may"), [("write", _("read and write")), ("read", _("only read"))])

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, initial={"may": "write"}, use_required_attribute=False, **more)
        hands = User.objects.filter(is_active=True).order_by("id").values_list("username", flat=True)
        self.fields["hand"].offer = [(name, name) for name in hands]
        self.fields["hand"].widget.attrs["list"] = "known-hand"


class TypedCode(forms.Form):
    """The pairing code, typed."""

    code = forms.CharField(
        label=_("Code on the desk's screen"),
        max_length=40,
        help_text=format_lazy(
            _("Eight characters, such as {example}. Small letters and the hyphen do not matter."),
            example=codes.EXAMPLE,
        ),
        widget=forms.TextInput(
            attrs={"autocapitalize": "characters", "autocomplete": "off", "spellcheck": "false"}
        ),
    )

    def clean_code(self) -> str:
        """Catch what was mistyped before it counts as a try."""
        try:
            return codes.read(self.cleaned_data["code"])
        except ValueError as error:
            raise forms.ValidationError(str(error).replace(say("the label"), say("it"))) from None
