"""The commands about names and samples, as typed."""

import json

import pytest

from .test_commands import ortet

pytestmark = pytest.mark.django_db


def test_a_sample(full_book):
    said = ortet("sample", "L1", "--share", "20", "--seed", "5").output
    assert (
        "Look at 12 of 31" in said and "draw number 5" in said and "may still hold up to 5 bad ones" in said
    )
    told = json.loads(ortet("sample", "L1", "--share", "20", "--found", "2", "--of", "10", "--json").output)
    assert told["look_at"] == 12 and told["as_found"]["found"] == 2
    assert sum(len(places) for places in told["pull"].values()) == 12
    assert "less than one cutting" in ortet("sample", "L1", "--share", "1").output
    assert "Share 0" in ortet("sample", "L1", "--share", "0", ends=1).output


def test_a_wrong_name(full_book):
    said = ortet("mixup", "L1:2/6", "L3:0/4").output
    assert (
        "2 of 6 of lot" in said
        and "When, the likeliest first:" in said
        and "Who else may have wrong plants" in said
    )
    told = json.loads(ortet("mixup", "L1:2/6=Lantern", "--json").output)
    assert sum(one["chance"] for one in told["chances"]) + told["rest"] == pytest.approx(1.0)
    for words in ("L1", "L1:2", "L1:x/3", ":2/6"):
        assert "write the lot, a colon" in ortet("mixup", words, ends=1).output
    assert "no more are wrong" in ortet("mixup", "L1:7/6", ends=1).output
    assert "ever was in South" in ortet("mixup", "L1:1/6@South", ends=1).output


def test_a_second_scan(full_book):
    assert "matches: lot" in ortet("scan", "L1", "--place", "K1").output
    assert "DOES NOT MATCH" in ortet("scan", "L1", "L3", "--place", "K1", ends=1).output
    told = json.loads(ortet("scan", "L1", "L1", "--json").output)
    assert told["fits"] and "one lot" in told["together"]


def test_a_bag_without_a_name(full_book):
    said = ortet("nameless", "North", "28", "--kind", "Blackcurrant", "--base", "8mm").output
    assert "L1" in said and "None of the book's lots" in said
    told = json.loads(ortet("nameless", "North", "28", "--seen", "L1", "--json").output)
    assert str(full_book.lot) not in {one["lot"] for one in told["lots"]}
    assert "at least one does" in ortet("nameless", "North", "0", ends=1).output
