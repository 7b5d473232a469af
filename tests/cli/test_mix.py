"""`ortet mix`, as typed."""

import json
from dataclasses import replace

import pytest
from typer.testing import CliRunner

from ortet.cli import app
from ortet.science.doses import doses
from ortet.work.mix import AGENTS, FORMS, Mixing, mix

pytestmark = pytest.mark.django_db


def ortet(*words: str, ends: int = 0) -> str:
    result = CliRunner().invoke(app, list(words))
    assert result.exit_code == ends, result.output + str(result.exception)
    return result.output


def said(agent: str, **asked: str) -> str:
    words = [word for name, value in asked.items() for word in (f"--{name.replace('_', '-')}", value)]
    return ortet("mix", agent, *words)


def test_ten_litres_of_half_a_per_cent():
    card = said("bleach", stock="6 % by mass", target="0.5 %", volume="10L")
    for words in (
        "9.17 L  cold water, first",
        "833 mL  bleach",
        "never water into bleach",
        "1 part of this bleach + 11 parts",
    ):
        assert words in card
    for caution in (
        "acids, ammonia",
        "gloves and eye protection",
        "fresh",
        "add bleach",
        "label is the law",
        "Never lower its pH",
    ):
        assert caution in " ".join(card.split())


@pytest.mark.parametrize(
    ("asked", "numbers"),
    [
        (Mixing("bleach", "0.5 %", "10 L", "5.25 % by mass"), {"stock_ml": 952.4, "g_per_l": 5}),
        (Mixing("bleach", "0.5 %", "10 L", "6 % by mass", density=1.08), {"stock_ml": 771.6, "g_per_l": 5}),
        (Mixing("bleach", "1000 ppm", "10 L", "6 % by mass"), {"stock_ml": 166.7, "g_per_l": 1}),
        (Mixing("bleach", "500 ppm", "10 L", "5 % available chlorine"), {"stock_ml": 100, "water_ml": 9900}),
        (Mixing("bleach", "0.5 %", "10 L", "12.5 trade %"), {"stock_ml": 400}),
        (Mixing("bleach", "1 + 9", "10 L", "5.25 % by mass"), {"stock_ml": 1000, "g_per_l": 5.25}),
        (Mixing("bleach", "0.5 %", "1 L", "35 %", "powder"), {"powder_g": 14.29}),
        (Mixing("alcohol", "70 %", "1 L", "95 %"), {"stock_ml": 736.8, "fill_to_ml": 1000}),
        (Mixing("hormone", "3000 ppm", "500 mL", "98 %", "powder"), {"powder_g": 1.531}),
        (Mixing("hormone", "3000 ppm", "500 mL", "", "K-IBA"), {"powder_g": 1.781}),
        (Mixing("hormone", "1 + 10", "110 mL", "1 %"), {"stock_ml": 10, "g_per_l": 0.90909}),
        (Mixing("product", "1.5 mL/L", "10 L"), {"stock_ml": 15}),
        (Mixing("product", "100 g per 100 L", "10 L"), {"powder_g": 10}),
    ],
    ids=lambda value: f"{value.agent} {value.target}" if isinstance(value, Mixing) else "",
)
def test_the_sums(asked, numbers):
    """Worked by hand from V1 = V2 C2 / C1; CDC's 14.3 g of 35 % powder; 1.187 g K-IBA to the gram. Four figures."""
    card = mix(asked)
    for name, number in numbers.items():
        assert card.numbers[name] == pytest.approx(number, rel=5e-4), name


@pytest.mark.parametrize(("agent", "form"), [(agent, form) for agent in AGENTS for form in FORMS[agent]])
def test_every_card_has_steps_cautions_and_the_label_first(agent, form):
    stock = {"bleach": "35 %" if form == "powder" else "6 % by mass", "alcohol": "95 %"}.get(agent, "1 %")
    target = {"product": "1.5 mL/L", "alcohol": "70 %", "hormone": "2000 ppm"}.get(agent, "0.5 %")
    card = mix(Mixing(agent, target, "1 L", stock, form))
    assert card.steps and card.pours and card.keeps and card.same
    assert any("label is the law" in caution for caution in card.cautions)
    assert card.doses == doses(agent)
    everything = " ".join((*card.steps, *card.notes, *card.keeps)).casefold()
    assert "vinegar" not in everything and "add acid" not in everything and "lower the ph" not in everything


