"""`ortet race` on two loggers' files."""

import json
from datetime import UTC, datetime, timedelta

import pytest
from typer.testing import CliRunner

from ortet.cli import app

pytestmark = pytest.mark.django_db
START = datetime(2027, 3, 1, tzinfo=UTC)


def record(path, degrees, hours=40 * 24, start=START, gap=range(0)):
    """Write a logger's file of one reading an hour."""
    rows = (
        f"{start + timedelta(hours=hour):%Y-%m-%d %H:%M},{degrees(hour):.2f}"
        for hour in range(hours)
        if hour not in gap
    )
    path.write_text("time,temperature (°C)\n" + "\n".join(rows) + "\n", encoding="utf-8")
    return str(path)


def ortet(*words: str, ends: int = 0) -> str:
    result = CliRunner().invoke(app, ["race", *words])
    assert result.exit_code == ends, result.output + str(result.exception)
    return " ".join(result.output.split())


def test_steady_grapes_root_within_the_published_window(tmp_path):
    """Alley & Peterson 1977, Am. J. Enol. Vitic. 28:1-7: grapes root in 10 to 24 days at 29.5 °C."""
    mat = record(tmp_path / "mat.csv", lambda hour: 29.5)
    said = json.loads(ortet("grape", "--base-record", mat, "--air-record", mat, "--json"))
    assert 10 <= said["root_days"] <= 24
    assert said["root_days"] == pytest.approx(said["steady_days"], abs=1 / 24)  # a steady record is steady
    assert said["base_c"] == 29.5 and said["days"] == 40 and said["gaps"] == [0, 0]


def test_half_the_warm_hours_take_twice_the_days(tmp_path):
    """Thermal time adds up hour by hour: nothing below the least temperature, so 12 of 24 hours at 29.5 °C count half."""
    always = record(tmp_path / "always.csv", lambda hour: 29.5, hours=60 * 24)
    days = record(tmp_path / "days.csv", lambda hour: 29.5 if hour % 24 < 12 else 0.0, hours=60 * 24)
    steady, swinging = (
        json.loads(ortet("grape", "--base-record", base, "--air-record", base, "--json"))
        for base in (always, days)
    )
    assert swinging["root_days"] == pytest.approx(2 * steady["root_days"], abs=0.5)


def test_the_hours_in_common_and_the_gaps_are_said(tmp_path):
    mat = record(tmp_path / "mat.csv", lambda hour: 30.0 if hour % 24 < 12 else 6.0, gap=range(100, 106))
    room = record(tmp_path / "room.csv", lambda hour: 10.0, hours=30 * 24, start=START + timedelta(days=2))
    said = ortet("grape", "--base-record", mat, "--air-record", room, "--chill", "45")
    assert "from 2027-03-03 00:00 for 30.0 days" in said and "Chill 45 portions" in said
    assert "6 hours of base, 0 of air unrecorded" in said


@pytest.mark.parametrize(
    ("more", "why"),
    [
        (["--air-record", "gone.csv"], "gone.csv: No such file"),
        ([], "needs --base-record and --air-record"),
        (["--air-record", "other.csv"], "0 hours in common"),
        (["--air-record", "mat.csv", "--base", "20C"], "the records say"),
        (["--air-record", "mat.csv", "--chill", "-1"], "0 to 400 portions"),
        (["--air-record", "rubbish.csv"], "Nothing was reckoned"),
    ],
)
def test_what_cannot_be_played_is_refused(tmp_path, monkeypatch, more, why):
    monkeypatch.chdir(tmp_path)
    record(tmp_path / "mat.csv", lambda hour: 20.0)
    record(tmp_path / "other.csv", lambda hour: 20.0, start=START + timedelta(days=90))
    (tmp_path / "rubbish.csv").write_text("who,what\n1,2\n")
    said = ortet("grape", "--base-record", "mat.csv", *more, ends=1)
    assert said.startswith("Refused: ") and why in said
