"""Today: the right act, its reason in numbers, the dearest to wait first."""

from dataclasses import replace

import numpy as np
import pytest

from ortet.decisions.outlook import Crossing, reached, when
from ortet.decisions.today import KINDS
from ortet.wood.holding import Content, Inspection


def only(todo, kind):
    """Return the one task of a kind."""
    found = [task for task in todo if task.kind == kind]
    assert len(found) == 1, [(task.kind, task.act) for task in todo]
    return found[0]


def kinds(todo):
    return {task.kind for task in todo}


def looked(store, name, days=1.0, **seen):
    """An inspection so many days ago, so that nobody is asked to look again."""
    return Inspection(store.now - days * 24, f"lot {name}", **{"sound": 40, **seen})


def quiet(store, name, **more):
    """A bag with which all is well: tight, looked at, weighed, taken a short while ago."""
    wood = 402.1 * more.get("count", 40) / 40
    given = {
        "days": 20.0,
        "weighed": ((20, 30 + wood), (2, 30 + wood - 0.5)),
        "looks": (looked(store, name),),
    }
    store.bag(name, **{**given, **more})


def door_ajar(store):
    air = np.full(120 * 24, 2.0)
    air[-30:-24] = 9.0
    store.climate("Fridge", air, 0.9)


def test_a_bag_with_which_all_is_well_asks_for_nothing(store):
    quiet(store, "B1")
    assert store.today() == []


def test_a_wet_bag_is_opened_wiped_and_aired(store):
    door_ajar(store)
    quiet(store, "K7-3")
    task = only(store.today(), "wet")
    assert task.act == "Open bag K7-3: wipe, air ten minutes, close."
    assert "h of free water since yesterday" in task.reason or "h of free water since today" in task.reason
    assert "Fridge swung 7.0 °C in a week" in task.reason
    assert task.deed == "wipe" and task.command == "ortet treat K7-3 wipe" and task.limit == "free_wet_hours"
    assert task.waiting > 0 and task.count == 40 and task.lots == ("lot K7-3",)


def test_one_open_door_is_one_task_that_lists_the_bags(store):
    door_ajar(store)
    for name in ("B1", "B2", "B3"):
        quiet(store, name)
    task = only(store.today(), "wet")
    assert set(task.bags) == {"B1", "B2", "B3"} and task.place == "Fridge" and task.count == 120
    assert task.act.startswith("Open bags ") and "in Fridge: wipe" in task.act


def test_a_bag_wiped_since_is_left_alone(store):
    door_ajar(store)
    quiet(store, "B1", wiped=(0.2,))
    assert "wet" not in kinds(store.today())


def test_a_drying_bag_says_when_it_meets_its_limit(store):
    quiet(store, "B1", closure="fold", weighed=((20, 432.1), (10, 420.0), (1, 409.0)))
    task = only(store.today(), "dry")
    assert "Close bag B1 tighter" in task.act
    assert "Its limit of 10 % is reached in about" in task.reason and "more each week" in task.reason
    assert store.now < task.due < store.now + 28 * 24 and task.limit == "water_lost"
    assert task.deed == "bag" and " --from B1 --store " in task.command  # re-wrapped is moved to another bag


def test_a_dried_bag_is_soaked_and_used_first(store):
    quiet(store, "B1", closure="fold", weighed=((20, 432.1), (10, 400.0), (1, 372.0)))
    task = only(store.today(), "dry")
    assert "soak" in task.act and "Past its limit of 10 %" in task.reason
    assert task.deed == "inspect" and task.command == "ortet inspect B1 --scratch GREEN/SCRATCHED"


def test_short_of_oxygen_a_bag_is_aired(store):
    quiet(store, "B1", count=140, film=("LDPE", 100.0, 2), closure="heat-seal")
    task = only(store.today(), "airless")
    assert task.deed == "air" and "Oxygen 0 %" in task.reason and "1407.4 g" in task.reason


def test_mould_that_was_seen_is_sorted_out_before_all_else(store):
    quiet(store, "B1")
    quiet(store, "B2", looks=(looked(store, "B2", sound=30, mouldy=10),))
    todo = store.today()
    assert todo[0].kind == "sort"
    assert "10 of 40 cuttings were mouldy yesterday" in todo[0].reason
    assert todo[0].command.startswith("ortet give-up ") and todo[0].deed == "give_up"


def test_bare_wood_is_bagged(store):
    store.bare("Fridge", days=3.0)
    task = only(store.today(), "bare")
    assert task.deed == "bag" and "lie bare (Fridge) and lose" in task.reason and "a day" in task.reason


