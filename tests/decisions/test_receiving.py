"""What is advised of wood that came in a parcel, reckoned by hand and held against what was published."""

from math import comb

import pytest

from ortet.decisions.receiving import Found, advise, bands, grounds, likely, water_lost
from ortet.decisions.take.chain import Beta
from ortet.science.species import known_species

SOUND = Found(
    "blackcurrant", stated=25, counted=25, mouldy=0, dead=0, scratch_green=10, scratch_of=10, buds="tight"
)


def found(**change: object) -> Found:
    """A sound line of 25, but for what is changed."""
    names = Found.__dataclass_fields__
    return Found(**{name: getattr(SOUND, name) for name in names} | change)


def said(*reasons: object) -> str:
    return " ".join(one.says for one in reasons)


def test_water_lost_is_reckoned_by_the_cutting():
    # by hand: 25 sent at 500 g are 20 g each, 20 come at 360 g are 18 g each: a tenth lost, not 28 %
    assert water_lost(
        found(counted=20, scratch_of=None, scratch_green=None, sent_g=500, came_g=360)
    ) == pytest.approx(0.1)
    assert water_lost(found(sent_g=500)) is None


@pytest.mark.parametrize(
    ("before", "after", "lost"),
    [(0.48, 0.41, 0.1186), (0.48, 0.33, 0.2239), (0.51, 0.43, 0.1404), (0.56, 0.43, 0.2281)],
)
def test_the_roses_of_the_literature_fall_into_their_bands(before, after, lost):
    """Schuch, Pemberton & Kelly 2007, HortScience 42:622-625, and HortScience 25:863 (1990): water by fresh mass. [published]

    Mass lost L = 1 - (1 - m0) / (1 - m1), with no dry matter lost. At 48 to 41 % no harm was seen, at 51 to 43 % most died,
    at 48 to 33 % 44 plants in 100 and a soak of 20 h brought the living from 38 to 75 in 100.
    """
    mass = (1 - before) / (1 - after)
    one = Found("rose", stated=10, counted=10, mouldy=0, dead=0, sent_g=1000, came_g=1000 * mass)
    assert water_lost(one) == pytest.approx(lost, abs=5e-4)
    at = bands("rose")
    assert (lost < at.limit) == (after == 0.41)
    assert advise(one).soak_h == (0 if lost < at.soak_from else 24)


@pytest.mark.parametrize(
    ("lost", "hours"),
    [(-0.06, 0), (0.0, 0), (0.049, 0), (0.07, 12), (0.099, 12), (0.12, 24), (0.2, 24), (0.4, 24)],
)
def test_the_soak_follows_what_was_lost_and_is_never_longer_than_a_day(lost, hours):
    assert advise(found(sent_g=500, came_g=500 * (1 - lost))).soak_h == hours


@pytest.mark.parametrize("kind", known_species())
def test_every_species_has_bands_that_rise(kind):
    at = bands(kind)
    assert 0 < at.soak_from <= at.limit <= at.high <= at.ruined < 1


def test_without_weights_wrinkled_bark_decides():
    assert advise(found()).soak_h == 0
    assert advise(found(wrinkled=True)).soak_h == 12
    assert advise(found(wrinkled=True, water="pooled")).soak_h == 0
    assert advise(found(wrinkled=True, sent_g=500, came_g=495)).soak_h == 12


def test_mould_is_dipped_but_never_callus_or_open_buds():
    dip = advise(found(mouldy=2)).dip
    assert dip and (dip.percent, dip.strength) == (0.5, "0.5 % NaOCl") and 5 <= dip.minutes <= 10
    for grows in ({"callus": 2}, {"buds": "open"}):
        assert advise(found(mouldy=2, **grows)).dip is None
    assert advise(found()).dip is None


@pytest.mark.parametrize(
    "seen", [{"scale": True}, {"mites": True}, {"bored": 1}, {"mouldy": 1}, {"reportable": True}]
)
def test_what_spreads_is_kept_apart(seen):
    assert advise(found(**seen)).is_apart
    assert not advise(found()).is_apart


def test_a_pest_that_may_have_to_be_reported_stops_everything():
    advice = advise(found(reportable=True, mouldy=3, dead=2, bored=1, sent_g=500, came_g=400), Beta(8, 2))
    assert (advice.then, advice.soak_h, advice.dip, advice.give_up, advice.strike) == (
        "hold",
        0,
        None,
        0,
        None,
    )
    assert advice.is_held and "plant-health authority" in said(*advice.keeping_apart)
    assert "burn" not in said(*advice.cleaning)


