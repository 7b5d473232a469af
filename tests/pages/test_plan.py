"""The plan, by page: what needs a decision, choices by hand, the benches looked at otherwise."""

import csv
import io
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from uuid import uuid4

import numpy as np
import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode

from ortet import work
from ortet.ledger.climate import add_readings
from ortet.ledger.models import Nursery, Pick, Place, Plan, Slot
from ortet.pages.views.plan_drawing import risk_word
from ortet.work.benches import set_up_bench
from ortet.work.nursery import plan_with
from ortet.work.orders import Line, cancel, limit, order, want
from ortet.work.plan.shown import posts_of
from ortet.work.plan.whole import plan_season

from .test_deeds import sent

pytestmark = pytest.mark.usefixtures("season_kept")

AT = datetime(2027, 2, 12, 7, tzinfo=UTC)
FROM, UNTIL = date(2027, 2, 15), date(2027, 3, 15)
PAGES = (
    "/plan",
    "/plan/benches",
    "/plan/benches/look",
    "/plan/take.csv",
    "/plan/who.csv",
    "/plan/benches.csv",
)
DEEDS = ("plan-season", "give", "set-batch", "let-choose")


@pytest.fixture
def wished(book, ada):
    """Wishes for what the small season holds, and a bench for it."""
    set_up_bench("Shelf", 60, air_c=10, heats=(18, 24), by=ada, at=AT)
    plan_with(country="DE", last_frost="05-15", kwh_price=Decimal("0.30"))
    order("Tarn Mill", [Line("Dusk", 12, FROM, UNTIL, price=Decimal(2))], by=ada, at=AT)
    want("Dusk", 9, by=ada, at=AT)
    want("Lantern", 60, by=ada, at=AT, purpose="reserve")
    limit("M2", 25, by=ada, at=AT)
    return book


@pytest.fixture
def planned(wished, ada):
    """The season planned, in the grower's own zone."""
    with timezone.override(Nursery.get().tz):
        return plan_season(by=ada, now=AT)


def plans() -> int:
    return Plan.objects.count()


@pytest.mark.parametrize("path", PAGES)
def test_who_may_look(planned, at_desk, ben_at_desk, path):
    assert at_desk.get(path).status_code == 200
    assert ben_at_desk.get(path).status_code == 200
    assert at_desk.post(path).status_code == 405
    assert Client(REMOTE_ADDR="192.0.2.1").get(path)["Location"].startswith(reverse("sign-in"))


@pytest.mark.parametrize("deed", DEEDS)
def test_who_may_plan(planned, at_desk, ben_at_desk, deed):
    before = plans()
    assert at_desk.get(reverse(deed)).status_code == 200
    assert at_desk.put(reverse(deed)).status_code == 405
    assert ben_at_desk.post(reverse(deed), {"id": str(uuid4())}).status_code == 403
    assert Client(REMOTE_ADDR="192.0.2.1").get(reverse(deed))["Location"].startswith(reverse("sign-in"))
    assert plans() == before


def test_who_may_only_read_finds_nothing_to_press(planned, ben_at_desk):
    for path in ("/plan", "/plan/benches"):
        assert "/do/" not in ben_at_desk.get(path).content.decode(), path


def test_the_season_is_planned_by_one_press_and_two_count_once(wished, at_desk):
    said = {"sure": "0.9", "id": str(uuid4())}
    answer = sent(at_desk, "plan-season", said)
    assert answer.url == "/plan" and plans() == 4
    assert "The season is planned. 1 wish goes short." in at_desk.get("/plan").content.decode()
    assert sent(at_desk, "plan-season", said).url == "/plan" and plans() == 4


def test_what_needs_a_decision_stands_first_with_its_reason_and_its_way_out(planned, at_desk):
    answer = at_desk.get("/plan")
    page = answer.content.decode()
    assert [one.wish for one in answer.context["plan"].short] == ["target 2"]
    assert "Target 2</a>, reserve to sell from: Lantern goes" in page
    assert page.index("Lantern goes") < page.index('id="take"') < page.index('id="who"')
    assert f"{reverse('give')}?wish=target+2&amp;count=" in page
    # no weather is recorded where the mother plants stand: no day can be found, and the page says why
    assert "No day to post" in page and "No weather is recorded" in page
    assert "/do/take?accession=M2&amp;count=5&amp;use=rooting" in page
    slot = Slot.objects.get()
    strike = f"/do/strike?lot={slot.lot.code}&amp;from={slot.place.code}&amp;bench={slot.bench.code}&amp;count={slot.count}"
    assert strike in page
    form = at_desk.get(strike.replace("&amp;", "&")).content.decode()
    assert f'value="{slot.count}"' in form and "Shelf" in form