TUB = ["bleach", "--stock", "6 % by mass", "--target", "500 ppm", "--volume", "10L"]


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (["bleach", "--stock", "6 %", "--target", "0.5 %", "--volume", "1L"], "per cent of what"),
        (["bleach", "--stock", "1 + 9", "--target", "0.5 %", "--volume", "1L"], "what its label says"),
        (
            ["bleach", "--stock", "6 % by mass", "--target", "12 %", "--volume", "1L"],
            "stronger than the stock",
        ),
        (["bleach", "--stock", "6 % by mass", "--target", "-1 %", "--volume", "1L"], "0 or more"),
        (["bleach", "--stock", "6 % by mass", "--target", "1:10", "--volume", "1L"], "parts + parts"),
        (["bleach", "--stock", "6 % by mass", "--target", "0 + 9", "--volume", "1L"], "no stock in it"),
        (["bleach", "--stock", "6 % by mass", "--target", "5,000 ppm", "--volume", "1L"], "5000 or 5"),
        (["bleach", "--stock", "6 % by mass", "--target", "0.5 %"], "Volume: say it"),
        (["bleach", "--stock", "6 % by volume", "--target", "0.5 %", "--volume", "1L"], "does not count so"),
        (
            ["bleach", "--stock", "6 % by mass", "--target", "1 %", "--volume", "1L", "--water", "hot"],
            "temperature",
        ),
        (
            ["bleach", "--form", "powder", "--stock", "35 %", "--target", "1 + 9", "--volume", "1L"],
            "parts of a powder",
        ),
        (["hormone", "--stock", "1 %", "--target", "0.3 ppm", "--volume", "1L"], "was per cent"),
        (["hormone", "--stock", "1 %", "--target", "3000 %", "--volume", "1L"], "was ppm"),
        (["hormone", "--form", "K-IBA", "--target", "30 %", "--volume", "1L"], "mixed up"),
        (["hormone", "--form", "K-IBA", "--stock", "0.98 %", "--target", "1 %", "--volume", "1L"], "purity"),
        (["hormone", "--form", "talc", "--stock", "80 %"], "per cent by mass"),
        (["alcohol", "--stock", "70 %", "--target", "95 %", "--volume", "1L"], "stronger than the stock"),
        (["alcohol", "--stock", "95 %", "--target", "3 + 1", "--volume", "1L"], "shrink"),
        (["product", "--target", "2 L/L", "--volume", "1L"], "more product than the whole"),
        (["product", "--target", "a glug", "--volume", "1L"], "no rate"),
        ([*TUB, "--strip", "300 ppm"], "how long ago"),
        ([*TUB, "--least", "300 ppm"], "two readings"),
        ([*TUB, "--strip", "600 ppm", "--ago", "2h"], "more than the"),
        ([*TUB, "--strip", "300 ppm", "--ago", "2h", "--least", "900 ppm"], "below what it is mixed to"),
        ([*TUB, "--strip", "300 ppm", "--ago", "lately"], "no time since mixing"),
        ([*TUB, "--strip", "300 ppm", "--ago", "2 h", "--mixed-at", "25:00"], "no time of day"),
        ([*TUB, "--strip", "1 + 9", "--ago", "2 h"], "60 % left"),
        ([*TUB, "--strip", "120 % left", "--ago", "2 h"], "no more than 100 %"),
        (["product", "--target", "1 mL/L", "--volume", "1L", "--strip", "9 ppm", "--ago", "1h"], "its label"),
        (["gin", "--volume", "1L"], "say bleach"),
        (["alcohol", "--form", "powder", "--volume", "1L"], "say liquid"),
    ],
)
def test_nonsense_is_refused_in_one_sentence(words, why):
    output = ortet("mix", *words, ends=1)
    assert output.startswith("Refused: ") and why in output and "Traceback" not in output


STRIP = {"stock": "6 % by mass", "target": "500 ppm available chlorine", "volume": "10L"}


def test_two_readings_tell_when_to_mix_anew():
    """By hand: 500 to 250 in two hours is a half-life of 2 h, so 125 is reached after 4 h: mixed 22:30, at 02:30."""
    asked = Mixing("bleach", "500 ppm available chlorine", "10 L", "6 % by mass")
    card = mix(replace(asked, strip="250 ppm", ago="120 min", least="125 ppm", mixed_at="22:30"))
    assert card.numbers["half_life_h"] == pytest.approx(2, rel=1e-9)
    assert card.numbers["strong_enough_h"] == pytest.approx(4, rel=1e-9)
    assert card.numbers["left_h"] == pytest.approx(2, rel=1e-9)
    words = " ".join(card.keeps)
    assert "at 02:30 the next day" in words and "no known rate" in words
    shares = mix(replace(asked, strip="50 % left", ago="2 h", least="25 % left"))
    assert shares.numbers["strong_enough_h"] == pytest.approx(4, rel=1e-9)
    assert "half_life_h" not in mix(asked).numbers


@pytest.mark.parametrize(
    "asked",
    [
        Mixing("alcohol", "80 %", "1 L", "95 %", strip="40 %", ago="3 d", least="20 %"),
        Mixing("bleach", "0.5 %", "1 L", "35 %", "powder", strip="50 % left", ago="72 h", least="25 % left"),
        Mixing("hormone", "2000 ppm", "1 L", "1 %", strip="1000 ppm", ago="3 d", least="500 ppm"),
        Mixing("hormone", "2000 ppm", "1 L", "", "K-IBA", strip="0.1 %", ago="3 d", least="500 ppm"),
    ],
    ids=lambda asked: f"{asked.agent} {asked.form}",
)
def test_half_in_three_days_is_a_quarter_in_six(asked):
    card = mix(asked)
    assert card.numbers["half_life_h"] == pytest.approx(72) and card.numbers[
        "strong_enough_h"
    ] == pytest.approx(144)
    assert "3 days from this test" in " ".join(card.keeps)


def test_what_is_too_weak_spent_or_unchanged_is_said():
    weak = said("bleach", **STRIP, strip="200 ppm", ago="2h", least="250 ppm", mixed_at="8:30")
    assert "too weak now" in " ".join(weak.split()) and "at 10:00" in " ".join(weak.split())
    spent, same = (said("bleach", **STRIP, strip=shows, ago="2h") for shows in ("0 ppm", "100 % left"))
    assert "spent. Mix anew now" in " ".join(spent.split())
    assert "no loss that the test can show" in " ".join(same.split())


def test_us_measures_by_choice():
    ortet("nursery", "--units", "US")
    card = said("bleach", stock="6 % by mass", target="0.5 %", volume="2 gal", water="54F")
    assert "21.3 fl oz  bleach" in card and "(631 mL)" in card and "54 °F" in " ".join(card.split())


def test_json_for_programs():
    card = json.loads(
        ortet("mix", "alcohol", "--stock", "95%", "--target", "70%", "--volume", "1L", "--json")
    )
    assert card["numbers"]["stock_ml"] == pytest.approx(736.84, abs=0.01)
    assert "burns" in card["cautions"][0]
