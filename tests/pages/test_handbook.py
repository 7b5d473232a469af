"""The docs inside the house: every page, every figure, every link, for whoever may read."""

import re
import tomllib
from pathlib import Path

import pytest
from django.urls import reverse

import ortet.pages
from ortet.pages import handbook

ROOT = Path(__file__).parents[2]
TEMPLATES = Path(ortet.pages.__file__).parent / "templates"


def pages() -> list[str]:
    return [name for name, path in handbook.files().items() if path.suffix == ".md" and name != "index"]


@pytest.mark.once
def test_every_page_shows_its_title_and_leads_only_to_what_is_there(ben_at_desk, book):
    reached, todo = set(), [reverse("docs")]
    while todo:
        to = todo.pop()
        if to in reached:
            continue
        reached.add(to)
        answer = ben_at_desk.get(to)
        assert answer.status_code == 200, to
        if answer["Content-Type"].startswith("text/html"):
            found = re.findall(r'(?:href|src)="(/docs[^"#?]*)', answer.content.decode())
            todo += [link for link in found if link not in reached]
    assert {name for name in pages() if f"/docs/{name}" not in reached} == set()
    assert "/docs/science/figures/bag.svg" in reached


def test_a_link_to_a_heading_leads_to_a_heading(ben_at_desk, book):
    missing = []
    for name in pages():
        for to, part in re.findall(
            r'href="(/docs/[^"#]+)#([^"]+)"', ben_at_desk.get(f"/docs/{name}").content.decode()
        ):
            if f'id="{part}"' not in ben_at_desk.get(to).content.decode():
                missing.append((name, to, part))
    assert missing == []


def test_a_figure_is_shown_as_what_it_is(ben_at_desk, book):
    answer = ben_at_desk.get("/docs/science/figures/bag.svg")
    assert answer["Content-Type"] == "image/svg+xml"
    assert answer.content.startswith(b"<svg")


def test_words_are_looked_for_in_all_pages(ben_at_desk, book):
    found = ben_at_desk.get(reverse("docs"), {"q": "hypochlorous acid"}).content.decode()
    assert "/docs/science/solution" in found and "/docs/how/split" not in found
    assert "No page of the docs" in ben_at_desk.get(reverse("docs"), {"q": "zeppelin"}).content.decode()


def test_html_in_a_page_is_shown_and_does_nothing(tmp_path, monkeypatch):
    (tmp_path / "page.md").write_text("# A <b>page</b>\n\n<script>alert(1)</script>\n\n[x](javascript:y)\n")
    monkeypatch.setattr(handbook, "files", lambda: {"page": tmp_path / "page.md"})
    html = handbook.as_html("page")
    assert "<script" not in html and "&lt;script&gt;" in html and 'href="javascript' not in html


@pytest.mark.parametrize("name", ["nothing", "../README", "how/../../README", "science/figures/draw.py"])
def test_what_is_not_a_page_is_not_found(ben_at_desk, book, name):
    assert ben_at_desk.get(f"/docs/{name}").status_code == 404


def test_a_stranger_reads_nothing_and_nobody_writes(client, at_desk, book):
    client.defaults["HTTP_X_FORWARDED_FOR"] = "192.0.2.1"
    assert client.get(reverse("docs")).url.startswith(reverse("sign-in"))
    assert at_desk.post(reverse("docs")).status_code == 405
    assert at_desk.post("/docs/how/bag").status_code == 405


def test_every_page_named_in_a_template_is_there():
    named = {
        page
        for path in TEMPLATES.glob("*.html")
        for page in re.findall(r'{% how "([^"]+)"', path.read_text())
    }
    assert named and {page for page in named if page not in pages()} == set()


COMPUTED = {
    "today.html": {"science/today"},
    "lot.html": {"science/forecast"},
    "evidence.html": {"science/strike-rates"},
    "evidence_of.html": {"science/strike-rates"},
    "race.html": {"science/race"},
    "mix.html": {"science/solution"},
    "sample.html": {"science/sampling"},
    "mixup.html": {"science/mixup"},
    "nameless.html": {"science/mixup"},
    "cut.html": {"why/cut"},
    "match.html": {"why/cut"},
    "trial.html": {"science/trials"},
    "trial_hints.html": {"science/trials"},
    "design_trial.html": {"science/trials"},
    "plan.html": {"why/plan", "why/take", "why/allot", "why/bench", "why/dispatch"},
    "plan_benches.html": {"why/bench"},
    "order.html": {"why/dispatch"},
}


@pytest.mark.parametrize("name", COMPUTED)
def test_where_a_number_is_computed_a_page_tells_how(name):
    assert COMPUTED[name] <= set(re.findall(r'{% how "([^"]+)"', (TEMPLATES / name).read_text()))


def test_each_chart_of_a_forecast_leads_to_its_page(ben_at_desk, book):
    lot = ben_at_desk.get(reverse("lot", args=[book.lots["L1"].code])).content.decode()
    assert all(
        f'/docs/science/{page}"' in lot for page in ("bag", "rot", "oxygen", "reserve", "chill", "forecast")
    )


def test_a_wheel_carries_every_page_and_every_figure():
    laid = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["setuptools"]["data-files"]
    carried = {path for globs in laid.values() for one in globs for path in ROOT.glob(one)}
    for to, globs in laid.items():
        assert {Path(one).parent for one in globs} == {
            Path("docs") / Path(to).relative_to("share/ortet/docs")
        }
    needed = {
        path for name, path in handbook.files().items() if name.startswith(("how/", "science/", "why/"))
    }
    assert needed - carried == set()
