"""Passport data of the mother plants: the collection's file, and a plant's own."""

from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_safe

from ortet.pages.forms.deed import Deed
from ortet.pages.forms.passports import DescribePassport
from ortet.wood.speech import say
from ortet.work import passports as work

from .asking import Done, a_deed

__all__ = ["describe", "passports"]


@require_safe
def passports(request: HttpRequest) -> HttpResponse:
    """Answer with the collection by the Multi-Crop Passport Descriptors."""
    headers = {"Content-Disposition": 'attachment; filename="passports.csv"'}
    return HttpResponse(work.passport_table(), content_type="text/csv; charset=utf-8", headers=headers)


@a_deed(DescribePassport)
def describe(form: Deed, by: User) -> Done:
    """Note passport data of a mother plant."""
    accession = form.cleaned_data["accession"]
    notes = work.describe_passport(**form.deed())
    said = " ".join([say("Passport data of {accession} are noted.", accession=accession), *notes])
    return Done(said, reverse("mother", args=[accession]))
