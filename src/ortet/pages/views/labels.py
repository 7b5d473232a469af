"""Labels: choose lots, get a PDF. Nothing is booked, so whoever may read may print."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from ortet.ledger.models import Lot
from ortet.pages import known
from ortet.pages.forms.house import Labels, phones_reach
from ortet.pages.lacking import lacking
from ortet.work import Refused, lists

__all__ = ["labels"]


def _few(request: HttpRequest, chosen: set[int]) -> bool:
    """Whether a link named the lots to print, so that no others need be shown."""
    return bool(chosen) and not any(name in request.GET for name in ("among", "search", "every"))


def _listed(request: HttpRequest) -> tuple[list[Lot], set[int]]:
    """Return the lots to choose from, those named first, and which are chosen."""
    named = [lot for text in request.GET.getlist("lot") if (lot := known.lot_or_none(text))]
    chosen = {lot.pk for lot in named}
    if _few(request, chosen):
        return list(lists.lots().filter(pk__in=chosen)), chosen
    found = lists.lots(request.GET.get("search", ""), on_hand=True)
    return [*lists.lots().filter(pk__in=chosen), *(lot for lot in found if lot.pk not in chosen)], chosen


def _pdf(request: HttpRequest, form: Labels, lots: list[Lot], chosen: set[int]) -> HttpResponse:
    from ortet.work.labels import labels as print_labels

    said = form.cleaned_data
    wanted = [lot.code for lot in lots if said["every"] or lot.pk in chosen]
    pdf = print_labels(
        wanted, kind=said["kind"], paper=said["paper"], skip=said["skip"] or 0, each=said["each"]
    )
    name = f"{said['kind']}-labels-{request.nursery.now():%Y-%m-%d}.pdf"
    return HttpResponse(
        pdf, content_type="application/pdf", headers={"Content-Disposition": f'attachment; filename="{name}"'}
    )


@require_safe
def labels(request: HttpRequest) -> HttpResponse:
    """Ask which labels; answer with them."""
    lots, chosen = _listed(request)
    form, status = Labels(request.nursery, request.GET), 200
    if form.is_bound:
        try:
            if form.is_valid():
                return _pdf(request, form, lots, chosen)
        except Refused as error:
            form.add_error(None, str(error))
        status = 422
    seen = {
        "form": form,
        "lots": lots,
        "chosen": chosen,
        "few": _few(request, chosen),
        "search": request.GET.get("search", ""),
        "lack": lacking("lot"),
        "unreachable": not phones_reach(request.nursery.address),
    }
    return render(request, "labels.html", seen, status=status)
