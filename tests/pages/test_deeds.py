"""Every deed by page, end to end into the ledger, sent twice, refused, and tried by those who may not."""

import re
from datetime import UTC, datetime
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from ortet.ledger import rules
from ortet.ledger.models import (
    Balance,
    BenchSetup,
    Inspection,
    Lot,
    MotherLimit,
    MotherPlant,
    Movement,
    OrderLine,
    Place,
    Standing,
    Target,
    Treatment,
    Weighing,
    Withdrawal,
)

pytestmark = pytest.mark.usefixtures("season_kept")

FORMS = (
    "take",
    "bag",
    "weigh",
    "inspect",
    "treat",
    "move",
    "stand",
    "split",
    "give-up",
    "correct",
    "withdraw",
    "add-mother",
    "add-place",
    "order",
    "want",
    "cancel",
    "limit",
    "set-up-bench",
)
BAG_AS_OFFERED = {
    "polymer": "LDPE",
    "thickness_um": "50",
    "layers": "1",
    "width_mm": "300",
    "height_mm": "400",
    "closure": "fold",
    "packing": "none",
}
# For each deed what a grower enters, and the count of what it books.
DEEDS = {
    "take": (
        {"accession": "M1", "count": "25", "use": "rooting", "bench": "Bench"},
        lambda: Lot.objects.count(),
    ),
    "bag": (
        {"lot": "L1", "from_place": "Bench", "store": "North", "name": "K9", **BAG_AS_OFFERED},
        lambda: Place.objects.count(),
    ),
    "weigh": ({"bag": "K1", "gross_g": "311,5"}, lambda: Weighing.objects.count()),
    "inspect": (
        {"place": "K1", "lot": "L1", "sound": "28", "mouldy": "2", "rooted": "3", "rooted_of": "10"},
        lambda: Inspection.objects.count(),
    ),
    "treat": ({"place": "K1", "kind": "wipe"}, lambda: Treatment.objects.count()),
    "move": (
        {"lot": "L1", "from_place": "Bench", "count": "4", "to_place": "K1"},
        lambda: Movement.objects.count(),
    ),
    "stand": ({"bag": "K1", "store": "South"}, lambda: Standing.objects.count()),
    "split": ({"lot": "L1", "from_place": "Bench", "count": "3", "grade": "B"}, lambda: Lot.objects.count()),
    "give-up": ({"lot": "L1", "from_place": "K1", "count": "2"}, lambda: Movement.objects.count()),
    "correct": ({"movement": "4", "note": "counted twice"}, lambda: Movement.objects.count()),
    "add-mother": (
        {"accession": "M9", "variety": "Rook", "species": "elder"},
        lambda: MotherPlant.objects.count(),
    ),
    "add-place": ({"kind": "store", "name": "Cellar"}, lambda: Place.objects.count()),
    "order": (
        {
            "buyer": "Tarn Mill",
            "variety": "Dusk",
            "count": "12",
            "use": "rooting",
            "first_day": "2027-02-15",
            "last_day": "2027-03-15",
        },
        lambda: OrderLine.objects.count(),
    ),
    "want": (
        {"purpose": "plants", "variety": "Dusk", "count": "30", "wanted_by": "2027-05-15"},
        lambda: Target.objects.count(),
    ),
    "limit": ({"accession": "M1", "cuttings": "60"}, lambda: MotherLimit.objects.count()),
    "set-up-bench": (
        {"bench": "Shelf", "cells": "120", "heats": "18 21", "air_c": "12"},
        lambda: BenchSetup.objects.count(),
    ),
}
# For each deed something that cannot be, and a word of the sentence that says so.
IMPOSSIBLE = {
    "take": ({"accession": "M7", "count": "25", "use": "rooting", "bench": "Bench"}, "no mother plant"),
    "bag": ({**DEEDS["bag"][0], "name": "K1"}, "A bag is called K1 already"),
    "weigh": ({"bag": "K1", "gross_g": "5"}, "whose empty weight is 20.0 g"),
    "inspect": ({"place": "K1", "lot": "L1", "sound": "31"}, "31 looked at, 30 of lot"),
    "treat": ({"place": "K7", "kind": "wipe"}, "There is no"),
    "move": ({"lot": "L1", "from_place": "Bench", "count": "11", "to_place": "K1"}, "11 of lot"),
    "stand": ({"bag": "K1", "store": "North"}, "stands in North already"),
    "split": ({"lot": "L1", "from_place": "Bench", "count": "11"}, "11 of lot"),
    "give-up": ({"lot": "L1", "count": "2"}, "more than one: say which"),
    "correct": ({"movement": "99", "note": "wrong"}, "There is no movement 99"),
    "withdraw": ({"reading": str(uuid4()), "note": "wrong"}, "There is no such reading"),
    "add-mother": ({"accession": "m1", "variety": "Rook", "species": "elder"}, "is in the book already"),
    "order": ({**DEEDS["order"][0], "last_day": "2027-02-01"}, "ends before it begins"),
    "want": ({"purpose": "plants", "variety": "Duskish", "count": "30"}, "Is it ‘Dusk’?"),
    "cancel": ({"what": "7"}, "There is no order 7"),
    "limit": ({"accession": "M7", "cuttings": "60"}, "no mother plant"),
    "set-up-bench": ({"bench": "Shelf", "cells": "120", "heats": "68", "air_c": "12"}, "from 0 to 40"),
}