def test_contradictory_wishes_are_named_and_nothing_is_planned(wished, ada, at_desk):
    limit("M2", 0, by=ada, at=AT)
    work.give_up("L3", 12, from_place="K3", by=ada, at=AT)
    work.give_up("L3", 8, from_place="Bench", by=ada, at=AT)
    answer = sent(at_desk, "plan-season", {"sure": "0.9"})
    page = answer.content.decode()
    assert answer.status_code == 422 and plans() == 0
    assert "target 2" in page and "M2" in page and 'role="alert"' in page


def test_today_leads_to_forms_that_are_filled_in(planned, at_desk):
    slot = Slot.objects.get()
    page = at_desk.get("/").content.decode()
    assert "/do/take?accession=M2&amp;count=5&amp;use=rooting" in page
    strike = {"lot": slot.lot.code, "from": slot.place.code, "bench": slot.bench.name, "count": slot.count}
    strike |= {} if slot.base_c is None else {"base_c": f"{slot.base_c:g} °C"}
    assert f"/do/strike?{urlencode(strike)}".replace("&", "&amp;") in page
    form = at_desk.get(f"/do/strike?{urlencode(strike)}").context["form"]
    assert form["bench"].value() == slot.bench.name and str(slot.count) == form["count"].value()


def test_what_changed_since_is_told(planned, at_desk, ada):
    assert "has changed since" not in at_desk.get("/plan").content.decode()
    want("Dusk", 3, by=ada, at=AT, purpose="grafts")
    cancel("target 2", at=AT)
    work.give_up("L3", 1, from_place="K3", by=ada, at=AT + timedelta(minutes=5))
    page = at_desk.get("/plan").content.decode()
    assert "Noted: target 3; no longer wanted: target 2; 1 movement. Plan the season anew" in page


def test_the_files_hold_what_the_plan_holds(planned, at_desk):
    def rows(path):
        return list(csv.DictReader(io.StringIO(at_desk.get(path).content.decode())))

    assert [(row["mother plant"], row["count"]) for row in rows("/plan/take.csv")] == [("M2", "5")]
    who = rows("/plan/who.csv")
    assert sum(int(row["count"]) for row in who if row["wish"] == "order 1/1") == 12
    assert {row["short"] for row in who if row["wish"] == "order 1/1"} == {"0"}
    (slot,) = rows("/plan/benches.csv")
    assert (slot["bench"], slot["count"]) == ("Shelf", str(Slot.objects.get().count))


def test_wood_is_given_by_hand_kept_and_given_back(planned, at_desk):
    pick = Pick.objects.filter(line__isnull=False).latest("pk")
    page = at_desk.get(
        reverse("give"),
        {
            "wish": "order 1/1",
            "lot": pick.lot.code,
            "from": pick.place.code,
            "count": pick.count,
            "instead": pick.pk,
        },
    ).content.decode()
    own = f"{pick.lot.code}:{pick.place.code}"
    assert f'value="{own}"' in page and "checked" in page and "Lantern" not in page.split("<form")[1]
    said = {"wish": "1/1", "wood": own, "count": "5", "day": "2027-03-04", "instead": str(pick.pk)}
    answer = sent(at_desk, "give", said)
    assert answer.url == "/plan#who"
    chosen = Pick.objects.filter(by_hand=True).latest("pk")
    assert (chosen.count, chosen.lot, str(chosen.line)) == (5, pick.lot, "order 1/1")
    page = at_desk.get("/plan").content.decode()
    assert "by hand" in page and f"{reverse('let-choose')}?pick={chosen.pk}" in page
    sent(at_desk, "plan-season", {"sure": "0.9"})
    again = Pick.objects.filter(by_hand=True).latest("pk")
    assert again.pk != chosen.pk and (again.count, again.day) == (chosen.count, chosen.day)
    form = at_desk.get(reverse("let-choose"), {"pick": again.pk}).content.decode()
    assert "5 of lot L1 for order 1/1 was chosen by hand" in form
    assert sent(at_desk, "let-choose", {"pick": again.pk}).url == "/plan#who"
    latest = Plan.objects.filter(kind="allot").latest("id")
    assert not latest.picks.filter(by_hand=True).exists()


