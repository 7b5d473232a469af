"""Passport data, as typed."""

import json

import pytest

from .test_commands import ortet

pytestmark = pytest.mark.django_db


def test_passport_data_are_noted_shown_written_and_loaded(tmp_path):
    ortet("add-mother", "M1", "Dusk", "blackcurrant")
    said = ortet("passport", "M1", "--set", "SAMPSTAT=416", "--set", "COLLSRC=99").output
    assert "SAMPSTAT         416" in said and "GENUS            Ribes" in said and "Note: COLLSRC 99" in said
    assert json.loads(ortet("passport", "M1", "--json").output)["said"]["STORAGE"] == "20"
    file = tmp_path / "collection.csv"
    assert "written" in ortet("passports", str(file)).output
    assert file.read_bytes() == ortet("passports").stdout_bytes
    assert json.loads(ortet("passports", "--json").output)[0]["SAMPSTAT"] == "416"
    assert "Nothing new" in ortet("load", str(file)).output
    assert "is there already" in ortet("passports", str(file), ends=1).output
    assert "no code" in ortet("passport", "M1", "--set", "SAMPSTAT=150", ends=1).output
    assert "FIELD=TEXT" in ortet("passport", "M1", "--set", "SAMPSTAT", ends=2).output
    assert "no mother plant" in ortet("passport", "M9", ends=1).output
