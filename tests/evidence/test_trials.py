"""Trials: laid out alike everywhere, silent where nothing differs, and of the size promised."""

import numpy as np
import pytest

from ortet.evidence.trials import (
    PlotCount,
    Record,
    Tray,
    judge,
    lay_out,
    read_design,
    say_effect,
    size_of,
    smallest_shown,
    spent,
    suggestions,
    written,
)

NAMES = ("none", "K-IBA", "talc")


def design(**more):
    asked = {"tray": Tray(6, 12), "plot_cuttings": 4, "blocks": 6, "seed": 7} | more
    return lay_out(NAMES, ("Dusk", "Lantern"), **asked)


def test_each_block_has_each_treatment_once_and_lies_in_one_row():
    laid = design()
    for block in range(1, laid.blocks + 1):
        mine = [plot for plot in laid.plots if plot.block == block]
        assert sorted(plot.treatment for plot in mine) == [0, 1, 2]
        assert len({plot.variety for plot in mine}) == 1
        assert len({row for plot in mine for row, _ in plot.cells}) == 1
    cells = [(plot.tray, cell) for plot in laid.plots for cell in plot.cells]
    assert len(cells) == len(set(cells)) == 72
    assert read_design(written(laid)) == laid


def test_a_seed_draws_the_same_layout_for_ever():
    """Worked out from SHA-256 of "7/treatments of block 0/k": any machine and any later version must draw this."""
    assert [plot.treatment for plot in design().plots[:6]] == [2, 0, 1, 1, 0, 2]
    assert design(seed=8) != design()


def test_over_many_seeds_each_treatment_comes_as_often_to_each_place():
    first = np.array([[plot.treatment for plot in design(seed=seed).plots] for seed in range(400)])
    shares = [(first[:, place] == treatment).mean() for place in range(18) for treatment in range(3)]
    assert min(shares) > 0.24 and max(shares) < 0.43  # 400 draws: 1/3 ± 4 standard errors


@pytest.mark.parametrize("alike", ["rows", "columns", "none", "trays"])
@pytest.mark.parametrize("edge", ["use", "guard", "block"])
def test_edges_are_used_kept_free_or_a_block_of_their_own(alike, edge):
    laid = design(tray=Tray(7, 10, alike, edge), plot_cuttings=2)
    outer = [plot for plot in laid.plots if any(r in (1, 7) or c in (1, 10) for r, c in plot.cells)]
    if edge == "guard":
        assert not outer
    if edge == "block" and alike != "trays":  # a block lies in the ring or inside it, never half in
        inside = {plot.block for plot in laid.plots} - {plot.block for plot in outer}
        assert outer and not inside & {plot.block for plot in outer}


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"plot_cuttings": 40}, "has not so many"),
        ({"blocks": 5}, "as many blocks of each"),
        ({"plot_cuttings": 0}, "give 1 or more"),
        ({"blocks": 2000}, "more than 400"),
    ],
)
def test_what_cannot_be_laid_out_is_refused(change, says):
    with pytest.raises(ValueError, match=says):
        design(**change)


def test_a_name_given_twice_is_refused():
    with pytest.raises(ValueError, match="each once"):
        lay_out(("none", "None"), ("Dusk",), tray=Tray(6, 12), plot_cuttings=4, blocks=3, seed=1)


def test_looks_spend_the_whole_level_and_no_more():
    assert sum(spent(look, 4) for look in range(1, 5)) == pytest.approx(0.05)
    assert spent(1, 1) == 0.05 and spent(5, 4) == 0.0


def counts(rng, *, blocks, cuttings, varieties=1, looks=1, effect=0.0, treatments=2, alike=0.03):
    """Counts at each look of blocks that differ, and of plots that differ more than chance makes them."""
    share = 1.0 / (1.0 + np.exp(-rng.normal(0.0, 0.5, blocks)))
    seen = [[] for _ in range(looks)]
    for block in range(blocks):
        for treatment in range(treatments):
            p = np.clip(share[block] + effect * (treatment > 0), 0.01, 0.99)
            own = rng.beta(p * (1 - alike) / alike, (1 - p) * (1 - alike) / alike)
            day = rng.random(cuttings) / own  # rooted by the last look where 1 or less
            for look in range(looks):
                by = 0.4 + 0.6 * (look + 1) / looks
                seen[look].append(
                    PlotCount(block + 1, f"V{block % varieties}", treatment, cuttings, int((day <= by).sum()))
                )
    return seen


def speaks(seen, treatments=2):
    """Whether any look says that anything differs."""
    looks = len(seen)
    verdicts = [judge(plots, treatments, look=k, looks=looks) for k, plots in enumerate(seen, 1)]
    return any(
        effect.says or any(one.says for one in effect.varieties)
        for told in verdicts
        for effect in told.effects
    )