@pytest.mark.parametrize(
    ("seen", "then"),
    [
        ({}, "store"),
        ({"callus": 1}, "store"),
        ({"callus": 2}, "strike"),
        ({"buds": "swelling"}, "strike"),
        ({"buds": "open"}, "strike"),
        ({"smell": "sour"}, "strike"),
        ({"sent_g": 500.0, "came_g": 430.0}, "strike"),
        ({"days": 900.0}, "strike"),
        ({"dead": 25, "scratch_of": None, "scratch_green": None}, "give up"),
        ({"scratch_green": 0}, "give up"),
        ({"scratch_green": 0, "scratch_of": 9}, "store"),
        ({"reportable": True}, "hold"),
    ],
)
def test_store_or_strike(seen, then):
    assert advise(found(**seen)).then == then


def test_none_green_of_ten_is_under_26_in_100():
    """The exact binomial bound: 1 - 0.05^(1/10) = 0.2589 (Clopper & Pearson 1934). [published]"""
    assert "26 %" in said(*advise(found(scratch_green=0)).deciding)


def test_what_is_dead_or_bored_is_given_up():
    assert advise(found(dead=3, bored=2)).give_up == 5
    assert advise(found(scratch_green=0)).give_up == 25


def _betabinomial(n: int, a: float, b: float) -> list[float]:
    """The closed form, by rising factorials: C(n, k) a(a+1).. b(b+1).. / (a+b)(a+b+1)..."""

    def rising(x: float, k: int) -> float:
        out = 1.0
        for i in range(k):
            out *= x + i
        return out

    return [comb(n, k) * rising(a, k) * rising(b, n - k) / rising(a + b, n) for k in range(n + 1)]


def test_how_many_strike_is_the_sum_over_how_many_live():
    one = Found("blackcurrant", stated=8, counted=8, mouldy=0, dead=1, scratch_green=2, scratch_of=3)
    out = likely(one, Beta(6, 2))
    # by hand: 7 look alive, 2 are, of 4 more a share Beta(2.5, 1.5)
    alive = _betabinomial(4, 2.5, 1.5)
    chance = [0.0] * 8
    for more, weight in enumerate(alive):
        for struck, share in enumerate(_betabinomial(2 + more, 6, 2)):
            chance[struck] += weight * share
    assert out.of == 7
    assert out.mean == pytest.approx(sum(k * p for k, p in enumerate(chance)))
    assert out.mean == pytest.approx((2 + 4 * 2.5 / 4) * 6 / 8)
    assert out.alive == pytest.approx(4.5 / 7)
    for share, number in ((0.05, out.low), (0.5, out.middle), (0.95, out.high)):
        assert sum(chance[: number + 1]) >= share > sum(chance[:number])


def test_without_a_scratch_test_all_that_look_alive_count():
    out = likely(found(scratch_of=None, scratch_green=None), Beta(6, 2))
    assert (out.alive, out.mean) == (1.0, pytest.approx(25 * 0.75))
    assert "no scratch test" in out.rests_on


def test_nothing_left_strikes_nothing():
    out = likely(found(counted=3, dead=3, scratch_of=None, scratch_green=None), Beta(6, 2))
    assert (out.of, out.low, out.high, out.mean) == (0, 0, 0, 0)


@pytest.mark.parametrize(
    "wrong",
    [
        {"counted": -1},
        {"dead": 26},
        {"mouldy": 20, "dead": 6},
        {"scratch_green": 11},
        {"scratch_green": None},
        {"callus": 5},
        {"came_g": 0.0},
        {"sent_g": float("nan")},
        {"dead": 20},
    ],
)
def test_what_cannot_be_is_refused_with_the_figures(wrong):
    with pytest.raises(ValueError, match=r"\d|test|nan"):
        found(**wrong)


def test_what_is_claimed_has_its_figures():
    one = found(
        counted=22, dead=2, mouldy=1, scratch_green=7, sent_g=500, came_g=387.2, scale=True, label="missing"
    )
    words = " ".join(grounds(one, "Dusk"))
    # by hand: 500/25 = 20 g, 387.2/22 = 17.6 g: 12 % lost
    for part in (
        "25 stated, 22 came: 3 missing",
        "2 dead",
        "1 with mould",
        "12 %",
        "7 green of 10",
        "scale",
        "label missing",
    ):
        assert part in words
    assert grounds(SOUND, "Dusk") == ()