def sent(client: Client, deed: str, said: dict, **more):
    """Send a form as a browser would: with what it was given when it was opened."""
    given = {"id": str(uuid4()), "opened": "2027-02-12T07:00:00+00:00", "at": "2027-02-12T08:00"}
    return client.post(reverse(deed), given | said, **more)


@pytest.mark.parametrize("deed", DEEDS)
def test_a_deed_is_booked_and_its_page_says_so(deed, book, at_desk):
    said, count = DEEDS[deed]
    before = count()
    answer = sent(at_desk, deed, said)
    assert answer.status_code == 302, answer.content.decode()
    assert count() == before + 1
    assert rules.check() == []
    assert next(iter(at_desk.get(reverse("add-place")).context["messages"])).tags == "success"


@pytest.mark.parametrize("deed", DEEDS)
def test_a_form_sent_twice_books_once(deed, book, at_desk):
    said, count = DEEDS[deed]
    said = said | {"id": str(uuid4())}
    before = count()
    first, second = sent(at_desk, deed, said), sent(at_desk, deed, said)
    assert (first.status_code, second.status_code, second.url) == (302, 302, first.url)
    assert count() == before + 1


@pytest.mark.parametrize("deed", sorted(DEEDS.keys() - {"stand", "add-mother", "correct"}))
def test_a_form_sent_twice_from_two_sessions_books_once(deed, book, at_desk, ada):
    """The phone lost its cookie in between: the id alone must do."""
    said, count = DEEDS[deed]
    said = said | {"id": str(uuid4())}
    before = count()
    other = Client()
    other.force_login(ada)
    assert sent(at_desk, deed, said).status_code == sent(other, deed, said).status_code == 302
    assert count() == before + 1


@pytest.mark.parametrize("deed", IMPOSSIBLE)
def test_what_cannot_be_is_refused_with_its_sentence_and_what_was_typed_stays(deed, book, at_desk):
    said, sentence = IMPOSSIBLE[deed]
    before = [
        model.objects.count() for model in (Movement, Lot, Place, Weighing, Inspection, Treatment, Standing)
    ]
    answer = sent(at_desk, deed, said)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert sentence in page
    assert before == [
        model.objects.count() for model in (Movement, Lot, Place, Weighing, Inspection, Treatment, Standing)
    ]
    for name, value in said.items():
        assert value in (answer.context["form"][name].value(), str(answer.context["form"][name].value())), (
            name
        )


@pytest.mark.parametrize("deed", FORMS)
def test_whoever_may_only_read_sees_that_and_cannot_send(deed, book, ben_at_desk):
    page = ben_at_desk.get(reverse(deed))
    assert page.status_code == 200
    assert "You may read this book, not write in it" in page.content.decode()
    assert '<button class="act">' not in page.content.decode()
    before = Movement.objects.count()
    assert sent(ben_at_desk, deed, DEEDS.get(deed, ({},))[0]).status_code == 403
    assert Movement.objects.count() == before


@pytest.mark.parametrize("deed", FORMS)
def test_a_stranger_is_led_to_sign_in(deed, book):
    stranger = Client(REMOTE_ADDR="192.0.2.1")
    for answer in (stranger.get(reverse(deed)), sent(stranger, deed, DEEDS.get(deed, ({},))[0])):
        assert answer.status_code == 302
        assert answer.url.startswith(reverse("sign-in"))