def test_wood_past_its_keeping_time_is_used_first_in_one_task_per_kind(store):
    store.climate("Fridge", np.full(150 * 24, 2.0), 0.9)
    for name, kind in (("B1", "blackcurrant"), ("B2", "blackcurrant"), ("B3", "quince")):
        store.bag(
            name, species=kind, days=145.0, looks=(looked(store, name),), weighed=((145, 432.1), (1, 430.0))
        )
    uses = [task for task in store.today() if task.kind == "use"]
    assert sorted(len(task.lots) for task in uses) == [1, 2]
    assert any("is usually kept 16 weeks: over by" in task.reason for task in uses)


def test_a_bag_never_weighed_for_three_weeks_is_weighed_and_one_of_two_weeks_is_not(store):
    quiet(store, "B1", days=22.0, weighed=())
    quiet(store, "B2", days=14.0, weighed=())
    assert only(store.today(), "weigh").bags == ("B1",)


def test_a_bag_not_looked_at_for_four_weeks_is_looked_at(store):
    quiet(store, "B1", days=40.0, looks=(), weighed=((40, 432.1), (2, 431.0)))
    quiet(store, "B2", days=40.0, looks=(looked(store, "B2", days=5.0),), weighed=((40, 432.1), (2, 431.0)))
    task = only(store.today(), "inspect")
    assert task.bags == ("B1",) and "Not looked at for up to 6 weeks" in task.reason


def test_a_record_that_stops_is_one_task_for_the_place(store):
    store.climate("Fridge", np.full(120 * 24, 2.0), 0.5, ends_before_h=72)
    quiet(store, "B1")
    quiet(store, "B2")
    task = only(store.today(), "record")
    assert task.place == "Fridge" and task.deed == "load" and "3 days ago" in task.reason


def test_a_gap_in_the_record_is_told(store):
    air = np.full(120 * 24, 2.0)
    air[-100:-80] = np.nan
    store.climate("Fridge", air, 0.5)
    quiet(store, "B1")
    assert "20 h of the last 14 days are missing" in only(store.today(), "record").reason


def test_wood_whose_chill_was_just_completed_is_news_without_cost(store):
    """At 5 °C a quince meets its 30 portions after about six weeks."""
    store.climate("Fridge", np.full(120 * 24, 5.0), 0.5)
    quiet(store, "B1", species="quince", days=44.0)
    task = only(store.today(), "strike")
    assert task.waiting == 0.0 and task.act.startswith("Chill is complete: lot lot B1")
    assert "portions, the need is set at 30" in task.reason


def test_what_waiting_costs_decides_the_order(store):
    quiet(store, "slow", days=22.0, weighed=())
    quiet(store, "B2", looks=(looked(store, "B2", sound=30, mouldy=10),))
    quiet(store, "fast", closure="fold", weighed=((20, 432.1), (10, 400.0), (1, 372.0)))
    costs = [task.waiting for task in store.today()]
    assert costs == sorted(costs, reverse=True) and costs[0] > 1.0


def test_waiting_costs_count_times_harm_times_chance(store):
    """Past the limit for sure, dryness is set to harm a quarter of 40 cuttings: 10 a week."""
    quiet(store, "B1", closure="fold", weighed=((20, 432.1), (15, 400.0), (10, 372.0), (1, 350.0)))
    assert only(store.today(), "dry").waiting == pytest.approx(10.0, abs=0.3)


def test_us_units_name_swings_in_fahrenheit_and_wood_in_pounds(store):
    door_ajar(store)
    quiet(store, "B1", count=140, film=("LDPE", 100.0, 2), closure="heat-seal")
    todo = store.today(units="US")
    assert "swung 13 °F" in only(todo, "wet").reason
    assert "3 lb 1.65 oz of wood" in only(todo, "airless").reason


def test_days_are_named_by_the_growers_clock(store):
    quiet(
        store, "B2", looks=(looked(store, "B2", days=0.45, sound=30, mouldy=10),)
    )  # 01:12 UTC on the same day
    assert "mouldy today" in only(store.today(), "sort").reason
    assert "mouldy yesterday" in only(store.today(zone_offset=-5.0), "sort").reason


def test_every_task_is_of_a_known_kind_and_says_act_reason_place(store):
    door_ajar(store)
    for number, closure in enumerate(("open", "fold", "knot", "zip")):
        store.bag(f"B{number}", closure=closure, days=100.0)
    store.bare("Shed")
    todo = store.today()
    assert todo
    for task in todo:
        assert task.kind in KINDS and task.act.endswith(".") and task.reason.endswith(".") and task.place
        assert task.waiting >= 0 and task.lots


def test_lots_are_called_by_mark_and_code_and_their_commands_say_the_code(store):
    store.bare("Shed", days=3.0)
    store.holdings[0] = replace(store.holdings[0], lot="PFW5GQYV", mark="26-014")
    task = only(store.today(), "bare")
    assert task.act == "Bag lot 26-014 (PFW5-GQYV), Anon." and task.lots == ("PFW5GQYV",)
    assert task.command == "ortet bag PFW5-GQYV --store STORE"
    store.holdings[0] = replace(store.holdings[0], mark="")
    assert only(store.today(), "bare").act == "Bag lot PFW5-GQYV, Anon."


