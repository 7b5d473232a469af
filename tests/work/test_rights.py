"""A protected variety stops until a licence or an exemption is noted, and again when that ends."""

from datetime import UTC, date, datetime, timedelta

import pytest

from ortet import work
from ortet.ledger.models import Variety, Warrant
from ortet.work.rights import stopped, stops, warrant

AT = datetime(2027, 1, 10, 9, tzinfo=UTC)
TODAY = AT.date()


@pytest.fixture
def kept(ada):
    work.add_mother("M1", "Guarded", "grape", right="title 12 of Tarn Breeders")
    work.add_mother("M2", "Free", "grape")
    return Variety.objects.get(name="Guarded")


def test_a_right_without_a_warrant_stops_and_says_what_to_do(kept):
    why = stops(kept, TODAY)
    assert "title 12 of Tarn Breeders" in why
    assert "Ask the rights holder" in why
    assert "ortet warrant 'Guarded'" in why
    assert stopped(TODAY) == {kept.pk: why}
    assert stops(Variety.objects.get(name="Free"), TODAY) == ""


def test_a_licence_lets_it_go_until_its_last_day_or_until_it_ended(kept, ada):
    last = TODAY + timedelta(days=30)
    warrant("guarded", "licence", words="Tarn Breeders, no. 7, 500 a year", until=last, by=ada, at=AT)
    assert stops(kept, TODAY) == stops(kept, last) == ""
    assert "held until 9 Feb 2027" in stops(kept, last + timedelta(days=1))
    warrant("Guarded", "ended", by=ada, at=AT + timedelta(days=1))
    assert "ended" in stops(kept, TODAY)
    warrant("Guarded", "exemption", words="own trial", by=ada, at=AT + timedelta(days=2))
    assert stopped(TODAY) == {}


def test_a_right_whose_last_day_is_past_stops_nothing(kept):
    """EU Reg. 2100/94 Art. 19: other than vine or tree granted in 2001, to the end of 2026. [published, as stated in a register]"""
    kept.right_until = date(2026, 12, 31)
    kept.save()
    assert stops(kept, TODAY) == ""
    assert stops(kept, date(2026, 12, 31))


def test_wrong_words(kept, ada):
    for said, error in (
        (("Guarded", "licence"), "of whom"),
        (("Guarded", "gift"), "licence, exemption, ended"),
        (("Free", "licence"), "No right is noted"),
        (("Nameless", "licence"), "No variety"),
    ):
        with pytest.raises(work.Refused, match=error):
            warrant(*said, by=ada, at=AT)
    with pytest.raises(work.Refused, match="is past"):
        warrant("Guarded", "licence", words="x", until=date(2026, 1, 1), by=ada, at=AT)
    assert not Warrant.objects.exists()
