"""In which language the pages are read, from this browser."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_POST
from django.views.i18n import set_language

__all__ = ["choose"]


@require_POST
def choose(request: HttpRequest) -> HttpResponse:
    """Remember which language was chosen, and go back to the page."""
    return set_language(request)