@pytest.mark.parametrize("deed", FORMS)
@pytest.mark.parametrize("method", ["put", "patch", "delete"])
def test_no_other_method_is_taken(deed, method, book, at_desk):
    assert getattr(at_desk, method)(reverse(deed)).status_code == 405


@pytest.mark.parametrize("deed", FORMS)
def test_a_form_from_elsewhere_is_not_taken(deed, book, ada):
    client = Client(enforce_csrf_checks=True)
    client.force_login(ada)
    before = Movement.objects.count()
    assert sent(client, deed, DEEDS.get(deed, ({},))[0]).status_code == 403
    assert Movement.objects.count() == before


def test_a_form_as_it_was_served_goes_through_with_its_own_token(book, ada):
    client = Client(enforce_csrf_checks=True)
    client.force_login(ada)
    page = client.get(reverse("weigh"), {"bag": "K1"}).content.decode()
    given = dict(re.findall(r'name="(\w+)" value="([^"]*)"', page))
    assert client.post(reverse("weigh"), given | {"gross_g": "312"}).status_code == 302
    assert Weighing.objects.latest("at").gross_g == 312


def test_take_makes_a_lot_with_what_was_measured(book, at_desk, ada):
    said = DEEDS["take"][0] | {
        "grade": "A",
        "mark": "L7",
        "length_mm": "21 cm",
        "base_mm": "9",
        "tip_mm": "7",
        "nodes": "5",
    }
    answer = sent(at_desk, "take", said)
    lot = Lot.objects.get(mark="L7")
    assert answer.url == reverse("lot", args=[lot.code])
    assert (lot.length_mm, lot.base_mm, lot.tip_mm, lot.nodes, lot.grade) == (210, 9, 7, 5, "A")
    assert lot.movements.get().by == ada
    assert Balance.objects.get(lot=lot, place__name="Bench").count == 25


def test_us_units_are_read_and_shown(book, nursery, at_desk):
    nursery.units = "US"
    nursery.save()
    said = DEEDS["take"][0] | {"mark": "L7", "length_mm": "8", "base_mm": "0.35"}
    sent(at_desk, "take", said)
    lot = Lot.objects.get(mark="L7")
    assert (lot.length_mm, lot.base_mm) == (
        pytest.approx(8 * 25.4),
        pytest.approx(0.35 * 25.4),
    )  # an inch is 25.4 mm
    sent(at_desk, "weigh", {"bag": "K1", "gross_g": "1 lb 2 oz"})
    assert Weighing.objects.latest("at").gross_g == pytest.approx(
        453.59237 + 2 * 28.349523125
    )  # by definition
    page = at_desk.get(reverse("weigh"), {"bag": "K1"}).content.decode()
    assert "Weight, bag and all (oz)" in page and "1 lb 2.00 oz on Feb 12, 2027" in page
    page = at_desk.get(reverse("bag"), {"lot": "L7"}).content.decode()
    assert "Thickness of one layer (mil)" in page and 'value="1.969"' in page  # 50 µm
    bag = {**DEEDS["bag"][0], "lot": "L7", "thickness_um": "2", "width_mm": "12", "height_mm": "15"}
    sent(at_desk, "bag", bag)
    made = Place.objects.get(name="K9").bag
    assert (made.thickness_um, made.width_mm, made.height_mm) == pytest.approx((50.8, 304.8, 381))


def test_a_bag_takes_several_lots(book, at_desk):
    said = DEEDS["bag"][0] | {"count": "6", "lot_2": "L3", "count_2": "5"}
    sent(at_desk, "bag", said | {"from_place": "Bench"})
    held = Balance.objects.filter(place__name="K9").values_list("lot__mark", "count")
    assert dict(held) == {"L1": 6, "L3": 5}


def test_a_bag_starts_from_the_last_bag_closed(book, at_desk):
    sent(
        at_desk,
        "bag",
        DEEDS["bag"][0] | {"count": "2", "thickness_um": "30", "closure": "zip", "store": "South"},
    )
    form = at_desk.get(reverse("bag"), {"lot": "L1"}).context["form"]
    assert (form["thickness_um"].value(), form["closure"].value(), form["store"].value()) == (
        "30",
        "zip",
        "South",
    )


def test_a_count_without_its_lot_is_asked_for(book, at_desk):
    answer = sent(at_desk, "bag", DEEDS["bag"][0] | {"count_2": "5"})
    assert answer.status_code == 422
    assert "5 cuttings of which lot?" in answer.content.decode()


