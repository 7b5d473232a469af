"""Calendar files against RFC 5545, read back by vobject, which wrote none of it. [published]"""

import re
from datetime import UTC, date, datetime
from uuid import UUID

import pytest
import vobject
from hypothesis import given
from hypothesis import strategies as st

from ortet.tables.calendar import Entry, calendar

pytestmark = pytest.mark.once
BOOK = UUID("019c4c55-6a00-7000-8000-000000000000")
AT = datetime(2026, 11, 28, 9, 30, 15, 250, tzinfo=UTC)
DAY = date(2026, 12, 10)


def lines(made: bytes) -> list[str]:
    """Return the content lines, unfolded (3.1): a line break followed by one blank is nothing."""
    return made.decode("utf-8").replace("\r\n ", "").removesuffix("\r\n").split("\r\n")


def written(*entries: Entry, **more: object) -> bytes:
    return calendar("Ortet: Hill", entries, book=BOOK, at=AT, **more)


def against_the_rules(made: bytes) -> list[str]:
    """Return what RFC 5545 forbids: sections 3.1 (lines), 3.3.4 (dates), 3.6 (what a component must hold)."""
    wrong = []
    for line in made.split(b"\r\n"):
        if len(line) > 75:
            wrong.append(f"3.1: {len(line)} octets")
        if b"\n" in line or b"\r" in line:
            wrong.append("3.1: a line break that is none")
    for line in lines(made):
        name, _, value = line.partition(":")
        if (
            re.fullmatch(r"\d{8}", value)
            and "VALUE=DATE" not in name.split(";")[1:]
            and name[:2] in ("DT", "DU")
        ):
            wrong.append(f"erratum 3892: {line}")
    whole = vobject.readOne(made.decode("utf-8"))
    wrong += [f"3.6: no {needed}" for needed in {"version", "prodid"} - whole.contents.keys()]
    for one in whole.components():
        if {"uid", "dtstamp"} - one.contents.keys():
            wrong.append("3.6.1: no UID or no DTSTAMP")
        try:
            one.validate(raiseException=True)
        except vobject.base.ValidateError as error:
            wrong.append(str(error))
    return wrong


def test_a_whole_day_is_written_as_a_date_and_ends_on_the_next():
    """Rows 83 and 85 of the standards notes: erratum 3892; RFC 5545 3.6.1, DTEND is the day after."""
    made = written(Entry("a", DAY, DAY, "Post order 3"))
    assert "DTSTART;VALUE=DATE:20261210" in lines(made) and "DTEND;VALUE=DATE:20261211" in lines(made)
    assert against_the_rules(made) == []
    (event,) = vobject.readOne(made.decode()).vevent_list
    assert (event.dtstart.value, event.dtend.value) == (DAY, date(2026, 12, 11))


def test_a_date_without_its_mark_is_seen_by_these_rules():
    """Row 83: DTSTART:20261201 is invalid without VALUE=DATE."""
    wrong = written(Entry("a", date(2026, 12, 1), date(2026, 12, 1), "x")).replace(b";VALUE=DATE", b"")
    assert any("erratum 3892: DTSTART:20261201" in said for said in against_the_rules(wrong))


def test_long_lines_are_folded_at_75_octets_and_unfold_to_the_same():
    """Row 84: `Étiqueter ` twelve times; the letter is two octets, and no fold may part them."""
    title = ("Étiqueter " * 12).strip()
    made = written(Entry("a", DAY, DAY, title))
    assert max(map(len, made.split(b"\r\n"))) <= 75
    assert f"SUMMARY:{title}" in lines(made) and made.count(b"\r\n ") >= 1


@pytest.mark.parametrize("name", ["a;b", "a,b", "a\\b", "‘Dusk’ 50 %: 3, 4; 5\\6"])
def test_marks_that_mean_something_are_escaped(name):
    """RFC 5545, 3.3.11."""
    made = written(Entry("a", DAY, DAY, name, f"{name}\nsecond line"))
    escaped = re.sub(r"([\\;,])", r"\\\1", name)
    assert f"SUMMARY:{escaped}" in lines(made)
    assert f"DESCRIPTION:{escaped}\\nsecond line" in lines(made)


