"""Who gets what: one behaviour each."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ortet.decisions.allot import AllotPlan, Contradiction, Fixed, Supply, Wish, allot

MONDAY = date(2026, 1, 5)


def day(number: int) -> date:
    return MONDAY + timedelta(days=number)


def wood(key: str, count: int, variety: str = "Anon", **more) -> Supply:
    more = {"grade": "A", "use": "rooting", "place": f"bag {key}", "ready": MONDAY} | more
    return Supply(key, f"lot {key}", variety, count=count, **more)


def order(key: str, count: int, variety: str = "Anon", **more) -> Wish:
    more = {"kind": "order", "use": "rooting", "first": MONDAY, "last": day(55)} | more
    return Wish(key, variety=variety, count=count, **more)


def plan(supplies, wishes, **more) -> AllotPlan:
    return allot(supplies, wishes, **({"first": MONDAY, "weeks": 8} | more))


def picked(made: AllotPlan) -> dict[tuple[str, str], int]:
    return {(pick.supply, pick.wish): pick.count for pick in made.picks}


def kinds(made: AllotPlan, wish: str) -> set[str]:
    return {why.kind for short in made.short if short.wish == wish for why in short.whys}


def texts(made: AllotPlan, wish: str) -> str:
    return "; ".join(why.text for short in made.short if short.wish == wish for why in short.whys)


def test_enough_wood_fills_every_line():
    made = plan([wood("S1", 30)], [order("O1", 10), order("O2", 20)])
    assert picked(made) == {("S1", "O1"): 10, ("S1", "O2"): 20}
    assert made.short == made.changes == made.binds == () and made.proven and made.gap == 0


def test_nothing_asked_and_nothing_there_is_an_empty_plan():
    assert plan([], []).picks == () and plan([wood("S1", 3)], []).left == {"S1": 3}


def test_the_first_priority_goes_first():
    made = plan([wood("S1", 10)], [order("O1", 8, priority=2), order("O2", 8)])
    assert (made.given("O1"), made.given("O2")) == (2, 8)
    assert texts(made, "O1") == "goes first to O2 (8)"


def test_lines_of_like_worth_share_a_short_variety_in_proportion():
    made = plan([wood("S1", 15)], [order("O1", 10), order("O2", 20)])
    assert (made.given("O1"), made.given("O2")) == (5, 10)
    assert [(row.wish, row.share) for row in made.portions] == [("O1", 0.5), ("O2", 0.5)]


def test_a_little_more_money_moves_a_share_only_a_little():
    made = plan([wood("S1", 20)], [order("O1", 20, worth=2.0), order("O2", 20, worth=2.1)])
    assert 8 <= made.given("O1") < made.given("O2") <= 12


def test_a_line_worth_more_than_twice_as_much_goes_first():
    made = plan([wood("S1", 10)], [order("O1", 10, worth=1.0), order("O2", 10, worth=2.5)])
    assert (made.given("O1"), made.given("O2")) == (0, 10)


def test_wood_that_runs_out_first_goes_first():
    made = plan([wood("S1", 10), wood("S2", 10, use_by=day(10))], [order("O1", 10)])
    assert picked(made) == {("S2", "O1"): 10}


def test_one_bag_is_opened_rather_than_two():
    made = plan([wood("S1", 5), wood("S2", 5), wood("S3", 10)], [order("O1", 10)])
    assert picked(made) == {("S3", "O1"): 10}


def test_a_whole_lot_is_given_rather_than_part_of_a_larger_one():
    made = plan([wood("S1", 15), wood("S2", 10)], [order("O1", 10)])
    assert picked(made) == {("S2", "O1"): 10}


def test_the_variety_asked_for_comes_before_its_substitutes():
    made = plan(
        [wood("S1", 6, "Ash"), wood("S2", 20, "Bay"), wood("S3", 6)],
        [order("O1", 10, substitutes=("Ash", "Bay"))],
    )
    assert picked(made) == {("S3", "O1"): 6, ("S1", "O1"): 4}
    assert {pick.supply for pick in made.picks if pick.substitute} == {"S1"}


def test_a_buyer_who_takes_substitutes_leaves_the_variety_to_one_who_does_not():
    made = plan(
        [wood("S1", 10), wood("S2", 10, "Ash")], [order("O1", 10, substitutes=("Ash",)), order("O2", 10)]
    )
    assert picked(made) == {("S2", "O1"): 10, ("S1", "O2"): 10}


def test_a_grade_not_accepted_is_not_given():
    made = plan([wood("S1", 10, grade="B")], [order("O1", 4, grades=("A",))])
    assert made.picks == () and texts(made, "O1") == "only grade B is left, 10 of it"
    assert "taking grade B as well could give O1 4 more" in [change.text for change in made.changes]


def test_no_wood_of_the_variety_is_said():
    assert texts(plan([wood("S1", 10, "Ash")], [order("O1", 4)]), "O1") == "no wood of Anon"


def test_wood_cut_for_another_use_is_said():
    made = plan([wood("S1", 10, use="grafting")], [order("O1", 4)])
    assert texts(made, "O1") == "10 of Anon, all cut for grafting"


def test_wood_ready_after_the_window_is_said():
    made = plan([wood("S1", 10, ready=day(20))], [order("O1", 4, last=day(13))])
    assert texts(made, "O1") == "S1 is ready on 25 Jan 2026, after the window ends on 18 Jan 2026"


def test_wood_gone_before_the_window_is_said():
    made = plan([wood("S1", 10, use_by=day(5))], [order("O1", 4, first=day(7))])
    assert texts(made, "O1") == "S1 runs out on 10 Jan 2026, before the window begins on 12 Jan 2026"


def test_a_window_outside_the_plan_is_said():
    made = plan([wood("S1", 10)], [order("O1", 4, first=day(100), last=day(120))])
    assert "lies outside the plan" in texts(made, "O1")


def test_a_backup_is_kept_and_said():
    made = plan([wood("S1", 10)], [order("O1", 10)], backup={"Anon": 4})
    assert (made.given("O1"), made.left) == (6, {"S1": 4})
    assert texts(made, "O1") == "4 kept as backup"
    assert "4 of the backup could go to O1" in [change.text for change in made.changes]


def test_a_share_of_a_lot_is_kept_back():
    made = plan([wood("S1", 10, kept_back=0.25)], [order("O1", 10)])
    assert made.given("O1") == 7 and "kept back" in kinds(made, "O1")


def test_all_or_nothing_gets_nothing_when_there_is_too_little():
    made = plan([wood("S1", 9)], [order("O1", 10, least=10), order("O2", 5)])
    assert (made.given("O1"), made.given("O2")) == (0, 5)
    assert "4 are left and it takes no fewer than 10" in texts(made, "O1")
    assert [(one.wishes, one.relax) for one in made.conflicts] == [
        (("O1",), "Ask whether 9 will do, widen its window or grades, or take more wood.")
    ]


def test_a_wish_in_one_delivery_is_picked_on_one_day():
    early, late = wood("S1", 6, use_by=day(10)), wood("S2", 8, ready=day(20))
    made = plan([early, late], [order("O1", 12, parts=False)])
    assert picked(made) == {("S2", "O1"): 8} and "delivery" in kinds(made, "O1")
    both = plan([early, late], [order("O1", 12)])
    assert both.given("O1") == 12 and len({pick.day for pick in both.picks}) == 2


def test_a_delivery_waits_for_the_last_of_its_wood():
    made = plan([wood("S1", 6), wood("S2", 8, ready=day(9))], [order("O1", 14)])
    assert {(pick.day, pick.week) for pick in made.picks} == {(day(9), 1)}


def test_a_choice_made_by_hand_is_kept_and_the_rest_planned_around_it():
    supplies, wishes = [wood("S1", 10), wood("S2", 4)], [order("O1", 10), order("O2", 4)]
    assert picked(plan(supplies, wishes)) == {("S1", "O1"): 10, ("S2", "O2"): 4}
    made = plan(supplies, wishes, fixed=[Fixed("S1", "O2", 4, 3)])
    assert picked(made) == {("S1", "O2"): 4, ("S1", "O1"): 6, ("S2", "O1"): 4}
    assert [(pick.week, pick.fixed) for pick in made.picks if pick.wish == "O2"] == [(3, True)]


def test_a_line_that_lost_its_wood_to_a_hand_says_so():
    made = plan(
        [wood("S1", 10)], [order("O1", 10), order("O2", 8, priority=3)], fixed=[Fixed("S1", "O2", 8, 0)]
    )
    assert texts(made, "O1") == "choices made by hand give O2 (8)"


def test_one_delivery_follows_the_hand_that_fixed_its_week():
    made = plan(
        [wood("S1", 10), wood("S2", 5)], [order("O1", 12, parts=False)], fixed=[Fixed("S2", "O1", 5, 2)]
    )
    assert made.given("O1") == 12 and {pick.week for pick in made.picks} == {2}


@pytest.mark.parametrize(
    ("fixed", "said"),
    [
        ([Fixed("S1", "O1", 11, 0)], "11 of S1 were fixed by hand, for O1, but it holds 10"),
        ([Fixed("S1", "O1", 6, 0), Fixed("S1", "O2", 6, 0)], "for O1 and O2, but it holds 10"),
        ([Fixed("S2", "O3", 4, 0)], "4 cuttings were fixed by hand for O3, which asks for 3"),
        ([Fixed("S9", "O1", 1, 0)], "there is no S9"),
        ([Fixed("S1", "O9", 1, 0)], "there is no O9"),
        ([Fixed("S1", "O1", 0, 0)], "that is no cutting at all"),
        ([Fixed("S1", "O1", 1, 8)], "the plan has 8 weeks"),
        ([Fixed("S3", "O1", 1, 0)], "O1 asks for Anon and this is Ash"),
        ([Fixed("S4", "O1", 1, 0)], "it was cut for grafting and O1 is for rooting"),
        ([Fixed("S5", "O3", 1, 0)], "its grade is B and O3 takes A"),
        ([Fixed("S2", "O1", 1, 7)], "it can be picked for O1 only from 5 Jan 2026 to 25 Jan 2026"),
        ([Fixed("S2", "O4", 1, 5)], "it is never good within the window of O4"),
        (
            [Fixed("S1", "O5", 1, 0), Fixed("S5", "O5", 1, 3)],
            "O5 goes in one delivery and no day suits them all",
        ),
    ],
)
def test_a_choice_that_cannot_be_kept_is_named_with_what_to_relax(fixed, said):
    supplies = [
        wood("S1", 10),
        wood("S2", 10, use_by=day(20)),
        wood("S3", 5, "Ash"),
        wood("S4", 5, use="grafting"),
        wood("S5", 5, grade="B"),
    ]
    wishes = [
        order("O1", 20),
        order("O2", 20),
        order("O3", 3, grades=("A",)),
        order("O4", 3, first=day(35)),
        order("O5", 9, parts=False),
    ]
    with pytest.raises(Contradiction, match="Nothing was allotted") as caught:
        plan(supplies, wishes, fixed=fixed)
    assert said in f"{caught.value}"
    assert all(conflict.relax and conflict.wishes for conflict in caught.value.conflicts)


def test_two_wishes_of_one_key_are_refused():
    with pytest.raises(Contradiction, match="2 wish entries are called O1"):
        plan([wood("S1", 5)], [order("O1", 1), order("O1", 2)])


def test_two_supplies_of_one_key_are_refused():
    with pytest.raises(Contradiction, match="2 supply entries are called S1"):
        plan([wood("S1", 5), wood("S1", 6)], [order("O1", 1)])


def test_a_backup_larger_than_the_stock_names_the_wishes_that_wait_for_it():
    made = plan([wood("S1", 5)], [order("O1", 4)], backup={"Anon": 9})
    assert made.picks == () and made.conflicts[0].wishes == ("O1",)
    assert "a backup of 9 is to be kept of Anon, but 5 are there" in made.conflicts[0].what


def test_a_backup_that_a_hand_gave_away_names_the_hand():
    made = plan([wood("S1", 5)], [order("O1", 4)], backup={"Anon": 2}, fixed=[Fixed("S1", "O1", 4, 0)])
    assert "4 of them are fixed by hand for O1" in made.conflicts[0].what and made.given("O1") == 4


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"first": day(5), "last": day(1)}, "its window ends on 6 Jan 2026, before it begins on 10 Jan 2026"),
        ({"least": 9}, "takes 9 or more of 4"),
        ({"kind": "gift"}, "kind 'gift'"),
        ({"worth": 0.0}, "a cutting is worth 0"),
        ({"substitutes": ("Anon",)}, "a variety is named twice"),
    ],
)
def test_a_wish_that_cannot_be_true_is_refused_at_birth(wrong, said):
    with pytest.raises(ValueError, match=said):
        order("O1", 4, **wrong)


def test_the_order_of_asking_changes_nothing():
    supplies = [wood(f"S{i}", 4 + i, use_by=day(7 * i + 3)) for i in range(5)]
    wishes = [order(f"O{i}", 9, worth=1 + i % 2) for i in range(5)]
    assert plan(supplies, wishes) == plan(supplies[::-1], wishes[::-1]) == plan(supplies, wishes)


def stood(made):
    return {(pick.supply, pick.wish): pick.count for pick in made.picks}


def test_among_equal_plans_the_one_before_stays():
    supplies, wishes = [wood("S1", 10), wood("S2", 10)], [order("O1", 10), order("O2", 10)]
    first = plan(supplies, wishes)
    other = [
        Fixed(pick.supply, {"O1": "O2", "O2": "O1"}[pick.wish], pick.count, pick.week) for pick in first.picks
    ]
    swapped = plan(supplies, wishes, fixed=other)
    again = plan(supplies, wishes, previous=stood(swapped))
    assert picked(again) == picked(swapped) != picked(first)


def test_the_odd_cutting_stays_where_it_was():
    supplies, wishes = [wood("S1", 13)], [order("O1", 10), order("O2", 10)]
    first = plan(supplies, wishes)
    assert (first.given("O1"), first.given("O2")) == (7, 6)
    swapped = plan(supplies, wishes, fixed=[Fixed("S1", "O2", 7, 0)])
    again = plan(supplies, wishes, previous=stood(swapped))
    assert (again.given("O1"), again.given("O2")) == (6, 7)


def test_a_new_line_of_another_variety_moves_nothing():
    supplies = [wood(f"S{i}", 7) for i in range(4)] + [wood("T1", 9, "Ash")]
    wishes = [order(f"O{i}", 9) for i in range(4)]
    before = picked(plan(supplies, wishes))
    after = picked(plan(supplies, [*wishes, order("A1", 5, "Ash")]))
    assert {place: count for place, count in after.items() if place[1] != "A1"} == before


def test_more_wood_is_asked_for_in_numbers_and_fills_the_line():
    made = plan([wood("S1", 6)], [order("O1", 10, last=day(38), grades=("A",))])
    (change,) = made.changes
    assert change.text == "4 more cuttings of Anon for rooting of grade A by 12 Feb 2026 would fill O1"
    assert (
        plan([wood("S1", 6), wood("S2", change.count, ready=day(38))], [order("O1", 10, last=day(38))]).short
        == ()
    )


def test_what_binds_is_named_with_its_worth():
    made = plan([wood("S1", 6)], [order("O1", 10, worth=3.0), order("O2", 2, worth=2.0)])
    (row,) = made.binds
    assert (row.variety, row.there, row.given, row.short, row.worth) == ("Anon", 6, 6, 6, 3.0)


def test_progress_rises_to_one():
    seen: list[float] = []
    plan([wood("S1", 6), wood("S2", 6, "Ash")], [order("O1", 10), order("O2", 3, "Ash")], tell=seen.append)
    assert seen == sorted(seen) and seen[-1] == 1.0


VARIETIES = st.sampled_from(["Ash", "Bay"])
DAYS = st.integers(-7, 40).map(day)


@st.composite
def asks(draw):
    """A season of a few lots and lines, and whatever a hand may have fixed."""
    supplies = [
        wood(
            f"S{i}",
            draw(st.integers(0, 9)),
            draw(VARIETIES),
            grade=draw(st.sampled_from("AB")),
            use=draw(st.sampled_from(["rooting", "grafting"])),
            ready=draw(DAYS),
            use_by=draw(st.none() | DAYS),
            kept_back=draw(st.sampled_from([0.0, 0.3])),
        )
        for i in range(draw(st.integers(0, 5)))
    ]
    wishes = []
    for i in range(draw(st.integers(0, 5))):
        variety, count, begin = draw(VARIETIES), draw(st.integers(1, 9)), draw(st.integers(-7, 35))
        wishes.append(
            order(
                f"O{i}",
                count,
                variety,
                use=draw(st.sampled_from(["rooting", "grafting"])),
                first=day(begin),
                last=day(begin + draw(st.integers(0, 30))),
                grades=draw(st.sampled_from([(), ("A",)])),
                substitutes=draw(st.sampled_from([(), ("Bay" if variety == "Ash" else "Ash",)])),
                worth=draw(st.sampled_from([1.0, 2.5])),
                priority=draw(st.integers(1, 2)),
                least=draw(st.sampled_from([1, count])),
                parts=draw(st.booleans()),
            )
        )
    backup = {"Ash": draw(st.integers(0, 5))}
    fixed = []
    if supplies and wishes and draw(st.booleans()):
        fixed.append(
            Fixed(
                draw(st.sampled_from(supplies)).key,
                draw(st.sampled_from(wishes)).key,
                draw(st.integers(1, 4)),
                draw(st.integers(0, 4)),
            )
        )
    return supplies, wishes, backup, fixed


@given(asks())
@settings(max_examples=150)
def test_whatever_is_asked_a_plan_gives_only_what_may_be_given(ask):
    supplies, wishes, backup, fixed = ask
    try:
        made = plan(supplies, wishes, weeks=5, backup=backup, fixed=fixed)
    except Contradiction:
        assert fixed
        return
    wood_of, wish_of = {s.key: s for s in supplies}, {w.key: w for w in wishes}
    for pick in made.picks:
        supply, wish = wood_of[pick.supply], wish_of[pick.wish]
        assert pick.count > 0 and wish.takes(supply)
        assert (
            max(supply.ready, wish.first, MONDAY)
            <= pick.day
            <= min(supply.use_by or date.max, wish.last, day(34))
        )
        assert pick.week == (pick.day - MONDAY).days // 7
    for key, left in made.left.items():
        given_away = sum(pick.count for pick in made.picks if pick.supply == key)
        by_hand = sum(pick.count for pick in made.picks if pick.supply == key and pick.fixed)
        assert left == wood_of[key].count - given_away and given_away <= max(wood_of[key].free, by_hand)
    ash = sum(left for key, left in made.left.items() if wood_of[key].variety == "Ash")
    assert fixed or ash >= min(backup["Ash"], sum(s.count for s in supplies if s.variety == "Ash"))
    for wish in wishes:
        days = {pick.day for pick in made.picks if pick.wish == wish.key}
        assert made.given(wish.key) <= wish.count and (wish.parts or len(days) <= 1)
        by_hand = any(one.wish == wish.key for one in fixed)
        assert by_hand or made.given(wish.key) == 0 or made.given(wish.key) >= wish.least
    assert {one.wish for one in made.short} == {w.key for w in wishes if made.given(w.key) < w.count}
    assert all(one.whys and all(why.text for why in one.whys) for one in made.short)
    assert all(why.kind != "search" for one in made.short for why in one.whys)
    assert {(one.supply, one.wish, one.count, one.week) for one in fixed} <= {
        (p.supply, p.wish, p.count, p.week) for p in made.picks if p.fixed
    }


@given(asks())
@settings(max_examples=40)
def test_the_wood_asked_for_fills_the_line_once_it_is_kept_for_it(ask):
    supplies, wishes, backup, fixed = ask
    if fixed:
        return
    made = plan(supplies, wishes, weeks=5, backup=backup)
    for change in made.changes:
        wish = next(one for one in wishes if one.key == change.wish)
        window = (max(wish.first, MONDAY), min(wish.last, day(34)))
        if change.kind != "wood" or window[0] > window[1] or not wish.parts or wish.variety in backup:
            continue
        more = wood("More", change.count, wish.variety, use=wish.use, ready=window[0])
        hold = [Fixed("More", wish.key, change.count, (window[0] - MONDAY).days // 7)]
        hold += [Fixed(p.supply, p.wish, p.count, p.week) for p in made.picks if p.wish == wish.key]
        assert (
            plan([*supplies, more], wishes, weeks=5, backup=backup, fixed=hold).given(wish.key) == wish.count
        )