@pytest.mark.parametrize("count", ["1o", "-3", "0", "2.5", "one"])
def test_a_count_that_cannot_be_read_moves_nothing(count, book, at_desk):
    """Left empty it means all that lie there: so what was mistyped must never be taken for empty."""
    before = Movement.objects.count()
    answer = sent(at_desk, "move", DEEDS["move"][0] | {"count": count})
    assert answer.status_code == 422
    assert Movement.objects.count() == before
    assert f'value="{count}"' in answer.content.decode()


def test_an_empty_count_moves_all(book, at_desk):
    sent(at_desk, "move", DEEDS["move"][0] | {"count": ""})
    assert Balance.objects.get(lot=book.lot, place__name="K1").count == 40


def test_a_scanned_address_is_the_code_at_its_end(book, at_desk):
    bag = book.places["K1"]
    sent(at_desk, "weigh", {"bag": f"http://192.168.1.20:8137/l/{bag.code}", "gross_g": "315"})
    assert bag.weighings.latest("at").gross_g == 315


def test_a_scanned_cold_place_makes_no_new_one(book, at_desk):
    before = Place.objects.filter(kind="store").count()
    sent(at_desk, "bag", DEEDS["bag"][0] | {"store": book.places["South"].code})
    assert Place.objects.filter(kind="store").count() == before
    assert Standing.objects.latest("id").store.name == "South"


def test_what_was_not_looked_at_stays_unknown(book, at_desk):
    sent(
        at_desk,
        "inspect",
        {"place": "K1", "sound": "29", "scratch_green": "4", "scratch_of": "5", "callus": "0"},
    )
    seen = Inspection.objects.get()
    assert (seen.sound, seen.mouldy, seen.dry, seen.callus) == (29, None, None, 0)
    assert (seen.scratch_green, seen.scratch_of, seen.free_water, seen.lot) == (4, 5, "", book.lot)


def test_treating_shows_its_cautions_before_it_is_done(book, at_desk):
    page = at_desk.get(reverse("treat"), {"place": "K1"}).content.decode()
    assert "never together with acids, ammonia or other cleaners" in page
    assert "label is the law" in page.replace("&#x27;", "'")
    assert "Hot wax burns skin" in page


def test_cuttings_not_found_are_told_from_given_up(book, at_desk):
    sent(at_desk, "give-up", DEEDS["give-up"][0] | {"not_found": "1"})
    assert Movement.objects.latest("number").to_place.kind == "lost"


def test_the_message_leads_to_the_correction_of_that_movement(book, at_desk):
    sent(at_desk, "move", DEEDS["move"][0])
    moved = Movement.objects.latest("number")
    link = f"{reverse('correct')}?movement={moved.number}"
    page = at_desk.get(reverse("add-place")).content.decode()
    assert f'<a href="{link}">Mistaken? Correct it</a>' in page
    asked = at_desk.get(link).content.decode()
    assert f"Movement {moved.number}" in asked and "4 cuttings" in asked
    sent(at_desk, "correct", {"movement": moved.number, "note": "wrong bag"})
    assert Movement.objects.latest("number").reverses == moved
    assert Balance.objects.get(lot=book.lot, place__name="K1").count == 30


def test_a_reading_is_withdrawn_by_the_link_in_its_message(book, at_desk):
    sent(at_desk, "weigh", DEEDS["weigh"][0])
    reading = Weighing.objects.latest("at")
    link = f"{reverse('withdraw')}?reading={reading.pk}"
    assert link in at_desk.get(reverse("add-place")).content.decode()
    assert "Bag K1 weighed 311.5 g" in at_desk.get(link).content.decode()
    said = {"reading": str(reading.pk), "note": "wet hands", "id": str(uuid4())}
    assert sent(at_desk, "withdraw", said).status_code == 302
    assert sent(at_desk, "withdraw", said).status_code == 302
    assert Withdrawal.objects.get().reading == reading.pk


def test_a_movement_with_a_note_is_shown_before_it_is_corrected(book, at_desk):
    sent(at_desk, "give-up", {"lot": "L1", "count": "2", "from_place": "K1", "note": "split by frost"})
    given_up = Movement.objects.latest("number")
    page = at_desk.get(f"{reverse('correct')}?movement={given_up.number}").content.decode()
    assert given_up.note and f"<strong>Movement {given_up.number}</strong>" in page


def test_a_correction_asks_for_its_reason(book, at_desk):
    answer = sent(at_desk, "correct", {"movement": "4", "note": "  "})
    assert answer.status_code == 422
    assert answer.context["form"].errors["note"]


