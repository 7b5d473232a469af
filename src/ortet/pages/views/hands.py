"""Signing in and out."""

from datetime import timedelta
from typing import Any

from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import LoginView, LogoutView
from django.forms import ValidationError
from django.http import HttpResponse
from django.utils.timezone import localtime, now
from django.utils.translation import gettext_lazy as _

from ortet.wood.speech import say
from ortet.work.brake import begin_try, forget_tries

__all__ = ["sign_in", "sign_out"]


class _NameAndPassword(AuthenticationForm):
    error_messages = {
        "invalid_login": _("This name and this password do not belong together. Nobody was signed in."),
        "inactive": _("This hand may no longer come in. Nobody was signed in."),
    }
    wait: timedelta | None = None

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["username"].label = say("Name")

    def clean(self) -> dict[str, Any]:
        """Look at the password, unless too many were wrong already."""
        name, at = self.cleaned_data.get("username"), now()
        if not name or not self.cleaned_data.get("password"):
            return super().clean()
        if until := begin_try(name, self.request.META.get("REMOTE_ADDR", ""), at):
            self.wait = until - at
            raise ValidationError(
                say(
                    "Ten wrong passwords within a quarter of an hour: wait until {until:%H:%M}. Nobody was signed in.",
                    until=localtime(until + timedelta(minutes=1)),
                )
            )
        said = super().clean()
        forget_tries(name)
        return said


class _SignIn(LoginView):
    form_class = _NameAndPassword
    template_name = "sign_in.html"
    redirect_authenticated_user = True

    def form_invalid(self, form: _NameAndPassword) -> HttpResponse:
        """Ask again."""
        answer = self.render_to_response(self.get_context_data(form=form), status=429 if form.wait else 422)
        if form.wait:
            answer["Retry-After"] = str(int(form.wait.total_seconds()) + 1)
        return answer


sign_in = _SignIn.as_view()
sign_out = LogoutView.as_view(next_page="sign-in")
