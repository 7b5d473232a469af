"""Every public function of science is given what it should not be given; a new function must say here what it does then.

For each argument: text is refused; NaN stays NaN, counts for nothing, or is refused; infinity is refused or lets the limit be told; nothing gives
nothing; one is enough; arrays that do not fit one another are refused. What else cannot be (a percentage, °F, time that
runs backwards) stands with its function.
"""

import inspect
from dataclasses import dataclass, field
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import ortet.science
from ortet.science import (
    air,
    bag,
    chill,
    climate,
    doses,
    film,
    heat,
    leaves,
    oxygen,
    race,
    reserve,
    response,
    rot,
    solution,
    species,
    thermal_time,
)

ROOM = Path(ortet.science.__file__).parent
STAYS, NOTHING, REFUSED, GIVES = "NaN stays NaN", "counts for nothing", "refused", "gives a number"
HOURS = [2.0, 4.0, 6.0]
CALLUS = {"t_min": 2.0, "t_opt": 20.0, "t_max": 35.0, "days_at_optimum": 10.0}
HEAT = {"t_base": 4.0, "t_opt": 25.0, "t_crit": 36.0}
NEED = {"heat": 5000.0, "heat_unchilled": 20000.0, "overlap": 20.0}
BURN = {"rate_ref": 5.7, "t_ref": 5.0, "q10": 2.0, "water_content": 0.5}
GRAPE = race.Pace.of(species.species("grape"))


@dataclass
class Ask:
    """A function, arrays that suit it, what else it needs, and what it does with what does not suit."""

    call: Any
    good: dict[str, Any] = field(default_factory=dict)
    also: dict[str, Any] = field(default_factory=dict)
    nan: dict[str, str] = field(default_factory=dict)  # by argument, where it is not STAYS
    inf: dict[str, str] = field(default_factory=dict)  # by argument, where it is not REFUSED
    empty: str = GIVES
    wrong: list[tuple[dict[str, Any], str]] = field(default_factory=list)
    error: type[Exception] = ValueError

    def __call__(self, **other):
        return self.call(**{**self.also, **self.good, **other})


def flat(answer):
    """Return an answer's numbers in one row."""
    if isinstance(answer, race.Race):
        answer = answer.too_early
    if isinstance(answer, tuple):
        answer = np.concatenate([np.ravel(part) for part in answer])
    return np.ravel(np.asarray(answer, dtype=float))


PERCENT = "looks like a percentage"
NO_AIR = "no air temperature in °C.*was °F meant"

