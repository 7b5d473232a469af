"""What to ask before wood goes somewhere: by where it goes, and never that it may."""

import pytest

from ortet.decisions.borders import ALWAYS, checklist, passport_needed, way_of


@pytest.mark.parametrize(
    ("is_trade", "at_a_distance", "zone", "needed"),
    [
        (False, True, False, True),  # a private customer orders by web
        (False, False, False, False),  # and collects at the gate
        (False, False, True, True),  # in a protected zone
        (True, False, False, True),  # a nursery
    ],
)
def test_who_needs_a_passport_in_the_union(is_trade, at_a_distance, zone, needed):
    """Regulation (EU) 2016/2031, Articles 79 to 81: final users need none, but for sales at a distance and for protected zones.
    [published; the application our own reading]"""
    need = passport_needed(is_trade=is_trade, at_a_distance=at_a_distance, zone=zone)
    assert need.needed is needed
    assert "plant-health authority" in need.why


@pytest.mark.parametrize(
    ("frm", "to", "more", "way"),
    [
        ("DE", "DE", {}, "inside"),
        ("DE", "FR", {}, "union"),
        ("IE", "XI", {}, "union"),  # Northern Ireland keeps the Union's rules [memory]
        ("DE", "FR", {"zone": True}, "zone"),
        ("GB", "GB", {}, "britain"),
        ("GB", "JE", {}, "britain"),
        ("GB", "GB", {"zone": True}, "free area"),
        ("GB", "XI", {}, "britain to northern ireland"),
        ("GB", "FR", {}, "britain to union"),
        ("FR", "GB", {}, "union to britain"),
        ("XI", "GB", {}, "northern ireland to britain"),  # within one customs territory [memory]
        ("XI", "FR", {}, "union"),
        ("DE", "CH", {}, "switzerland"),  # Agreement of 1999 on agricultural products, Annex 4 [memory]
        ("LI", "AT", {}, "switzerland"),
        ("CH", "LI", {}, "switzerland"),
        ("CH", "CH", {}, "same country"),
        ("CH", "GB", {}, "third country"),
        ("XI", "CH", {}, "third country"),
        ("US", "US", {"from_region": "CA", "to_region": "OR"}, "states"),
        ("US", "US", {"from_region": "CA", "to_region": "CA"}, "one state"),
        ("US", "US", {}, "states"),
        ("NO", "NO", {}, "same country"),
        ("NL", "US", {}, "third country"),
        ("US", "GB", {}, "third country"),
        ("", "FR", {}, "unknown"),
        ("FR", "", {}, "unknown"),
    ],
)
def test_the_way_follows_from_where_it_comes_and_goes(frm, to, more, way):
    assert way_of(frm, to, **more) == way
    found = checklist(frm, to, **more)
    assert found.way == way and found.questions
    for one in found.questions:
        assert one.ask.endswith("?") and one.whom and one.usual and one.source.endswith("]")
        assert " may go" not in one.usual.replace("may not go", "")


@pytest.mark.parametrize(
    ("frm", "to", "words"),
    [
        ("GB", "FR", "phytosanitary certificate"),  # ISPM 12 [published]
        ("NL", "US", "import permit"),
        ("DE", "FR", "plant passports"),
        ("GB", "GB", "UK plant passports"),
        ("AT", "CH", "plant passports"),
    ],
)
def test_each_way_asks_for_its_own_paper(frm, to, words):
    assert any(words in one.ask for one in checklist(frm, to).questions)


@pytest.mark.parametrize(("frm", "to"), [("XI", "GB"), ("DE", "CH"), ("DE", "FR"), ("GB", "GB")])
def test_no_certificate_is_asked_for_where_passports_do(frm, to):
    assert not any("certificate needed" in one.ask for one in checklist(frm, to).questions)


def test_everywhere_rights_and_records_are_asked_for_and_the_authority_decides():
    for way in (("DE", "DE"), ("NL", "US"), ("", "")):
        asked = " ".join(one.ask for one in checklist(*way).questions)
        assert "protected" in asked and "records" in asked
    assert "plant-health authority before you post" in ALWAYS and "permits nothing" in ALWAYS


def test_the_title_names_both_ends():
    assert (
        checklist("US", "US", from_region="CA", to_region="OR").title
        == "From United States CA to United States OR"
    )
    assert checklist("DE", "DE", zone=True).title == "Within Germany, into a protected zone"
    assert checklist("GB", "FR").title == "From Great Britain to France"
