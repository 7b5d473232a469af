"""The page that reckons a mix: asked by address, answered by a card, nothing booked."""

from urllib.parse import parse_qs, urlsplit

import pytest
from django.contrib.staticfiles import finders
from django.test import Client
from django.urls import reverse

from ortet.ledger.models import Treatment
from ortet.work import nursery as hands

BLEACH = {
    "agent": "bleach",
    "mix": "1",
    "form": "liquid",
    "stock": "6 % by mass",
    "target": "0.5 %",
    "volume": "10 L",
}


def page(client: Client, status: int = 200, **said: str) -> str:
    answer = client.get(reverse("mix"), said)
    assert answer.status_code == status, answer.content.decode()
    return answer.content.decode()


def test_who_may_look(book, at_desk, ben_at_desk):
    assert at_desk.get("/mix").status_code == 200
    assert ben_at_desk.get("/mix", BLEACH).status_code == 200
    assert at_desk.post("/mix", BLEACH).status_code == 405
    assert at_desk.delete("/mix").status_code == 405
    assert Client(REMOTE_ADDR="192.0.2.1").get("/mix")["Location"].startswith(reverse("sign-in"))


def test_a_card_says_how_much_in_which_order_and_what_can_hurt(book, at_desk):
    shown = page(at_desk, **BLEACH)
    for words in (
        "833 mL",
        "9.17 L",
        "never together with acids",
        "never water into bleach",
        "two hours at most",
    ):
        assert words in shown
    assert "1 + 9 of" not in shown and Treatment.objects.count() == 0


TESTED = {"strip": "2500 ppm", "ago": "2 h", "least": "1500 ppm", "mixed_at": "08:30"}


def test_a_dip_that_stands_is_told_until_when_it_is_strong_enough(book, at_desk, ben_at_desk):
    """4,763 ppm of chlorine to 2,500 in 2 h: by hand h = 2 ln 2 / ln(4763 / 2500) = 2.15 h, 1,500 after 3.585 h."""
    for desk in (at_desk, ben_at_desk):
        shown = page(desk, **BLEACH | TESTED)
        assert "half of it goes in 2 h 9 min" in shown and "at 12:05" in shown and "no known rate" in shown
    assert "<details open><summary>Mixed already" in shown and 'value="2500 ppm"' in shown
    assert "how long ago" in page(at_desk, 422, **BLEACH | {"strip": "2500 ppm"})
    assert "Mixed already" not in page(at_desk, agent="product")


def test_cautions_stand_above_the_steps(book, at_desk):
    shown = page(at_desk, **BLEACH)
    assert shown.index("Before you open the bottle") < shown.index("In this order")


def test_us_measures_by_the_nurserys_choice(book, nursery, at_desk):
    hands.describe(units="US")
    shown = page(at_desk, **BLEACH | {"volume": "2 gal"})
    assert "21.3 fl oz" in shown and "631 mL" in shown and "1.83 gal" in shown


def test_a_treatment_can_be_recorded_from_the_card(book, at_desk):
    bag = book.places["K1"].code if hasattr(book, "places") else "K1"
    answer = at_desk.get("/mix", BLEACH | {"minutes": "10", "place": bag})
    to = urlsplit(answer.context["record"])
    said = {name: values[0] for name, values in parse_qs(to.query).items()}
    assert to.path == reverse("treat")
    assert said == {
        "kind": "disinfect", "agent": "bleach", "strength": "0.5 % NaOCl, 1 + 11", "minutes": "10", "place": bag,
    }  # fmt: skip
    form = at_desk.get(answer.context["record"]).context["form"]
    assert form["strength"].value() == "0.5 % NaOCl, 1 + 11" and form["minutes"].value() == "10"
    assert len(said["strength"]) <= 40


def test_a_hormone_is_no_treatment_of_stored_wood(book, at_desk):
    answer = at_desk.get(
        "/mix", {"agent": "hormone", "mix": "1", "form": "K-IBA", "target": "3000 ppm", "volume": "500 mL"}
    )
    assert "1.78 g" in answer.content.decode() and answer.context["record"] == ""


def test_ben_is_offered_no_deed(book, ben_at_desk):
    assert "/do/" not in page(ben_at_desk, **BLEACH)


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"stock": "6 %"}, "per cent of what"),
        ({"stock": ""}, "Write it, such as 6 % by mass"),
        ({"target": "9 %"}, "stronger than the stock"),
        ({"target": "1:10"}, "two ways"),
        ({"target": "0.5 ppm"}, "was per cent"),
        ({"volume": "a tub"}, "is not a volume"),
        ({"ph": "15"}, "less than or equal to 14"),
        ({"water": "70 C"}, "0 to 35 °C"),
        ({"density": "8.3"}, "kg in a litre"),
        ({"form": "pills"}, "not one of the available choices"),
    ],
)
def test_what_makes_no_sense_is_said_and_what_was_typed_stays(book, at_desk, said, words):
    shown = page(at_desk, 422, **BLEACH | said)
    assert words in shown and "Mixing card" not in shown
    assert 'value="10 L"' in shown or "volume" in said


@pytest.mark.parametrize("agent", ["bleach", "alcohol", "hormone", "product", "gin"])
def test_each_agent_is_asked_for_what_it_needs(book, at_desk, agent):
    shown = page(at_desk, agent=agent)
    assert ('name="stock"' in shown) == (agent != "product")
    assert ('name="ph"' in shown) == (agent in ("bleach", "gin"))


def test_record_and_treat_lead_here(book, at_desk):
    assert 'href="/mix"' in at_desk.get(reverse("record")).content.decode()
    assert "/mix?place=" in at_desk.get(reverse("treat"), {"place": "K1"}).content.decode()


def test_nothing_typed_reaches_the_page_as_markup(book, at_desk):
    shown = page(at_desk, 422, **BLEACH | {"stock": "<b>6</b>", "place": '"><b>'})
    assert "<b>" not in shown


def test_it_prints_as_one_sheet_and_asks_for_no_script(book, at_desk, chromium):
    """In a browser without JavaScript, as wide as a phone: one A4 page, its figures and cautions on it."""
    import pypdfium2

    body = at_desk.get("/mix", BLEACH | TESTED | {"minutes": "10"}).content

    def answer(route):
        path = urlsplit(route.request.url).path
        if path.startswith("/static/"):
            return route.fulfill(path=finders.find(path.removeprefix("/static/")))
        return route.fulfill(body=body, content_type="text/html; charset=utf-8")

    with chromium.new_context(viewport={"width": 390, "height": 844}, java_script_enabled=False) as context:
        tab = context.new_page()
        tab.route("**/*", answer)
        tab.goto("http://ortet.test/mix")
        assert tab.locator(".pours dd").all_inner_texts() == ["9.17 L", "833 mL"]
        pdf = tab.pdf(format="A4", margin=dict.fromkeys(("top", "bottom", "left", "right"), "12mm"))
    with pypdfium2.PdfDocument(pdf) as sheets:
        words = sheets[0].get_textpage().get_text_range()
        assert len(sheets) == 1
    for said in ("833 mL", "never together with acids", "at 12:05", "Mixed by"):
        assert said in words
    assert "Make the card" not in words and "What others have used" not in words