ASKS = {
    "air.saturation_vapour_pressure": Ask(
        air.saturation_vapour_pressure,
        {"air_c": HOURS},
        wrong=[({"air_c": [2.0, 212.0]}, "place 1.*Celsius")],
    ),
    "air.dew_point": Ask(
        air.dew_point,
        {"air_c": HOURS, "humidity": [0.5, 0.6, 0.7]},
        wrong=[({"humidity": [0.5, 55.0, 0.6]}, PERCENT), ({"humidity": -0.1}, "outside 0 to 1")],
    ),
    "air.vapour_pressure_deficit": Ask(
        air.vapour_pressure_deficit,
        {"air_c": HOURS, "humidity": [0.5, 0.6, 0.7]},
        wrong=[
            ({"humidity": 95}, PERCENT),
            ({"humidity": [0.5, -0.1, 0.5]}, "place 1"),
            ({"humidity": 101}, "outside 0 to 1"),
        ],
    ),
    "air.humidity_over_water": Ask(
        air.humidity_over_water,
        {"psi_mpa": [-1.0, -2.0, -3.0], "air_c": HOURS},
        wrong=[({"psi_mpa": [-1.0, 1.3, -1.0]}, "place 1.*minus sign")],
    ),
    "bag.bark_conductance": Ask(
        bag.bark_conductance,
        {"mmol": [1.0, 2.0, 3.0], "bark_m2": [0.1, 0.2, 0.3]},
        wrong=[({"mmol": -1.0}, "below 0")],
    ),
    "bag.bare_loss": Ask(
        bag.bare_loss,
        {
            "mmol": [1.0, 2.0, 3.0],
            "bark_m2": [0.1, 0.2, 0.3],
            "wood_c": HOURS,
            "outside_pa": [400.0, 500.0, 600.0],
        },
        {"activity": 0.99},
        wrong=[({"activity": 99.0}, PERCENT), ({"outside_pa": -1.0}, "below 0")],
    ),
    "bag.steady_loss": Ask(
        bag.steady_loss,
        {"bark": [1e-3] * 3, "leak": [1e-4] * 3, "wood_c": HOURS, "film_c": HOURS, "outside_pa": [400.0] * 3},
        wrong=[
            ({"leak": -1.0}, "below 0"),
            ({"activity": 99.0}, PERCENT),
            ({"bark": 0.0, "leak": 0.0}, "above 0"),
        ],
    ),
    "bag.in_series": Ask(
        bag.in_series,
        {"source": [1.0, 2.0, 0.0], "leak": [1.0, 2.0, 3.0]},
        wrong=[({"leak": -1.0}, "below 0")],
    ),
    "bag.wood_temperature": Ask(
        bag.wood_temperature,
        {"air_c": HOURS},
        nan={"air_c": REFUSED},
        wrong=[({"air_c": [2.0, 212.0]}, "at place 1.*Was °F meant"), ({"lag_h": 0.0}, "above 0")],
    ),
    "bag.applies": Ask(bag.applies, {"wood_c": HOURS}, nan={"wood_c": GIVES}, inf={"wood_c": GIVES}),
    "chill.missing_hours": Ask(
        chill.missing_hours, {"air_c": HOURS}, nan={"air_c": GIVES}, wrong=[({"air_c": [2.0, 75.0]}, NO_AIR)]
    ),
    "chill.chilling_hours": Ask(
        chill.chilling_hours,
        {"air_c": HOURS},
        {"running": True},
        nan={"air_c": NOTHING},
        wrong=[({"air_c": [2.0, 75.0]}, NO_AIR)],
    ),
    "chill.utah_units": Ask(
        chill.utah_units,
        {"air_c": HOURS},
        {"running": True},
        nan={"air_c": NOTHING},
        wrong=[({"air_c": [2.0, 75.0]}, NO_AIR)],
    ),
    "chill.chill_portions": Ask(
        chill.chill_portions,
        {"air_c": HOURS},
        {"running": True},
        nan={"air_c": NOTHING},
        wrong=[({"air_c": [2.0, 75.0]}, NO_AIR)],
    ),
    "climate.hourly": Ask(
        climate.hourly,
        {"air_c": HOURS},
        wrong=[({"air_c": [2.0, 75.0]}, "Hour 1: 75 is " + NO_AIR), ({"air_c": -100.0}, NO_AIR)],
    ),
    "climate.hourly_means": Ask(
        climate.hourly_means,
        {"at_s": [0, 3600, 7200], "values": HOURS},
        {"first_hour": 0, "hours": 3},
        nan={"at_s": REFUSED},
        wrong=[({"values": HOURS[:2]}, "3 times but 2 values"), ({"hours": -1}, "Cannot make -1 hours")],
    ),
    "climate.fill_gaps": Ask(
        climate.fill_gaps,
        {"values": HOURS},
        nan={"values": NOTHING},
        wrong=[
            ({"values": [np.nan] * 2}, "None of the 2 hours"),
            ({"values": [HOURS, HOURS]}, "one record at a time"),
        ],
    ),
    "climate.day_length": Ask(
        climate.day_length,
        {"day_of_year": [1.0, 100.0, 200.0]},
        {"latitude": 47.0},
        wrong=[
            ({"latitude": 95.0}, "outside -90 to 90"),
            ({"latitude": np.nan}, "outside -90 to 90"),
            ({"day_of_year": 0}, "outside 1 to 367"),
        ],
    ),
    "climate.hours_from_daily": Ask(
        climate.hours_from_daily,
        {"low_c": [1.0, 2.0, 3.0], "high_c": [9.0, 9.0, 9.0], "day_of_year": [1.0, 2.0, 3.0]},
        {"latitude": 47.0},
        wrong=[
            ({"low_c": [1.0, 10.0, 3.0]}, "Day 2: the low 10 °C is above"),
            ({"high_c": [70.0, 71.0, 80.0]}, NO_AIR),
        ],
    ),
    "climate.looks_fahrenheit": Ask(
        climate.looks_fahrenheit, {"values": HOURS}, nan={"values": GIVES}, inf={"values": GIVES}
    ),
    "doses.doses": Ask(doses.doses, wrong=[]),
    "film.film_permeance": Ask(
        film.film_permeance,
        {"thickness_um": [25.0, 50.0, 65.0], "layers": [1, 1, 2], "film_c": HOURS},
        {"polymer": "LDPE"},
        wrong=[
            ({"film_c": 75.0}, "was °F meant|Was °F meant"),
            ({"layers": 0}, "above 0"),
            ({"thickness_um": [25, -1, 3]}, "place 1"),
        ],
    ),
    "film.oxygen_permeance": Ask(
        film.oxygen_permeance,
        {"thickness_um": [25.0, 50.0, 65.0], "layers": [1, 1, 2], "film_c": HOURS},
        {"polymer": "LDPE"},
        wrong=[
            ({"film_c": 75.0}, "Was °F meant"),
            ({"layers": 0}, "above 0"),
            ({"thickness_um": [25, -1, 3]}, "place 1"),
        ],
    ),
    "film.film_factor": Ask(film.film_factor, {"film_c": HOURS}, wrong=[({"film_c": 75.0}, "Was °F meant")]),
    "film.oxygen_factor": Ask(
        film.oxygen_factor, {"film_c": HOURS}, wrong=[({"film_c": 75.0}, "Was °F meant")]
    ),
    "film.closure_leak": Ask(film.closure_leak, wrong=[({"closure": "string"}, "heat-seal")], error=KeyError),
    "heat.growing_degree_hours": Ask(
        heat.growing_degree_hours,
        {"air_c": HOURS},
        {"running": True},
        nan={"air_c": NOTHING},
        wrong=[
            ({"air_c": [2.0, 75.0]}, NO_AIR),
            ({"t_base": 30.0}, "must rise.*t_base"),
            ({"t_base": np.nan}, "must rise"),
        ],
    ),
    "leaves.heat_needed": Ask(
        leaves.heat_needed,
        {
            "chill": [0.0, 10.0, 20.0],
            "heat": [5000.0] * 3,
            "heat_unchilled": [20000.0] * 3,
            "overlap": [20.0] * 3,
        },
        nan={"heat": REFUSED, "heat_unchilled": REFUSED, "overlap": REFUSED},
        wrong=[
            ({"chill": [0.0, -1.0, 0.0]}, "below 0"),
            ({"heat": 30000.0}, "not"),
            ({"overlap": 0.0}, "above 0"),
        ],
    ),
    "leaves.winter_so_far": Ask(
        leaves.winter_so_far,
        {"air_c": HOURS},
        {"chill_needed": 30.0},
        nan={"air_c": NOTHING},
        wrong=[({"air_c": [2.0, 75.0]}, NO_AIR)],
    ),
    "leaves.leaf_progress": Ask(
        leaves.leaf_progress,
        {"air_c": HOURS},
        {**NEED, "running": True},
        nan={"air_c": NOTHING},
        wrong=[
            ({"air_c": [2.0, 75.0]}, NO_AIR),
            ({"heat_before": -1.0}, "below 0"),
            ({"chill_before": -1.0}, "below 0"),
        ],
    ),
    "oxygen.oxygen_needed": Ask(
        oxygen.oxygen_needed,
        {"co2_mg_per_kg_h": [5.0, 6.0, 7.0], "wood_kg": [0.1, 0.2, 0.3]},
        wrong=[({"wood_kg": -1.0}, "Wood -1 kg is below 0"), ({"co2_mg_per_kg_h": [1, -1, 1]}, "place 1")],
    ),
    "oxygen.headspace_ml": Ask(
        oxygen.headspace_ml,
        {"film_m2": [0.2, 0.3, 0.4], "wood_g": [100.0, 200.0, 300.0]},
        wrong=[({"film_m2": -1.0}, "below 0")],
    ),
    "oxygen.oxygen_after": Ask(
        oxygen.oxygen_after,
        {
            "at_first": [0.2] * 3,
            "needed": [1.0] * 3,
            "conductance": [20.0] * 3,
            "air_ml": [2500.0] * 3,
            "hours": [1.0, 2.0, 3.0],
        },
        inf={"hours": GIVES},
        wrong=[
            ({"at_first": 20.95}, PERCENT),
            ({"conductance": 0.0}, "above 0"),
            ({"hours": -1.0}, "below 0"),
            ({"needed": -1.0}, "below 0"),
        ],
    ),
    "race.race": Ask(
        race.race,
        {"base_c": [20.0, 22.0, 24.0], "air_c": HOURS, "chill": [10.0] * 3, "heat": [0.0] * 3},
        {"pace": GRAPE, "days": 20},
        nan=dict.fromkeys(("base_c", "air_c", "chill", "heat"), REFUSED),
        wrong=[
            ({"base_c": 75.0}, NO_AIR),
            ({"chill": -1.0}, "below 0"),
            ({"heat": -1.0}, "below 0"),
            ({"days": 0}, "more than 0 days"),
        ],
    ),
    "race.race_on_record": Ask(
        race.race_on_record,
        {"base_c": [20.0, 22.0, 24.0], "air_c": HOURS},
        {"pace": GRAPE, "chill": 10.0, "heat": 0.0},
        nan={"base_c": NOTHING, "air_c": NOTHING},
        empty=REFUSED,
        wrong=[
            ({"base_c": [75.0] * 3}, NO_AIR),
            ({"heat": -1.0}, "below 0"),
            ({"chill": -1.0}, "below 0"),
            ({"air_c": [2.0]}, "as many"),
        ],
    ),
    "reserve.respiration": Ask(
        reserve.respiration,
        {"air_c": HOURS, "rate_ref": [5.0] * 3, "t_ref": [5.0] * 3, "q10": [2.0] * 3},
        wrong=[({"rate_ref": -1.0}, "negative|below 0"), ({"q10": 0.0}, "above 0"), ({"air_c": 150.0}, "°F")],
    ),
    "reserve.hexose_used": Ask(
        reserve.hexose_used,
        {"air_c": HOURS},
        {**BURN, "running": True},
        nan={"air_c": NOTHING},
        wrong=[
            ({"air_c": [2.0, 75.0]}, NO_AIR),
            ({"water_content": 50.0}, PERCENT),
            ({"water_content": 1.0}, "Water must be below 1"),
        ],
    ),
    "reserve.reserve_left": Ask(
        reserve.reserve_left,
        {"used_g_per_kg": [1.0, 2.0, 3.0], "reserve_share": [0.1] * 3, "usable_share": [0.3] * 3},
        wrong=[
            ({"reserve_share": 12.0}, PERCENT),
            ({"usable_share": 0.0}, "above 0"),
            ({"used_g_per_kg": -1.0}, "below 0"),
        ],
    ),
    "reserve.reserve_days": Ask(
        reserve.reserve_days,
        {
            "rate": [1.0, 2.0, 3.0],
            "water_content": [0.5] * 3,
            "reserve_share": [0.1] * 3,
            "usable_share": [0.3] * 3,
        },
        wrong=[
            ({"water_content": 50.0}, PERCENT),
            ({"reserve_share": 12.0}, PERCENT),
            ({"rate": -1.0}, "below 0|negative"),
        ],
    ),
    "response.temperature_response": Ask(
        response.temperature_response,
        {"t_c": HOURS, "t_min": [0.0] * 3, "t_opt": [20.0] * 3, "t_max": [35.0] * 3},
        nan={"t_min": REFUSED, "t_opt": REFUSED, "t_max": REFUSED},
        wrong=[
            ({"t_opt": 40.0}, "must rise, t_opt below t_max"),
            ({"t_min": [0.0, 30.0, 0.0]}, "t_min below t_opt"),
        ],
    ),
    "rot.germination_hours": Ask(rot.germination_hours, {"film_c": HOURS}),
    "rot.wet_index": Ask(
        rot.wet_index,
        {"wet": [1.0, 0.5, 1.0], "film_c": HOURS},
        {"running": True},
        nan={"wet": NOTHING, "film_c": REFUSED},
        wrong=[
            ({"wet": [0.5, 50.0, 1.0]}, PERCENT),
            ({"film_c": [2.0, np.nan, 2.0]}, "Hour 1 is wet and has no temperature"),
        ],
    ),
    "rot.broome_infection": Ask(
        rot.broome_infection,
        {"wet_hours": [4.0, 8.0, 12.0], "air_c": [15.0, 20.0, 25.0]},
        wrong=[
            ({"air_c": 4.0}, "germination_hours"),
            ({"air_c": 68.0}, "outside 12 to 30"),
            ({"wet_hours": -1.0}, "below 0"),
        ],
    ),
    "solution.grams_per_litre": Ask(
        solution.grams_per_litre,
        {"amount": [1.0, 2.0, 3.0], "density": [1.0, 1.1, 1.2]},
        {"written": "% by mass"},
        wrong=[
            ({"amount": 3000.0}, "was ppm meant"),
            ({"amount": [1.0, -1.0, 1.0]}, "place 1"),
            ({"written": "cups"}, "write one of"),
        ],
    ),
    "solution.as_written": Ask(
        solution.as_written,
        {"strength": [1.0, 2.0, 3.0], "density": [1.0, 1.1, 1.2]},
        {"written": "% by mass"},
        wrong=[
            ({"strength": -1.0}, "0 or more"),
            ({"written": "cups"}, "write one of"),
            ({"written": "% by volume"}, "density of the pure"),
        ],
    ),
    "solution.stock_volume": Ask(
        solution.stock_volume,
        {"stock": [5.0] * 3, "target": [0.5] * 3, "volume": [1.0, 2.0, 3.0]},
        wrong=[({"target": 6.0}, "stronger than the stock"), ({"volume": 0.0}, "above 0")],
    ),
    "solution.water_parts": Ask(
        solution.water_parts, {"stock": [5.0] * 3, "target": [0.5] * 3}, wrong=[({"target": 6.0}, "stronger")]
    ),
    "solution.mixed": Ask(
        solution.mixed,
        {"stock": [5.0] * 3, "parts": [1.0] * 3, "water": [9.0] * 3},
        wrong=[({"parts": 0.0}, "above 0"), ({"water": -1.0}, "0 or more")],
    ),
    "solution.grams_to_weigh": Ask(
        solution.grams_to_weigh,
        {"strength": [3.0] * 3, "litres": [1.0] * 3, "purity": [0.98] * 3, "acid_share": [0.8] * 3},
        wrong=[({"purity": 98.0}, PERCENT), ({"litres": 0.0}, "above 0")],
    ),
    "solution.hypochlorous_share": Ask(
        solution.hypochlorous_share,
        {"ph": [7.0, 8.0, 9.0], "water_c": [5.0, 20.0, 30.0]},
        wrong=[({"water_c": 68.0}, "°F"), ({"ph": 15.0}, "0 to 14")],
    ),
    "solution.half_life": Ask(
        solution.half_life,
        {"left": [0.5, 0.6, 0.7], "time": [1.0, 2.0, 3.0]},
        wrong=[({"left": 45.0}, PERCENT), ({"left": 1.0}, "Nothing was lost")],
    ),
    "solution.share_left": Ask(
        solution.share_left,
        {"time": [1.0, 2.0, 3.0], "half": [26.0] * 3},
        wrong=[({"time": -1.0}, "0 or more"), ({"half": 0.0}, "above 0")],
    ),
    "solution.time_above": Ask(
        solution.time_above,
        {"start": [5.0] * 3, "least": [1.0, 2.0, 3.0], "half": [26.0] * 3},
        wrong=[({"least": 0.0}, "above 0")],
    ),
    "species.species": Ask(species.species, wrong=[({"key": "oak"}, "Known: grape")], error=KeyError),
    "species.known_species": Ask(species.known_species),
    "species.read_species": Ask(
        species.read_species,
        wrong=[
            ({"table": {"any": {}, "group": {}, "species": {"x": {"group": "y"}}}}, "no group 'y'"),
            ({"table": {"any": {"q": 1}}}, "no such number"),
        ],
    ),
    "thermal_time.thermal_progress": Ask(
        thermal_time.thermal_progress,
        {"t_c": HOURS},
        {**CALLUS, "running": True},
        nan={"t_c": NOTHING},
        wrong=[
            ({"t_c": [2.0, 75.0]}, NO_AIR),
            ({"t_opt": 40.0}, "must rise"),
            ({"days_at_optimum": 0.0}, "above 0"),
        ],
    ),
    "thermal_time.share_done": Ask(
        thermal_time.share_done,
        {"progress": [0.5, 1.0, 1.5], "spread": [0.3] * 3, "never": [0.2] * 3},
        nan={"spread": REFUSED},
        inf={"progress": GIVES},
        wrong=[
            ({"progress": -1.0}, "below 0"),
            ({"spread": 0.0}, "above 0"),
            ({"never": 20.0}, "0 to 1|percentage"),
        ],
    ),
    "thermal_time.days_needed": Ask(
        thermal_time.days_needed,
        {
            "t_c": [20.0, 22.0, 24.0],
            "t_min": [2.0] * 3,
            "t_opt": [20.0] * 3,
            "t_max": [35.0] * 3,
            "days_at_optimum": [10.0] * 3,
            "spread": [0.3] * 3,
        },
        nan={"t_min": REFUSED, "t_opt": REFUSED, "t_max": REFUSED},
        wrong=[({"share": 50.0}, "between 0 and 1"), ({"days_at_optimum": 0.0}, "above 0")],
    ),
}
# these take values made by their neighbours, never what a person typed: checked where those are made
INNER = {"bag.advance", "bag.flows", "chill.bank", "chill.rates", "climate.add_up"}
ARGUMENTS = [(name, argument) for name, ask in ASKS.items() for argument in ask.good]