def test_wood_still_to_be_taken_is_offered_and_given(planned, at_desk):
    taken = Pick.objects.get(mother__accession="M2")
    page = at_desk.get("/plan").content.decode()
    assert f"mother=M2&amp;count={taken.count}" in page
    asked = {"wish": str(taken.target), "mother": "M2", "count": 2, "instead": taken.pk}
    form = at_desk.get(reverse("give"), asked).content.decode()
    assert 'value="take:M2"' in form and "checked" in form.split('value="take:M2"')[1][:80]
    said = {"wish": str(taken.target), "wood": "take:M2", "count": "2", "day": "2027-03-04"}
    assert sent(at_desk, "give", said).url == "/plan#who"
    chosen = Pick.objects.get(by_hand=True)
    assert (chosen.mother.accession, chosen.count) == ("M2", 2)
    form = at_desk.get(reverse("let-choose"), {"pick": chosen.pk}).content.decode()
    assert "2 of the wood to take from M2" in form


def test_wood_for_an_order_is_picked_in_its_window(planned, at_desk):
    page = at_desk.get(reverse("give"), {"wish": "1/1"}).content.decode()
    assert 'value="2027-02-15"' in page and "Posted 15 Feb to 15 Mar 2027." in page
    assert 'value="2027-02-12"' in at_desk.get(reverse("give"), {"wish": "target 1"}).content.decode()


@pytest.mark.parametrize(
    ("deed", "said", "sentence"),
    [
        ("give", {"wish": "9/1"}, "nothing of that name is still wanted"),
        ("give", {"wood": "nothing:there"}, "That wood is not on hand"),
        ("give", {"count": "31"}, "31 of lot"),
        ("give", {"count": "0"}, "greater than or equal to 1"),
        ("give", {"day": "2027-01-01"}, "is past"),
        ("set-batch", {"where": "none:12"}, "Select a valid choice"),
        ("set-batch", {"lot": "L9"}, "There is no lot"),
        ("set-batch", {"lot": "L3", "from_place": "K3"}, "allotted to own plants"),
        ("set-batch", {"start": "2029-01-01"}, "weeks 1 to 16"),
        ("let-choose", {}, "Come here from the plan"),
        ("let-choose", {"pick": "999999"}, "no such pick"),
        ("let-choose", {"slot": "999999"}, "no such batch"),
    ],
)
def test_what_cannot_be_is_refused_with_its_sentence(planned, at_desk, deed, said, sentence):
    slot = Slot.objects.get()
    wood = Pick.objects.filter(line__isnull=False).latest("pk")
    usual = {
        "give": {"wish": "1/1", "wood": f"{wood.lot.code}:{wood.place.code}", "count": "5", "day": "2027-03-04"},
        "set-batch": {"lot": "L1", "from_place": slot.place.name, "where": f"{slot.bench.code}:18", "start": "2027-03-01"},
        "let-choose": {},
    }[deed]  # fmt: skip
    before = plans()
    answer = sent(at_desk, deed, usual | said)
    assert answer.status_code == 422 and plans() == before
    assert sentence in answer.content.decode().replace("&#x27;", "'")


def look(client, **said):
    slot = Slot.objects.latest("pk")
    asked = {
        "batch": f"{slot.lot.code}:{slot.place.code}",
        "where": f"{slot.bench.code}:{slot.base_c:g}",
        "start": slot.start.isoformat(),
    }
    return client.get("/plan/benches/look", asked | said)


