"""The whole book as a file, for the grower alone."""

import tempfile

from django.core.exceptions import PermissionDenied
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from ortet.work import Refused

__all__ = ["archive"]


@never_cache
@require_safe
def archive(request: HttpRequest) -> HttpResponse:
    """Answer with the book's archive; it holds all that the book holds, so nobody else gets it."""
    from ortet.work.archive import archive as write

    if request.phone or not request.user.is_superuser:
        raise PermissionDenied
    out = tempfile.TemporaryFile()  # noqa: SIM115 - the answer closes it
    try:
        write(out)
    except Refused as error:
        out.close()
        return render(request, "refused.html", {"why": str(error)}, status=422)
    out.seek(0)
    name = f"book-{request.nursery.now():%Y-%m-%d}.zip"
    return FileResponse(out, as_attachment=True, filename=name, content_type="application/zip")
