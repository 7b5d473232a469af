"""What goes with the wood, on paper. Nothing is booked but a new link for a buyer, so whoever may read may print."""

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods, require_safe

from ortet.decisions.borders import ALWAYS
from ortet.ledger.models import Lot
from ortet.pages.forms.papers import Destination, Passports, SupplierDocuments
from ortet.wood.speech import say
from ortet.work import Refused

from .refusing import says_why

__all__ = [
    "address",
    "addresses",
    "checklist",
    "lot_advice",
    "order_address",
    "papers",
    "parcel_advice",
    "pick_list",
    "receipt",
    "slip",
    "slips",
]


def _pdf(pdf: bytes, name: str) -> HttpResponse:
    headers = {"Content-Disposition": f'inline; filename="{name}.pdf"'}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)


def _paper(request: HttpRequest) -> str:
    return request.GET.get("paper", "")


def _number(request: HttpRequest, name: str) -> int | None:
    said = request.GET.get(name, "").strip()
    if said and not (said.isdecimal() and len(said) <= 9):
        raise Refused(say("{said!r}: write a whole number. Nothing was printed.", said=said))
    return int(said) if said else None


@require_safe
@says_why
def pick_list(request: HttpRequest) -> HttpResponse:
    """Answer with the pick walk of the week, or of one order."""
    from ortet.work.papers.picking import pick_list as make

    order = _number(request, "order")
    return _pdf(make(order, _paper(request)), f"pick-list-{order}" if order else "pick-list")


@require_safe
@says_why
def slip(request: HttpRequest, number: int) -> HttpResponse:
    """Answer with a parcel's packing slip; with prices, with plant passports where they are asked for."""
    from ortet.work.papers.passports import Wanted
    from ortet.work.papers.posting import packing_slip

    wanted = Wanted() if "passports" in request.GET else None
    pdf = packing_slip(number, paper=_paper(request), prices="prices" in request.GET, passports=wanted)
    return _pdf(pdf, f"packing-slip-{number}")


@require_safe
@says_why
def address(request: HttpRequest, number: int) -> HttpResponse:
    """Answer with a parcel's address label."""
    from ortet.work.papers.posting import address_label

    return _pdf(address_label(number, paper=_paper(request)), f"address-{number}")


@require_safe
@says_why
def slips(request: HttpRequest) -> HttpResponse:
    """Answer with the packing slips of all parcels that wait to be sent."""
    from ortet.work.papers.posting import packing_slip, waiting

    pdf = packing_slip(*waiting(), paper=_paper(request), prices="prices" in request.GET)
    return _pdf(pdf, "packing-slips")


@require_safe
@says_why
def addresses(request: HttpRequest) -> HttpResponse:
    """Answer with the address labels of all parcels that wait to be sent."""
    from ortet.work.papers.posting import address_label, waiting

    return _pdf(address_label(*waiting(), paper=_paper(request)), "addresses")


@require_safe
@says_why
def order_address(request: HttpRequest, number: int) -> HttpResponse:
    """Answer with an order's address label."""
    from ortet.work.papers.posting import address_label

    return _pdf(address_label(order=number, paper=_paper(request)), f"address-order-{number}")


@require_http_methods(["GET", "HEAD", "POST"])
@says_why
def parcel_advice(request: HttpRequest, number: int) -> HttpResponse:
    """Answer with a parcel's advice sheet; when it is posted, with a new link by which the buyer reports back."""
    from ortet.work.papers.advice import advise_parcel, advise_parcel_with_link

    if request.method == "POST":
        if not request.user.has_perm("ledger.add_movement"):
            raise PermissionDenied
        pdf = advise_parcel_with_link(
            number, by=request.user, at=request.nursery.now(), paper=_paper(request)
        )
    else:
        pdf = advise_parcel(number, paper=_paper(request))
    return _pdf(pdf, f"advice-{number}")


@require_safe
@says_why
def lot_advice(request: HttpRequest, code: str) -> HttpResponse:
    """Answer with the advice sheet for cuttings of one lot."""
    from ortet.work.papers.advice import advise

    pdf = advise([(code, _number(request, "count"))], to=request.GET.get("to", ""), paper=_paper(request))
    return _pdf(pdf, f"advice-{code}")


@require_safe
@says_why
def checklist(request: HttpRequest, number: int) -> HttpResponse:
    """Answer with what to ask before an order is posted, to be filled in by hand."""
    from ortet.work.papers.destination import Asked, destination_sheet

    asked = Asked(number, region=request.GET.get("region", ""), zone="zone" in request.GET)
    return _pdf(destination_sheet(asked, _paper(request)), f"ask-before-posting-{number}")


@require_safe
@says_why
def receipt(request: HttpRequest, number: int) -> HttpResponse:
    """Answer with a receipt as it was given out."""
    from ortet.work.papers.receipts import receipt_sheet

    return _pdf(receipt_sheet(number, _paper(request)), f"receipt-{number}")


@require_safe
@says_why
def papers(request: HttpRequest) -> HttpResponse:
    """Ask what to print; answer with it."""
    make = request.GET.get("make", "")
    given = request.GET.dict()
    # a link may name a lot or a parcel
    wood = {name: given[name] for name in ("lots", "parcel") if name in given}
    forms = {
        "passports": Passports(
            request.nursery, request.GET if make == "passports" else None, initial=wood, auto_id="passport_%s"
        ),
        "documents": SupplierDocuments(
            request.GET if make == "documents" else None, initial=wood, auto_id="document_%s"
        ),
        "destination": Destination(request.GET if make == "destination" else None, auto_id="to_%s"),
    }
    status, found = 200, None
    if make in forms:
        form = forms[make]
        try:
            if form.is_valid():
                if make != "destination":
                    return _wood_paper(make, form)
                from ortet.work.papers.destination import destination

                found = destination(form.asked())
            else:
                status = 422
        except Refused as error:
            form.add_error(None, str(error))
            status = 422
    seen = {
        "forms": forms,
        "found": found,
        "always": say(ALWAYS),
        "any": Lot.objects.exists(),
        "open": make,
    }
    return render(request, "papers.html", seen, status=status)


def _wood_paper(make: str, form: Passports | SupplierDocuments) -> HttpResponse:
    from ortet.work.papers.passports import passports, supplier_documents

    if make == "passports":
        return _pdf(passports(**form.asked()), "passports")
    return _pdf(supplier_documents(**form.asked()), "supplier-documents")