def test_a_batch_is_looked_at_otherwise_and_the_choice_kept(planned, at_desk):
    slot = Slot.objects.get()
    as_planned = look(at_desk).content.decode()
    assert ": as planned." in as_planned and "Keep this" not in as_planned
    cold = look(at_desk, where=f"{slot.bench.code}:18", start="2027-03-01")
    page = cold.content.decode()
    assert "<html" not in page, "a part of a page, to be put into one"
    assert "Keep this" in page and "As planned" in page and "1 Mar 2027" in page
    assert cold.context["now"]["roots"] > cold.context["planned"]["roots"]
    keep = {field.name: field.value() for field in cold.context["keep"]}
    answer = sent(
        at_desk, "set-batch", {name: str(value) for name, value in keep.items() if value is not None}
    )
    assert answer.url == "/plan/benches"
    moved = Slot.objects.latest("pk")
    assert (moved.base_c, moved.start, moved.by_hand) == (18, date(2027, 3, 1), True)
    # the same numbers that were looked at; the race is played over fewer days where less is asked at once
    assert moved.ready == cold.context["now"]["roots"]
    assert moved.risk == pytest.approx(cold.context["now"]["risk"], abs=0.001)
    assert f"{reverse('let-choose')}?slot={moved.pk}" in at_desk.get("/plan/benches").content.decode()
    sent(at_desk, "let-choose", {"slot": str(moved.pk)})
    assert not Slot.objects.latest("pk").by_hand


def test_what_cannot_be_looked_at_says_so(planned, at_desk):
    for wrong in ({"batch": "no:where"}, {"where": "none:7"}, {"start": "2027-01-01"}, {"start": "soon"}):
        answer = look(at_desk, **wrong)
        assert answer.status_code == 422 and "refusal" in answer.content.decode(), wrong
        assert at_desk.get("/plan/benches", wrong).status_code == 422


def test_the_benches_are_drawn_with_words_for_what_colour_says(planned, at_desk):
    slot = Slot.objects.get()
    page = at_desk.get("/plan/benches").content.decode()
    assert f"L1, {slot.count}, risk {100 * slot.risk:.0f} %" in page
    assert f"bar {risk_word(slot.risk)} picked" in page
    assert "style=" not in page and "onclick" not in page, "the policy forbids both"
    assert [risk_word(risk) for risk in (0.0, 0.05, 0.2)] == ["low", "some", "high"]


def test_without_a_script_the_form_does_the_same(planned, at_desk):
    slot = Slot.objects.get()
    asked = {
        "batch": f"{slot.lot.code}:{slot.place.code}",
        "where": f"{slot.bench.code}:18",
        "start": "2027-03-01",
    }
    page = at_desk.get("/plan/benches", asked).content.decode()
    assert "As planned" in page and "Keep this" in page


def test_a_plan_of_an_earlier_version_is_to_be_made_anew(planned, at_desk):
    Plan.objects.filter(kind="bench").update(said={"unplaced": []})
    answer = at_desk.get("/plan/benches")
    assert answer.status_code == 422 and "Plan the season anew" in answer.content.decode()


def test_a_plan_with_nothing_short_says_so(book, ada, at_desk):
    plan_season(by=ada, now=AT)
    page = at_desk.get("/plan").content.decode()
    assert "Nothing: every wish gets its wood" in page and "Nothing is wanted yet" in page


def test_an_orders_page_tells_each_parcel_day_by_day(wished, ada, at_desk, ben_at_desk):
    begin = int(datetime(2027, 1, 20, tzinfo=UTC).timestamp())
    at = begin + 3600 * np.arange(24 * 24)
    add_readings(Place.objects.get(name="Hill"), at, np.full(len(at), 6.0), np.full(len(at), 0.8))
    later = Line("Dusk", 5, date(2027, 3, 20), date(2027, 3, 30))  # no day suits both: two parcels
    order("Tarn Mill", [later], add_to=1, by=ada, at=AT)
    plan_season(by=ada, now=AT)
    first, second = posts_of(1)
    assert (first.count, second.count) == (12, 5)
    for post in (first, second):
        chosen = next(one for one in post.days if one.day == post.day)
        assert chosen.risk == pytest.approx(post.risk) and chosen.act.startswith("go")
        assert {one.act for one in post.days if one.day.weekday() > 4} == {"hold"}
    assert second.days[0].day == date(2027, 3, 20) and second.days[-1].day <= date(2027, 3, 30)
    for desk in (at_desk, ben_at_desk):
        page = desk.get("/orders/1").content.decode()
        assert page.count("(chosen)") == 2 and "Nothing is collected: it is a Saturday." in page
    cancel("1", at=AT)
    assert "Which day to post" not in at_desk.get("/orders/1").content.decode()