def functions():
    """List the public functions: module.function."""
    out = []
    for file in sorted(ROOM.glob("*.py")):
        if file.stem in ("__init__", "checked", "compiled") or file.stem.endswith(("_loop", "_kernel")):
            continue
        room = import_module(f"ortet.science.{file.stem}")
        own = [
            n
            for n in room.__all__
            if inspect.isfunction(getattr(room, n)) and getattr(room, n).__module__ == room.__name__
        ]
        out += [f"{file.stem}.{name}" for name in own]
    return out


def with_one(values, place, what):
    out = np.array(values, dtype=float)
    out[place] = what
    return out


def test_every_public_function_takes_part():
    assert set(functions()) == set(ASKS) | INNER


@pytest.mark.parametrize("name", [name for name, ask in ASKS.items() if ask.good])
def test_what_suits_is_taken(name):
    assert np.isfinite(flat(ASKS[name]())).all()


@pytest.mark.parametrize(("name", "argument"), ARGUMENTS)
def test_text_is_refused(name, argument):
    with pytest.raises(ValueError, match=r"numbers are needed|convert"):
        ASKS[name](**{argument: ["cold", "warm", "hot"]})


@pytest.mark.parametrize(("name", "argument"), ARGUMENTS)
def test_a_gap_does_what_is_said_of_it(name, argument):
    ask = ASKS[name]
    holed = {argument: with_one(ask.good[argument], 1, np.nan)}
    kind = ask.nan.get(argument, STAYS)
    if kind == REFUSED:
        with pytest.raises(ValueError, match=r".{15}"):
            ask(**holed)
        return
    answer, whole = flat(ask(**holed)), flat(ask())
    if kind == STAYS:
        assert np.isnan(answer).any() and not np.isnan(answer).all()
        known = ~np.isnan(answer)
        if answer.size == whole.size == 3:
            assert np.isnan(answer).tolist() == [False, True, False]
            np.testing.assert_array_equal(answer[known], whole[known])
    else:
        assert np.isfinite(answer).all()


