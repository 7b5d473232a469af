"""Photos: the file as it was kept, and nothing that a browser could run."""

from uuid import UUID

from django.http import FileResponse, Http404, HttpRequest
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_safe

from ortet.ledger.models import Photo
from ortet.wood.speech import say
from ortet.work.remarks import file_of

__all__ = ["photo"]


@require_safe
def photo(request: HttpRequest, id: UUID) -> FileResponse:
    """Answer with a photo."""
    kept = get_object_or_404(Photo, pk=id)
    try:
        file = file_of(kept).open("rb")
    except FileNotFoundError:
        raise Http404(say("The photo's file is gone: `ortet check` lists such.")) from None
    return FileResponse(
        file,
        content_type="image/jpeg",
        headers={
            "Content-Security-Policy": "default-src 'none'; sandbox",
            "X-Content-Type-Options": "nosniff",
            "Cache-Control": "private, max-age=31536000, immutable",
            "Content-Disposition": f'inline; filename="{kept.name}"',
        },
    )
