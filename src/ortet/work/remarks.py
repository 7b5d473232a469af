"""Deeds that say or show how something is: a note, a photo. Photos lie as files beside the book."""

import hashlib
import os
import warnings
from datetime import datetime
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import UUID

from django.conf import settings
from django.contrib.auth.models import User
from uuid_utils.compat import uuid7

from ortet.ledger.booking import Refused, Unknown, created, turn
from ortet.ledger.models import Kind, Lot, Note, Photo, Place
from ortet.ledger.places import ON_HAND
from ortet.wood.speech import say

from . import find

if TYPE_CHECKING:
    from PIL.Image import Image

__all__ = ["MOST_BYTES", "SIDE", "file_of", "misplaced", "note", "photograph"]

SIDE = 1600  # px: the longer side of a photo as it is kept
MOST_BYTES = 12_000_000  # of a photo as it comes
MOST_PIXELS = 60_000_000
QUALITY = 82


def _about(lot: str | None, place: str | None, nothing: str) -> tuple[Lot | None, Place | None]:
    if not lot and not place:
        raise Refused(nothing)
    return (find.lot(lot) if lot else None), (_place(place) if place else None)


def _place(text: str) -> Place:
    """Return a place of one's own, else the sender of a parcel."""
    try:
        return find.place(text, *ON_HAND, Kind.SITE)
    except Unknown:
        if sender := Place.objects.filter(kind=Kind.SENDER, code=text).first():
            return sender
        raise


def note(
    words: str,
    *,
    by: User,
    at: datetime,
    lot: str | None = None,
    place: str | None = None,
    id: UUID | None = None,
) -> Note:
    """Note words about a lot, a place, or a lot in a place.

    Raises
    ------
    Refused
        If nothing is said, or about nothing.
    """
    with turn():
        if id and (before := Note.objects.filter(pk=id).first()):
            return before
        what, where = _about(lot, place, say("Say which lot or place the note is about. Nothing was booked."))
        if not words.strip():
            raise Refused(say("The note says nothing: write a few words. Nothing was booked."))
        return created(Note, id=id or uuid7(), lot=what, place=where, by=by, at=at, note=words.strip())


def file_of(photo: Photo) -> Path:
    """Return where a photo's file lies."""
    return settings.FOLDER / "photos" / photo.name


def photograph(
    picture: bytes,
    *,
    by: User,
    at: datetime,
    lot: str | None = None,
    place: str | None = None,
    note: str = "",
    id: UUID | None = None,
) -> Photo:
    """Keep a photo of a lot or a place: drawn anew at most `SIDE` pixels long, so that nothing but the picture stays in it.

    Parameters
    ----------
    picture
        A JPEG, PNG or WebP file as the camera made it.

    Raises
    ------
    Refused
        If it is no such picture, or too large, or of nothing.
    """
    with turn():
        if id and (before := Photo.objects.filter(pk=id).first()):
            return before
        what, where = _about(
            lot, place, say("Say which lot or place the photo is about. Nothing was booked.")
        )
        kept, size = _drawn_anew(picture)
        key = id or uuid7()
        photo = Photo(name=f"{key}.jpg")
        _write(file_of(photo), kept)  # before its row: a row without a file would be a photo lost
        return created(
            Photo,
            id=key,
            lot=what,
            place=where,
            name=photo.name,
            sha256=hashlib.sha256(kept).hexdigest(),
            width=size[0],
            height=size[1],
            by=by,
            at=at,
            note=note,
        )


def _drawn_anew(picture: bytes) -> tuple[bytes, tuple[int, int]]:
    """Return a picture turned upright, scaled, without anything that the camera wrote beside it, and its size. [px]"""
    from PIL import Image, ImageOps, UnidentifiedImageError

    if len(picture) > MOST_BYTES:
        raise Refused(
            say(
                "A photo of {size:.0f} MB: {most_bytes:.0f} MB at most. Make it smaller. Nothing was booked.",
                size=len(picture) / 1e6,
                most_bytes=MOST_BYTES / 1e6,
            )
        )
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)  # the size is looked at below
            with Image.open(BytesIO(picture), formats=("JPEG", "PNG", "WEBP")) as opened:
                _refuse_too_large(opened)
                opened.draft("RGB", (SIDE, SIDE))
                upright = ImageOps.exif_transpose(opened).convert("RGB")
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        if isinstance(error, Refused):
            raise
        raise Refused(
            say("This is no photo that can be read: take it again, as JPEG, PNG or WebP. Nothing was booked.")
        ) from None
    upright.thumbnail((SIDE, SIDE))
    out = BytesIO()
    # a new image: what was written beside the old one (place, time, camera, a second picture) does not come along
    clean = Image.new("RGB", upright.size)
    clean.paste(upright)
    clean.save(out, "JPEG", quality=QUALITY, optimize=True, progressive=True)
    return out.getvalue(), clean.size


def _refuse_too_large(opened: "Image") -> None:
    if opened.width * opened.height > MOST_PIXELS:
        raise Refused(
            say(
                "A photo of {width} × {height} pixels is larger than {most_pixels:.0f} million: make it smaller. Nothing was "
                "booked.",
                width=opened.width,
                height=opened.height,
                most_pixels=MOST_PIXELS / 1e6,
            )
        )


def _write(path: Path, content: bytes) -> None:
    """Write a file that is there whole or not at all, readable by its owner only."""
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    half = path.with_name(f"{path.name}.{os.getpid()}")
    with os.fdopen(os.open(half, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    os.replace(half, path)


def misplaced() -> list[tuple[str, str]]:
    """Return each photo whose file is gone or another, and which of the two it is."""
    wrong = []
    for photo in Photo.objects.iterator():
        try:
            there = hashlib.sha256(file_of(photo).read_bytes()).hexdigest()
        except OSError:
            gone = say("its file is not in the folder photos beside the book")
            wrong.append((say("photo {name}", name=photo.name), gone))
            continue
        if there != photo.sha256:
            another = say("its file is not the one that was kept")
            wrong.append((say("photo {name}", name=photo.name), another))
    return wrong
