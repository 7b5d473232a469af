"""Notes and photos: booked once, said of something, and of a photo nothing kept but the picture."""

import hashlib
import io
from datetime import UTC, datetime

import pytest
from PIL import Image
from uuid_utils.compat import uuid7

from ortet import work
from ortet.ledger.models import Note, Photo
from ortet.work import Refused, remarks
from ortet.work.check import check
from ortet.work.lots import view
from tests.writing import a_photo, write

BOOK = """
    2027-01-04 08:00  mother M1 Dusk blackcurrant
    2027-01-04 08:00  place store North
    2027-01-04 08:00  place store South
    2027-01-05 09:00  take M1 40 as L1
    2027-01-05 11:00  bag L1 30 into K1 at North
"""
AT = datetime(2027, 1, 6, 9, tzinfo=UTC)


@pytest.fixture
def book(ada):
    return write(BOOK, ada)


@pytest.fixture(autouse=True)
def folder(settings, tmp_path):
    """Keep photos apart for each test."""
    settings.FOLDER = tmp_path
    return tmp_path / "photos"


def with_position() -> bytes:
    """Return a photo in whose EXIF a position and a camera stand, turned a quarter."""
    exif = Image.Exif()
    exif[0x010F], exif[0x0112] = (
        "Hedge Cameras",
        6,
    )  # maker; to be shown turned by 90° (EXIF 2.3, table 4) [published]
    exif.get_ifd(0x8825)[1] = "N"  # GPSLatitudeRef [published]
    exif.get_ifd(0x8825)[2] = (50.0, 5.0, 1.0)
    return a_photo(400, 300, exif.tobytes())


def test_a_note_sent_twice_is_noted_once(book, ada):
    key = uuid7()
    for _ in range(2):
        work.note("  two shoots bent ", lot="L1", place="K1", by=ada, at=AT, id=key)
    assert Note.objects.get().note == "two shoots bent"
    assert next(event.what for event in view("L1").events) == "noted in K1"


@pytest.mark.parametrize(
    ("words", "about", "sentence"),
    [
        (" ", {"lot": "L1"}, "says nothing"),
        ("bent", {}, "which lot or place"),
        ("bent", {"lot": "L9"}, "no lot marked 'L9'"),
        ("bent", {"place": "K9"}, "called 'K9'"),
    ],
)
def test_a_note_of_nothing_is_refused(words, about, sentence, book, ada):
    with pytest.raises(Refused, match=sentence):
        work.note(words, by=ada, at=AT, **about)
    assert not Note.objects.exists()


def test_nothing_but_the_picture_is_kept_of_a_photo(book, ada):
    """EXIF 2.3 (JEITA CP-3451C): position, maker and orientation stand in APP1 segments. [published]"""
    came = with_position()
    assert b"Hedge Cameras" in came
    with Image.open(io.BytesIO(came)) as before:
        assert before.getexif().get_ifd(0x8825)
    photo = work.photograph(came, place="K1", by=ada, at=AT)
    kept = remarks.file_of(photo).read_bytes()
    with Image.open(io.BytesIO(kept)) as after:
        assert after.format == "JPEG" and not after.getexif() and "exif" not in after.info
        assert after.size == (photo.width, photo.height) == (300, 400)  # upright now
        top, bottom = after.getpixel((150, 40)), after.getpixel((150, 360))
    assert top[1] > top[0] and bottom[0] > bottom[1]  # what was left is above: a quarter to the right
    assert b"Exif" not in kept and b"Hedge" not in kept
    assert photo.sha256 == hashlib.sha256(kept).hexdigest()


def test_a_large_photo_is_scaled(book, ada):
    photo = work.photograph(a_photo(4000, 1000), lot="L1", by=ada, at=AT)
    assert (photo.width, photo.height) == (remarks.SIDE, 400)


@pytest.mark.parametrize(
    "wrong",
    [
        b"",
        b"<script>alert(1)</script>",
        b"GIF89a" + bytes(40),
        a_photo()[:200],
        b"%PDF-1.4",
        b"\xff\xd8\xff\xe0" + bytes(90),
    ],
)
def test_what_is_no_photo_is_refused_and_not_kept(wrong, book, ada, folder):
    with pytest.raises(Refused, match="no photo that can be read"):
        work.photograph(wrong, place="K1", by=ada, at=AT)
    assert not Photo.objects.exists() and not folder.exists()


def test_a_photo_that_unfolds_to_a_field_is_refused(book, ada):
    """A few kB of PNG may hold gigapixels."""
    out = io.BytesIO()
    Image.new("1", (12_000, 12_000)).save(out, "PNG")
    assert len(out.getvalue()) < 100_000
    with pytest.raises(Refused, match="larger than 60 million"):
        work.photograph(out.getvalue(), place="K1", by=ada, at=AT)


def test_a_photo_sent_twice_is_kept_once(book, ada, folder):
    key = uuid7()
    first, again = (work.photograph(a_photo(), place="K1", by=ada, at=AT, id=key) for _ in range(2))
    assert first == again and len(list(folder.iterdir())) == 1
    assert (folder / first.name).stat().st_mode & 0o777 == 0o600


def test_the_recount_misses_a_photo_that_was_taken_away_or_changed(book, ada, folder):
    photos = [work.photograph(a_photo(40 + n, 30), place="K1", by=ada, at=AT) for n in range(3)]
    assert check()[0] == []
    (folder / photos[0].name).unlink()
    (folder / photos[1].name).write_bytes(a_photo())
    assert [str(fault.message) for fault in check()[0]] == [
        "its file is not in the folder photos beside the book",
        "its file is not the one that was kept",
    ]


def test_a_note_that_was_withdrawn_no_longer_counts(book, ada):
    noted = work.note("wrong bag", place="K1", by=ada, at=AT)
    work.withdraw(noted.pk, by=ada, at=AT, note="was K2")
    from ortet.work.places import view as place_view

    (event,) = place_view("K1").remarks
    assert event.is_void and not event.is_open


def test_a_bag_that_another_moved_meanwhile_is_not_moved_from_where_it_is_not(book, ada):
    key = uuid7()
    work.stand("K1", "South", from_store="North", by=ada, at=AT, id=key)
    assert work.stand("K1", "South", from_store="North", by=ada, at=AT, id=key).pk == key
    work.add_place("East", "store")
    with pytest.raises(
        Refused, match="was to go from North to East, but since 6 Jan 2027 09:00 it stands in South, by ada"
    ):
        work.stand("K1", "East", from_store="North", by=ada, at=AT.replace(hour=10))
    work.stand("K1", "East", from_store="South", by=ada, at=AT.replace(hour=10))