words = st.text(st.characters(exclude_categories=["Cc", "Cs"]), min_size=1, max_size=200).filter(str.strip)


@given(words, words, st.dates(date(2000, 1, 1), date(2100, 1, 1)), st.integers(0, 60), st.booleans())
def test_whatever_is_said_comes_back(title, said, first, days, to_do):
    last = date.fromordinal(first.toordinal() + days)
    entry = Entry("k", first, last, title, said, "task", to_do)
    made = written(entry, tasks_apart=True)
    assert against_the_rules(made) == []
    whole = vobject.readOne(made.decode())
    (one,) = whole.vtodo_list if to_do else whole.vevent_list
    assert one.summary.value == " ".join(title.split())
    assert one.description.value == said
    assert one.due.value == last if to_do else one.dtstart.value == first


def test_the_same_thing_keeps_its_identifier_when_its_day_moves():
    (before, after), other = (
        (
            [line for line in lines(written(Entry(key, DAY, day, "x"))) if line.startswith("UID:")]
            for key, day in (("posting 1 of order 3", DAY), ("posting 1 of order 3", date(2026, 12, 12)))
        ),
        [
            line
            for line in lines(written(Entry("posting 1 of order 4", DAY, DAY, "x")))
            if line.startswith("UID:")
        ],
    )
    assert before == after != other


def test_its_moment_is_in_utc_and_whole_seconds():
    """RFC 5545, 3.8.7.2: DTSTAMP is UTC; 3.3.5 knows no split seconds."""
    assert "DTSTAMP:20261128T093015Z" in lines(written(Entry("a", DAY, DAY, "x")))


def test_a_to_do_has_a_day_it_is_due_and_no_duration():
    """RFC 5545, 3.6.2: either DUE or DURATION."""
    made = written(Entry("a", DAY, DAY, "Weigh", to_do=True), tasks_apart=True)
    (one,) = vobject.readOne(made.decode()).vtodo_list
    assert (
        one.due.value == DAY and "duration" not in one.contents and "DUE;VALUE=DATE:20261210" in lines(made)
    )
    assert b"BEGIN:VEVENT" in written(Entry("a", DAY, DAY, "Weigh", to_do=True))


def test_letters_that_no_text_may_hold_are_left_out():
    """RFC 5545, 3.1: a text holds no control character but a tab; a line break in it is written as \\n (3.3.11)."""
    made = calendar(
        "Hill\x07", [Entry("a", DAY, DAY, "K\x001 \x7f", "a\x1b\tb\r\nc\rd", "x\x08")], book=BOOK, at=AT
    )
    assert not re.search(rb"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]", made)
    assert against_the_rules(made) == []
    assert {"NAME:Hill", "SUMMARY:K1 ", "DESCRIPTION:a\tb\\nc\\nd", "CATEGORIES:x"} <= {*lines(made)}


def test_no_hour_needs_a_time_zone_and_no_sequence_an_organizer():
    """RFC 5545, 3.6.5: a VTIMEZONE for each TZID, and there is none; 3.8.7.2: without a METHOD, DTSTAMP is the last revision."""
    made = written(Entry("a", DAY, DAY, "x"), Entry("b", DAY, DAY, "y", to_do=True), tasks_apart=True)
    names = [re.split("[:;]", line)[0] for line in lines(made)]
    assert (
        {"METHOD", "SEQUENCE", "TZID"}.isdisjoint(names) and b"VTIMEZONE" not in made and b"TZID" not in made
    )
    assert names.count("UID") == names.count("DTSTAMP") == 2


def test_an_entry_that_would_end_before_it_begins_is_refused():
    with pytest.raises(ValueError, match="before it begins"):
        Entry("a", DAY, date(2026, 12, 9), "x")


def test_an_empty_calendar_is_still_one():
    made = written()
    assert lines(made)[0] == "BEGIN:VCALENDAR" and lines(made)[-1] == "END:VCALENDAR"
    assert vobject.readOne(made.decode()).version.value == "2.0"
