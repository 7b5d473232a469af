"""The examples of the docs, run as they stand there: what a reader copies is what answers."""

import json
import re
import shlex
from contextlib import redirect_stdout
from io import StringIO
from pathlib import Path
from urllib.request import Request

from django.utils.timezone import now

from ortet.work.programs import SCOPES, give_token

PAGE = Path(__file__).parents[2] / "docs" / "how" / "use-the-api.md"
BOOK = "http://127.0.0.1:8137"
BLOCK = re.compile(r"```(sh|json|python|text)\n(.*?)```", re.DOTALL)


def examples() -> list[tuple[str, str, str]]:
    """Return each example: its language, what it says, and what it is to answer."""
    blocks = BLOCK.findall(PAGE.read_text())
    asked, answered = blocks[::2], blocks[1::2]
    assert [kind for kind, _ in answered] == ["text" if kind == "python" else "json" for kind, _ in asked]
    return [(kind, said, answer) for (kind, said), (_, answer) in zip(asked, answered, strict=True)]


def alike(told: object, got: object) -> bool:
    """Say whether an answer is as told; … stands for what differs from book to book."""
    if told == "…":
        return True
    if isinstance(told, str) and isinstance(got, str) and "…" in told:
        return re.fullmatch(".+".join(map(re.escape, told.split("…"))), got) is not None
    if isinstance(told, dict) and isinstance(got, dict):
        return told.keys() == got.keys() and all(alike(told[key], got[key]) for key in told)
    if isinstance(told, list) and isinstance(got, list):
        return len(told) == len(got) and all(map(alike, told, got))
    return told == got and type(told) is type(got)


class Curl:
    """A curl command as one types it, sent to the test's server."""

    def __init__(self, line: str, server: str, token: str) -> None:
        words = shlex.split(line.replace("$TOKEN", token))
        assert words.pop(0) == "curl"
        headers, data, address = {}, None, ""
        while words:
            word = words.pop(0)
            if word == "-H":
                name, _, value = words.pop(0).partition(": ")
                headers[name] = value
            elif word == "-d":
                data = words.pop(0).encode()
            else:
                assert word.startswith(BOOK) and not address, (
                    f"{word} is understood by curl, not by this test"
                )
                address = word.replace(BOOK, server)
        self.request = Request(address, data, headers)


def answer_of(request: Request) -> object:
    """Return what is answered, refusals too, as curl shows it."""
    from urllib.error import HTTPError
    from urllib.request import urlopen

    try:
        with urlopen(request) as answer:
            return json.load(answer)
    except HTTPError as refused:
        with refused:
            return json.load(refused)


def test_the_docs_have_examples_in_both_tongues():
    kinds = [kind for kind, _, _ in examples()]
    assert kinds.count("sh") >= 4 and "python" in kinds


def test_every_example_of_the_docs_answers_as_it_says(served, ada, nursery, full_book):
    token = give_token(
        "docs", [scope for scope in SCOPES if scope != "calendar"], hand=ada, by=ada, now=now()
    ).secret
    for kind, said, told in examples():
        if kind == "sh":
            got = answer_of(Curl(said, served.url, token).request)
            assert alike(json.loads(told), got), f"{said}\nanswered {json.dumps(got, indent=1)}"
        else:
            out = StringIO()
            with redirect_stdout(out):
                exec(said.replace(BOOK, served.url), {"TOKEN": token})
            assert out.getvalue() == told
