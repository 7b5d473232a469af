"""What the counts say, as a grower looks at it."""

from datetime import UTC, datetime

import pytest

from ortet import work
from ortet.ledger.models import Plan, PlanKind
from ortet.work.evidence import outcomes, rate_of, rates, seasons
from tests.writing import write

pytestmark = pytest.mark.django_db

COUNTED = """
    2027-01-04 08:00  mother M1 Dusk blackcurrant
    2027-01-04 08:00  mother M2 Lantern gooseberry
    2027-01-04 08:00  place bench Mat
    2027-01-05 09:00  take M1 40 as L1
    2027-01-05 09:00  take M2 10 as L2
    2027-03-01 09:00  strike L1 40 from Bench as S1 on Mat
    2027-03-01 10:00  strike L2 10 from Bench as S2 on Mat
    2027-05-01 09:00  count S1 rooted=30 dead=10
    2027-05-01 09:00  count S2 rooted=2 dead=8
"""


def test_varieties_are_found_by_name_and_species_and_sorted(ada):
    write(COUNTED, ada)
    assert [row.variety for row in rates(sort="-share")[0]] == ["Dusk", "Lantern"]
    assert [row.variety for row in rates("gooseb")[0]] == ["Lantern"]
    with pytest.raises(work.Refused, match="not sorted by 'colour'"):
        rates(sort="colour")


def test_a_variety_is_told_with_its_batches(ada):
    write(COUNTED, ada)
    row, batches = rate_of("dusk")
    assert (row.rate.rooted, row.rate.struck, [one.name for one in batches]) == (30, 40, ["S1"])
    with pytest.raises(work.Unknown, match="No batch of 'Ember' was counted"):
        rate_of("Ember")


def test_the_plan_in_force_stands_beside_what_struck(ada):
    write(COUNTED, ada)
    said = {"takings": [{"variety": "Dusk", "use": "rooting", "strike": [0.85, 0.7, 0.95]}]}
    for day, share in ((1, 0.85), (9, 0.2)):  # the second came after the first batch was struck
        said["takings"][0]["strike"][0] = share
        at = datetime(2027, 2, 27 + day, tzinfo=UTC) if day == 1 else datetime(2027, 3, day, tzinfo=UTC)
        Plan.objects.create(kind=PlanKind.TAKE, at=at, by=ada, said=said)
    assert seasons() == [2027]
    told = {one.variety: one for one in outcomes(2027)}
    assert (told["Dusk"].planned, told["Dusk"].share) == (0.85, 0.75)
    assert told["Lantern"].planned is None


def test_an_empty_book_says_nothing(ada):
    assert rates()[0] == [] and seasons() == [] and outcomes(2027) == []
