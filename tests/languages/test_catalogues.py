"""Every sentence is said in every language, whole: gathered, translated, with the same things filled in, and compiled."""

import ast
import re
import string

import pytest
from django.conf import settings
from django.utils import translation

from languages import gather
from ortet.wood.speech import NOUNS, said_in, say

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning:babel")

OTHERS = [tag for tag, _ in settings.LANGUAGES if tag != "en"]
MARKS = {"say", "say_many", "to_say", "to_say_many", "_", "pgettext_lazy", "gettext_lazy"}


def holes(text: str) -> tuple[list[str], list[tuple[str, str, str]]]:
    """Return what is filled in, as templates and as Python have it."""
    braces = [(name, spec or "", how or "") for _, name, spec, how in string.Formatter().parse(text) if name is not None]  # fmt: skip
    return sorted(re.findall(r"%\((\w+)\)s", text)), sorted(braces)


@pytest.fixture(scope="module", params=OTHERS)
def language(request):
    return request.param


@pytest.fixture(scope="module")
def catalogue(language):
    return gather.kept(language)


def test_a_catalogue_holds_what_is_said_now_and_nothing_else(language, catalogue):
    assert gather.as_po(gather.gathered(language)) == gather.path_of(language).read_bytes(), (
        "run languages/gather.py"
    )


def test_nothing_lacks(catalogue):
    assert gather.lacking(catalogue) == []


def test_programs_read_what_people_wrote(language, catalogue):
    compiled = gather.path_of(language).with_suffix(".mo").read_bytes()
    assert compiled == gather.as_mo(catalogue)


def test_the_same_is_filled_in(catalogue):
    wrong = []
    for message in catalogue:
        if not message.id:
            continue
        if message.pluralizable:
            one, many = map(holes, message.id)
            said = [holes(text) for text in message.string]
            right = said[-1] == many and said[0] in (one, many)
        else:
            right = holes(message.string) == holes(message.id)
        if not right:
            wrong.append(message.id)
    assert wrong == []


def test_what_is_said_within_an_f_string_is_gathered():
    source = """f"{words} {say('Not known.')} {say(kept)}"; say_many("{count} lot", "{count} lots", n); pgettext_lazy("deed", "Set")"""
    assert set(gather.in_python(source)) == {
        ("Not known.", None), (("{count} lot", "{count} lots"), None), ("Set", "deed"),
    }  # fmt: skip


def test_marked_sentences_are_written_out_where_they_are_said():
    """An f-string or a name cannot be gathered."""
    wrong = []
    for path in gather.ROOT.rglob("*.py"):
        if path.relative_to(gather.ROOT).parts[0] in gather.ENGLISH_ONLY:
            continue
        for call in ast.walk(ast.parse(path.read_text())):
            if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id in MARKS:
                wrong += [(path.name, call.lineno) for one in call.args if isinstance(one, ast.JoinedStr)]
    assert wrong == []


def test_whatever_templates_count_has_a_noun():
    texts = (path.read_text() for path in gather.ROOT.rglob("*.html"))
    asked = {noun for text in texts for noun in re.findall(r'\|many:"([^"]+)"', text)}
    assert {noun.partition(",")[0] for noun in asked} <= NOUNS.keys()


def test_a_page_is_asked_for_by_the_browser_and_by_a_press(client, db):
    page = client.get("/sign-in", HTTP_ACCEPT_LANGUAGE="nl-BE,nl;q=0.8,en;q=0.5")
    assert b'<html lang="nl">' in page.content and page["Content-Language"] == "nl"
    assert b'<html lang="en">' in client.get("/sign-in", HTTP_ACCEPT_LANGUAGE="fi").content
    pressed = client.post("/language", {"language": "nl", "next": "/sign-in"})
    assert pressed.status_code == 302 and pressed["Location"] == "/sign-in"
    assert b'<html lang="nl">' in client.get("/sign-in").content
    assert (
        client.post("/language", {"language": "nl", "next": "https://elsewhere.example/"})["Location"] == "/"
    )


def test_a_word_that_is_not_in_the_catalogue_is_said_in_english():
    with translation.override("nl"):
        assert (
            said_in() == "nl" and say("No catalogue holds this {one}.", one=1) == "No catalogue holds this 1."
        )