def test_where_there_are_many_lots_their_marks_are_enough(store):
    store.climate("Fridge", np.full(150 * 24, 2.0), 0.9)
    for number, code in enumerate(("PFW5GQYV", "H76TEV3R", "DKVK6A1A")):
        looks = (Inspection(store.now - 24, code, sound=40),)
        store.bag(f"B{number}", days=145.0, code=code, mark=f"26-{number}", looks=looks,
                  weighed=((145, 432.1), (1, 430.0)))  # fmt: skip
    task = only(store.today(), "use")
    assert "26-0, 26-1 and 26-2" in task.act and "-" + task.lots[0][4:] not in task.act
    assert f"({task.lots[0][:4]}-{task.lots[0][4:]})" in task.reason
    assert (
        task.command.startswith(f"ortet lot {task.lots[0][:4]}-") and "for each of the 3 lots" in task.command
    )
    assert task.deed == ""


def test_bare_wood_on_a_bench_asks_for_no_logger(store):
    store.bare("Bench", days=3.0)
    assert "record" not in kinds(store.today())


def test_wet_packing_is_changed_once(store):
    """A swinging store: soaked moss wets the film each night; once wiped out, or seen dry, it is not asked for again."""
    store.climate("Fridge", 2.5 + 0.3 * np.sin(np.arange(120 * 24) * 2 * np.pi / 24), 0.6)
    quiet(store, "B1", packing=("moist moss", 20.0), closure="fold")
    task = only(store.today(), "wet")
    assert "take out the moist moss or change it for barely moist, wipe" in task.act
    assert "moist moss still holds about" in task.reason and task.deed == "wipe"
    done = store.bags[0]
    store.bags[0] = replace(done, wiped=(store.now - 48,))
    assert "wet" not in kinds(store.today())
    store.bags[0] = replace(done, inspections=(looked(store, "B1", days=2.0, free_water="none"),))
    assert "wet" not in kinds(store.today())


def test_a_bag_seen_dry_is_asked_for_again_when_free_water_forms_anew(store):
    door_ajar(store)
    quiet(
        store, "B1", packing=("moist moss", 20.0), looks=(looked(store, "B1", days=3.0, free_water="none"),)
    )
    assert "wipe, air ten minutes" in only(store.today(), "wet").act


def test_mould_is_sorted_out_until_it_was_given_up_or_seen_no_more(store):
    quiet(store, "B1", looks=(looked(store, "B1", days=2.0, sound=30, mouldy=10),))
    bag = store.bags[0]
    one, since = bag.contents[0].wood_g / 40, store.now - 24
    split = (*bag.contents, Content(since, 40 * one, bag.contents[0].bark_m2))
    store.bags[0] = replace(bag, contents=split)
    assert "sort" in kinds(store.today())
    store.bags[0] = replace(bag, contents=(*bag.contents, Content(since, 34 * one, bag.contents[0].bark_m2)))
    assert "sort" in kinds(store.today())
    store.bags[0] = replace(bag, contents=(*bag.contents, Content(since, 30 * one, bag.contents[0].bark_m2)))
    assert "sort" not in kinds(store.today())
    again = (*bag.inspections, looked(store, "B1", days=0.5, sound=40, mouldy=0))
    store.bags[0] = replace(bag, inspections=again)
    assert "sort" not in kinds(store.today())


@pytest.mark.parametrize(
    ("days", "words"),
    [
        ((3, 9, 14), "in about 9 days (3 to 14)"),
        ((0.2, 9, 14), "within 14 days, perhaps now"),
        ((30, 90, None), "not before 30 days from now"),
        ((30, None, None), "not before 30 days from now"),
        ((-1, 108, None), "too uncertain to tell: between now and never"),
        ((-1, None, None), "too uncertain to tell: between now and never"),
        ((-3, -1, None), "likely crossed"),
        ((-3, -2, -1), "crossed"),
        ((None, None, None), "not in sight"),
    ],
)
def test_a_band_with_an_open_end_is_said_with_one_number(days, words):
    assert when(Crossing(*(None if day is None else 24.0 * day for day in days)), 0.0) == words


def test_in_a_sentence_a_time_is_reached_and_what_names_none_stands_alone():
    assert reached(Crossing(72.0, 216.0, 336.0), 0.0) == "reached in about 9 days (3 to 14)"
    assert reached(Crossing(-72.0, -48.0, -24.0), 0.0) == "crossed"


def test_long_spells_are_told_in_days(store):
    store.climate("Fridge", 2.5 + 0.3 * np.sin(np.arange(120 * 24) * 2 * np.pi / 24), 0.95)
    quiet(store, "B1", packing=("moist moss", 50.0))
    assert " days of free water since" in only(store.today(), "wet").reason
