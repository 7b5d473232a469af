"""Signing in and out."""

from typing import Any

from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpResponse

__all__ = ["sign_in", "sign_out"]


class _NameAndPassword(AuthenticationForm):
    error_messages = {
        "invalid_login": "This name and this password do not belong together. Nobody was signed in.",
        "inactive": "This hand may no longer come in. Nobody was signed in.",
    }

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["username"].label = "Name"


class _SignIn(LoginView):
    form_class = _NameAndPassword
    template_name = "sign_in.html"
    redirect_authenticated_user = True

    def form_invalid(self, form: AuthenticationForm) -> HttpResponse:
        """Ask again."""
        return self.render_to_response(self.get_context_data(form=form), status=422)


sign_in = _SignIn.as_view()
sign_out = LogoutView.as_view(next_page="sign-in")
