"""What a browser may load for these pages."""

import re
from pathlib import Path

from django.http import HttpResponse
from django.test import RequestFactory

import ortet.pages
from ortet.pages.policy import POLICY, OnlyOwnThings

HERE = Path(ortet.pages.__file__).parent


def test_every_answer_carries_the_policy():
    answer = OnlyOwnThings(lambda request: HttpResponse("x"))(RequestFactory().get("/"))
    assert answer["Content-Security-Policy"] == POLICY
    assert "default-src 'none'" in POLICY and "unsafe" not in POLICY


def test_no_template_needs_more_than_the_policy_allows():
    """Content Security Policy Level 3 (W3C): without 'unsafe-inline', inline styles, handlers and scripts do nothing."""
    inline = re.compile(
        r"""\sstyle=|\son[a-z]+=["']|<style|<script(?![^>]*\ssrc=)|javascript:|(?:src|href)=["']https?:"""
    )
    found = {
        path.name: inline.findall(path.read_text(encoding="utf-8"))
        for path in HERE.glob("templates/**/*.html")
    }
    assert {name: what for name, what in found.items() if what} == {}


def test_the_style_sheet_fetches_only_its_own_fonts():
    sheet = (HERE / "static/ortet/ortet.css").read_text(encoding="utf-8")
    files = re.findall(r"url\(([^)]+)\)", sheet)
    assert files and all((HERE / "static/ortet" / file).is_file() for file in files)
    assert "@import" not in sheet