def test_the_minute_left_alone_is_the_moment_the_form_was_opened(book, nursery, at_desk):
    """Wood taken at 8:00:30 may be bagged at "8:00": the field shows minutes, the book keeps seconds."""
    opened = datetime(2027, 2, 12, 6, 59, 30, tzinfo=UTC)
    sent(at_desk, "weigh", DEEDS["weigh"][0] | {"opened": opened.isoformat(), "at": "2027-02-12T07:59"})
    assert Weighing.objects.latest("at").at == opened


def test_an_hour_typed_is_the_growers_hour(book, at_desk):
    sent(at_desk, "weigh", DEEDS["weigh"][0] | {"at": "2027-02-11T17:30"})
    assert Weighing.objects.latest("at").at == datetime(
        2027, 2, 11, 16, 30, tzinfo=UTC
    )  # Prague in winter is UTC+1


def test_what_is_still_to_come_is_refused(book, at_desk):
    answer = sent(at_desk, "weigh", DEEDS["weigh"][0] | {"at": "2027-02-13T08:00"})
    assert answer.status_code == 422
    assert "13 Feb 2027, 08:00 is still to come" in answer.content.decode()


@pytest.mark.parametrize("at", ["", "soon", "2027-02-30T08:00"])
def test_a_moment_that_cannot_be_read_is_refused(at, book, at_desk):
    answer = sent(at_desk, "weigh", DEEDS["weigh"][0] | {"at": at})
    assert answer.status_code == 422
    assert answer.context["form"].errors["at"]
    assert "<details open>" in answer.content.decode()


@pytest.mark.parametrize("deed", FORMS)
def test_an_address_full_of_nonsense_opens_an_empty_form(deed, book, at_desk):
    nonsense = dict.fromkeys(
        ("lot", "bag", "place", "from", "to", "movement", "reading", "mother", "count", "id"), "\0x'\"<b>"
    )
    assert at_desk.get(reverse(deed), nonsense).status_code == 200


def test_a_link_asks_for_one_entry(book, at_desk):
    """From Today to the scale: the bag is named, only the weight is asked, and the last weighings stand beside it."""
    answer = at_desk.get(reverse("weigh"), {"bag": "K1"})
    form = answer.context["form"]
    assert [name for name in form.fields if form[name].field.required and not form[name].value()] == [
        "gross_g"
    ]
    assert "320.0 g on 20 Jan 2027" in answer.content.decode()


def test_a_lot_in_two_places_is_asked_from_where(book, at_desk):
    page = at_desk.get(reverse("move"), {"lot": "L1"}).content.decode()
    assert "10 on Bench" in page and "30 in bag K1" in page
    page = at_desk.get(reverse("bag"), {"lot": "L1"}).content.decode()
    assert re.search(r'value="\w{8}"[^>]*checked[^>]*> 10 on Bench', page), (
        "wood to be bagged lies on a bench, most often"
    )
    page = at_desk.get(reverse("move"), {"lot": "L1", "from": "K1"}).content.decode()
    assert re.search(r'value="\w{8}"[^>]*checked[^>]*> 30 in bag K1', page)


def test_a_link_by_code_shows_the_name(book, at_desk):
    bag, store = book.places["K1"], book.places["South"]
    form = at_desk.get(reverse("weigh"), {"bag": bag.code}).context["form"]
    assert form["bag"].value() == "K1"
    form = at_desk.get(reverse("bag"), {"lot": book.lot.code, "store": store.code}).context["form"]
    assert (form["lot"].value(), form["store"].value()) == ("L1", "South")


def test_a_bench_offers_what_lies_on_it_to_be_bagged(book, at_desk):
    page = at_desk.get(reverse("bag"), {"from": book.bench.code}).content.decode()
    assert "L1 ‘Dusk’, 10" in page and "L3 ‘Lantern’, 8" in page
    said = DEEDS["bag"][0] | {"lot": book.lots["L3"].code}
    sent(at_desk, "bag", said)
    assert Balance.objects.get(place__name="K9").lot == book.lots["L3"]


def test_taking_from_a_protected_variety_says_whom_to_ask(book, at_desk):
    from ortet import work

    work.add_mother("M9", "Rook", "elder", right="an invented right, 2031")
    page = at_desk.get(reverse("take"), {"mother": "M9"}).content.decode()
    assert "Protected: an invented right, 2031." in page and "Ask the holder of the right" in page