@pytest.mark.parametrize("endless", [np.inf, -np.inf])
@pytest.mark.parametrize(("name", "argument"), ARGUMENTS)
def test_what_is_endless_is_refused(name, argument, endless):
    ask = ASKS[name]
    given = {argument: with_one(ask.good[argument], 1, endless)}
    if ask.inf.get(argument, REFUSED) == GIVES and (endless > 0 or argument in ("wood_c", "values")):
        assert np.isfinite(flat(ask(**given))).all()
    else:
        with pytest.raises(ValueError, match="inf"):
            ask(**given)


@pytest.mark.parametrize("name", [name for name, ask in ASKS.items() if ask.good])
def test_of_nothing_comes_nothing(name):
    ask = ASKS[name]
    nothing = {argument: [] for argument in ask.good}
    if ask.empty == REFUSED:
        with pytest.raises(ValueError, match="0 hours"):
            ask(**nothing)
    else:
        assert not np.nan_to_num(flat(ask(**nothing)), nan=0.0).any()


@pytest.mark.parametrize("name", [name for name, ask in ASKS.items() if ask.good])
def test_one_is_enough(name):
    ask = ASKS[name]
    first = {argument: values[:1] for argument, values in ask.good.items()}
    answer = flat(ask(**first))
    assert answer.size and np.isfinite(answer[0])