@pytest.mark.parametrize(
    "trial",
    [
        {"blocks": 20, "cuttings": 8, "varieties": 10, "looks": 4, "trials": 60},
        {"blocks": 6, "cuttings": 10, "treatments": 4},
        {"blocks": 4, "cuttings": 20},
    ],
    ids=["ten varieties, four looks", "four treatments", "four blocks"],
)
def test_where_nothing_differs_one_trial_in_twenty_says_it_does(trial):
    """Of 120 trials a true 5 in 100 would claim 12 or more once in 60 runs, of 60 trials 8 or more once in 100; the draw is seeded.

    Larger simulations of seven such settings, when this was written, gave 2 to 6 in 100: docs/science/trials.md.
    """
    rng, often = np.random.default_rng(5), trial.get("trials", 120)
    asked = {name: value for name, value in trial.items() if name != "trials"}
    said = sum(speaks(counts(rng, **asked), trial.get("treatments", 2)) for _ in range(often))
    assert said < {120: 12, 60: 8}[often]


def test_a_trial_of_the_size_asked_shows_the_difference_as_often_as_promised():
    """Four times in five, less what 100 trials may stray. The plots' own noise is in the simulation, as it is in the size."""
    size = size_of(0.5, 0.75, plot_cuttings=10, sure=0.8)
    rng = np.random.default_rng(6)
    found = [
        judge(counts(rng, blocks=size.blocks, cuttings=10, effect=0.25)[0], 2).effects[0] for _ in range(100)
    ]
    assert np.mean([one.says == "more" for one in found]) > 0.7
    assert np.mean([one.low <= 0.25 <= one.high for one in found]) > 0.9


def test_more_looks_treatments_and_varieties_cost_cuttings():
    plain = size_of(0.5, 0.7)
    assert size_of(0.5, 0.7, looks=4).cuttings > plain.cuttings
    assert size_of(0.5, 0.7, treatments=4).cuttings > plain.cuttings
    assert size_of(0.5, 0.7, varieties=4).blocks % 4 == 0
    assert smallest_shown(0.5, 400) < smallest_shown(0.5, 100) < 0.3
    assert smallest_shown(0.5, 3) is None


def test_one_look_too_many_decides_nothing():
    plots = [PlotCount(b, "Dusk", t, 20, 4 + 14 * t) for b in (1, 2, 3, 4) for t in (0, 1)]
    assert judge(plots, 2).effects[0].says == "more"
    beyond = judge(plots, 2, look=2, looks=1)
    assert not beyond.may_speak and beyond.effects[0].says == ""
    assert "decides nothing" in say_effect(beyond.effects[0], beyond, NAMES, "12 Mar")


def test_a_verdict_is_said_in_plants_per_hundred():
    plots = [PlotCount(b, "Dusk", t, 50, 20 + 15 * t) for b in (1, 2, 3, 4) for t in (0, 1)]
    told = judge(plots, 2)
    said = say_effect(told.effects[0], told, NAMES, "12 Mar")
    assert said.startswith(
        "By 12 Mar, of 100 cuttings about 30 more had rooted with K-IBA than with none: between "
    )
    same = judge([PlotCount(b, "Dusk", t, 20, 10) for b in (1, 2, 3) for t in (0, 1)], 2)
    assert "do not tell K-IBA from none" in say_effect(same.effects[0], same, NAMES, "12 Mar")


def test_nothing_to_compare_is_refused():
    with pytest.raises(ValueError, match="nothing can be compared"):
        judge([PlotCount(1, "Dusk", 0, 10, 4), PlotCount(2, "Dusk", 1, 10, 6)], 2)
    with pytest.raises(ValueError, match="11 of 10"):
        PlotCount(1, "Dusk", 0, 10, 11)


def test_records_that_mislead_at_large_are_read_among_those_alike():
    """Charig et al. 1986, Br. Med. J. 292:879-882: open surgery 81/87 and 192/263 against 234/270 and 55/80 by small and large stones:
    worse at large (78 and 83 %), better in both. [published]
    """
    from datetime import date, timedelta

    def batches(kind, treatment, rooted, of):
        day = date(2027, 2, 1)
        half = of // 2
        return [
            Record(kind, treatment, day, "Warm", half, round(rooted * half / of)),
            Record(
                kind,
                treatment,
                day + timedelta(days=1),
                "Warm",
                of - half,
                rooted - round(rooted * half / of),
            ),
        ]

    records = [
        *batches("small", "none", 234, 270),
        *batches("small", "open", 81, 87),
        *batches("large", "none", 55, 80),
        *batches("large", "open", 192, 263),
    ]
    (told,) = suggestions(records)
    assert told.check == "none" and told.at_large == pytest.approx(273 / 350 - 289 / 350)
    assert told.alike[1] > 0 and told.comparable == 1.0
    assert "drew lots" in told.cannot[-1] and told.trial.treatments == ("none", "open")


def test_records_never_beside_each_other_suggest_only_a_trial():
    from datetime import date

    day = date(2027, 2, 1)
    records = [Record("Dusk", "none", day, "Warm", 20, 8)] * 3 + [
        Record("Lantern", "K-IBA", day.replace(month=3), "Cold", 20, 16)
    ] * 3
    (told,) = suggestions(records)
    assert told.alike is None and told.comparable == 0.0
    assert "no batch with it was struck beside one without" in told.words
    said = " ".join(told.cannot)
    assert "variety Lantern" in said and "bench Cold" in said and "28 days" in said
    assert told.trial.varieties and 0.1 <= told.trial.sought <= 0.4