@pytest.mark.parametrize(("name", "argument"), [(n, a) for n, a in ARGUMENTS if len(ASKS[n].good) > 1])
def test_arrays_that_do_not_fit_are_refused(name, argument):
    with pytest.raises(ValueError, match=r"[23]"):
        ASKS[name](**{argument: ASKS[name].good[argument][:2]})


@pytest.mark.parametrize(
    ("name", "given", "says"),
    [(name, given, says) for name, ask in ASKS.items() for given, says in ask.wrong],
)
def test_what_cannot_be_is_refused_and_says_so(name, given, says):
    with pytest.raises(ASKS[name].error, match=says):
        ASKS[name](**given)


def test_time_may_run_in_any_order_where_times_are_given():
    """Loggers are read in pieces; each value has its own time, so order carries nothing."""
    at_s, values = np.array([7200, 0, 3700, 3600]), np.array([6.0, 2.0, 5.0, 4.0])
    assert climate.hourly_means(at_s, values, 0, 3).tolist() == [2.0, 4.5, 6.0]
    assert climate.hourly_means(at_s[::-1], values[::-1], 0, 3).tolist() == [2.0, 4.5, 6.0]


@pytest.mark.parametrize("winter_f", [[28.0, 41.0, 76.0], [33.0, 75.0, 41.0], [140.0]])
def test_a_record_in_fahrenheit_is_refused_or_noticed(winter_f):
    """Above 70 °F it is refused; a milder one is left to `looks_fahrenheit`, whose median of 30 says it."""
    with pytest.raises(ValueError, match="was °F meant"):
        chill.chill_portions(winter_f)


def test_a_mild_record_in_fahrenheit_is_noticed():
    assert climate.looks_fahrenheit([33.0, 38.0, 45.0, 41.0])


def test_an_agent_that_nobody_dosed_has_no_doses():
    assert doses.doses("moonlight") == ()
