"""Labels, loading, the recount, the nursery and its hands."""

import io
import re

import pytest
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from ortet.ledger.models import ClimateReading, Lot, MotherPlant, Nursery
from ortet.pages.forms.house import phones_reach
from ortet.tables.columns import TABLES, template
from ortet.work import nursery as hands

PAGES = ("labels", "load", "nursery", "check")
WEIGHINGS = "bag,at,gross_g\r\nK1,2027-02-01 09:00,311\r\nK1,2027-02-08 09:00,{}\r\n"


def upload(name: str, text: str) -> SimpleUploadedFile:
    """Return a file as a browser sends it."""
    return SimpleUploadedFile(name, text.encode(), content_type="text/csv")


def texts_of(pdf: bytes) -> list[str]:
    """Return what a PDF says, page by page, read by PDFium."""
    import pypdfium2

    with pypdfium2.PdfDocument(io.BytesIO(pdf)) as document:
        return [page.get_textpage().get_text_range() for page in document]


@pytest.mark.parametrize("name", PAGES)
def test_a_stranger_is_led_to_sign_in(name, book):
    answer = Client(REMOTE_ADDR="192.0.2.1").get(reverse(name))
    assert answer.status_code == 302
    assert answer.url.startswith(reverse("sign-in"))


@pytest.mark.parametrize(
    ("name", "method"), [(name, method) for name in PAGES for method in ("put", "delete")]
)
def test_no_other_method_is_taken(name, method, book, at_desk):
    assert getattr(at_desk, method)(reverse(name)).status_code == 405


@pytest.mark.parametrize("name", ["labels", "check"])
def test_what_only_shows_is_not_posted_to(name, book, at_desk):
    assert at_desk.post(reverse(name)).status_code == 405


@pytest.mark.parametrize("name", PAGES)
def test_whoever_may_only_read_may_look_and_not_post(name, book, ben_at_desk):
    assert ben_at_desk.get(reverse(name)).status_code == 200
    assert ben_at_desk.post(reverse(name), {"do": "describe"}).status_code == 403


# Labels


def test_labels_are_a_pdf_of_the_lots_chosen(book, ben_at_desk):
    answer = ben_at_desk.get(
        reverse("labels"), {"make": 1, "lot": book.lot.code, "kind": "bag", "paper": "a4", "skip": 0}
    )
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == 'attachment; filename="bag-labels-2027-02-12.pdf"'
    said = " ".join(texts_of(answer.content))
    assert "Dusk" in said and str(book.lot) in said and "Lantern" not in said


def test_labels_for_all_listed(book, at_desk):
    asked = {"make": 1, "every": "on", "kind": "wrap", "paper": "letter", "skip": 3}
    said = " ".join(texts_of(at_desk.get(reverse("labels"), asked).content))
    assert "Dusk" in said and "Lantern" in said
    said = " ".join(texts_of(at_desk.get(reverse("labels"), asked | {"search": "Lantern"}).content))
    assert "Dusk" not in said and "Lantern" in said


@pytest.mark.parametrize(
    "wrong",
    [{}, {"lot": "L1", "skip": "many"}, {"lot": "L1", "kind": "sticker"}, {"lot": "L1", "skip": "-1"}],
)
def test_labels_that_cannot_be_made_say_why(wrong, book, at_desk):
    answer = at_desk.get(reverse("labels"), {"make": 1, "kind": "bag", "paper": "a4"} | wrong)
    assert answer.status_code == 422
    assert answer["Content-Type"].startswith("text/html")
    assert answer.context["form"].errors


def test_a_lot_named_in_the_address_is_chosen_already(book, at_desk):
    page = at_desk.get(reverse("labels"), {"lot": "L3"}).content.decode()
    assert re.findall(r'name="lot" value="(\w+)" checked', page) == [book.lots["L3"].code]


def test_labels_warn_where_no_phone_could_follow_them(book, nursery, at_desk):
    assert "only this machine can reach" in at_desk.get(reverse("labels")).content.decode()
    hands.describe(address="https://farm.example:8137")
    assert "only this machine can reach" not in at_desk.get(reverse("labels")).content.decode()


@pytest.mark.parametrize(
    ("address", "reached"),
    [
        ("http://localhost:8137", False),
        ("http://127.0.0.1:8137", False),
        ("http://127.1.2.3", False),
        ("http://[::1]:8137", False),
        ("http://0.0.0.0:8137", False),
        ("http://ortet.localhost", False),
        ("http://192.168.1.20:8137", True),
        ("https://farm.example", True),
    ],
)
def test_which_addresses_phones_reach(address, reached):
    """RFC 1122 3.2.1.3 and RFC 4291 2.5.3: loopback never leaves the machine; RFC 6761 6.3: nor does localhost."""
    assert phones_reach(address) is reached


# Loading


def test_a_file_is_loaded_once(book, at_desk):
    first = at_desk.post(reverse("load"), {"files": upload("weighings.csv", WEIGHINGS.format(309))})
    assert first.status_code == 200
    assert "Loaded: 2 weighings." in first.content.decode()
    again = at_desk.post(reverse("load"), {"files": upload("weighings.csv", WEIGHINGS.format(309))})
    assert "loaded already" in again.content.decode()
    assert book.places["K1"].weighings.count() == 3


def test_one_problem_and_nothing_is_loaded(book, at_desk):
    answer = at_desk.post(reverse("load"), {"files": upload("weighings.csv", WEIGHINGS.format("heavy"))})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "<strong>weighings.csv, line 3, gross_g</strong>" in page
    assert "Nothing was loaded: 1 problem" in page
    assert book.places["K1"].weighings.count() == 1


def test_several_files_at_once(book, at_desk):
    logger = "time,temperature (°C)\n" + "".join(
        f"2027-02-01 {hour:02}:00,2.{hour % 10}\n" for hour in range(24)
    )
    files = [upload("weighings.csv", WEIGHINGS.format(309)), upload("box7.csv", logger)]
    answer = at_desk.post(reverse("load"), {"files": files, "place": "North"})
    assert answer.status_code == 200, answer.content.decode()
    assert ClimateReading.objects.filter(place=book.places["North"]).count() == 24


def test_a_record_of_nobody_knows_where_asks_for_its_place(book, at_desk):
    logger = "time,temperature (°C)\n2027-02-01 00:00,2.1\n2027-02-01 01:00,2.2\n2027-02-01 02:00,2.2\n"
    answer = at_desk.post(reverse("load"), {"files": upload("box7.csv", logger)})
    assert answer.status_code == 422
    assert "which place is this the record of" in answer.content.decode()


def test_no_file_is_no_load(book, at_desk):
    answer = at_desk.post(reverse("load"), {"place": "North"})
    assert answer.status_code == 422
    assert answer.context["form"].errors["files"]


@pytest.mark.parametrize("name", TABLES)
def test_templates_come_as_the_tables_are_declared(name, book, at_desk):
    answer = at_desk.get(reverse("load"), {"template": name})
    assert answer.content.decode() == template(name)
    assert answer["Content-Disposition"] == f'attachment; filename="{name}.csv"'


def test_a_template_that_is_not_there(book, at_desk):
    assert at_desk.get(reverse("load"), {"template": "wishes"}).status_code == 404


def test_a_template_filled_in_is_loaded(nursery, at_desk):
    """What the page hands out the page takes back."""
    files = [upload(f"{name}.csv", template(name)) for name in ("mothers", "lots")]
    answer = at_desk.post(reverse("load"), {"files": files})
    assert answer.status_code == 200, answer.content.decode()
    assert MotherPlant.objects.count() == 2 and Lot.objects.count() == 2


# The recount


def test_the_recount_says_in_one_line_that_it_holds(book, ben_at_desk):
    page = ben_at_desk.get(reverse("check")).content.decode()
    assert "The account holds: 60 taken = 60 on hand + 0 given up + 0 not found." in page


def test_the_recount_lists_what_does_not_hold(book, at_desk):
    from django.db import connection

    from ortet.ledger import guard

    guard.remove(connection)
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE ledger_balance SET count = count + 5 WHERE lot_id = %s AND place_id = %s",
            [book.lot.pk, book.bench.pk],
        )
    guard.install(connection)
    page = at_desk.get(reverse("check")).content.decode()
    assert "does not hold: 1 fault" in page
    assert "the movements come to 10, the balance says 15" in page


# The nursery and its hands


def test_the_nursery_is_described(book, at_desk):
    said = {
        "do": "describe",
        "name": "Low Field",
        "zone": "America/Denver",
        "units": "US",
        "address": "http://192.168.1.20:8137/",
    }
    assert at_desk.post(reverse("nursery"), said).status_code == 302
    here = Nursery.get()
    assert (here.name, here.zone, here.units, here.address) == (
        "Low Field",
        "America/Denver",
        "US",
        "http://192.168.1.20:8137",
    )
    page = at_desk.get(reverse("check"))
    assert "Low Field" in page.content.decode()


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"zone": "Moon/Base"}, "is not a time zone"),
        ({"address": "farm"}, "starts with http"),
        ({"units": "cubits"}, "cubits"),
    ],
)
def test_what_cannot_be_described_is_refused_and_stays_typed(wrong, sentence, book, at_desk):
    said = {
        "do": "describe",
        "name": "Low Field",
        "zone": "UTC",
        "units": "US",
        "address": "http://a.example",
    } | wrong
    answer = at_desk.post(reverse("nursery"), said)
    assert answer.status_code == 422
    assert sentence in answer.content.decode() and "Low Field" in answer.content.decode()
    assert Nursery.get().name == "Hill Nursery"


@pytest.fixture
def alone(nursery) -> Client:
    """Return the browser at the desk of a one-person book."""
    return Client(headers={"host": "localhost:8137"})


def test_one_person_at_the_desk_needs_no_password(alone):
    assert alone.get(reverse("nursery")).status_code == 200


@pytest.mark.parametrize("elsewhere", [{"REMOTE_ADDR": "192.0.2.1"}, {"HTTP_X_FORWARDED_FOR": "192.0.2.1"}])
def test_elsewhere_one_person_needs_one_too(elsewhere, nursery):
    assert (
        Client(headers={"host": "localhost:8137"}, **elsewhere)
        .get(reverse("nursery"))
        .url.startswith(reverse("sign-in"))
    )


def test_a_second_hand_comes_in_and_the_first_is_not_shut_out(alone):
    said = {
        "do": "add-hand",
        "hand": "ben",
        "password": "green wood 27",
        "may": "read",
        "own": "bud swell 27",
    }
    assert alone.post(reverse("nursery"), said).status_code == 302
    ben = User.objects.get(username="ben")
    assert ben.check_password("green wood 27") and not hands.may_write(ben)
    assert alone.get(reverse("nursery")).status_code == 200, "the grower stays signed in"
    other = Client(headers={"host": "localhost:8137"})
    assert other.get(reverse("nursery")).status_code == 302, "everyone else at the desk signs in"
    back = Client()
    answer = back.post(reverse("sign-in"), {"username": "grower", "password": "bud swell 27"})
    assert answer.url == reverse("today")
    assert back.get(reverse("nursery")).status_code == 200


def test_the_first_hand_needs_a_password_before_a_second_comes(alone):
    said = {"do": "add-hand", "hand": "ben", "password": "green wood 27", "may": "read", "own": ""}
    answer = alone.post(reverse("nursery"), said)
    assert answer.status_code == 422
    assert not User.objects.filter(username="ben").exists()


def test_a_weak_password_is_refused_whole(alone):
    said = {"do": "add-hand", "hand": "ben", "password": "wood", "may": "read", "own": "bud swell 27"}
    answer = alone.post(reverse("nursery"), said)
    assert answer.status_code == 422
    assert "too short" in answer.content.decode()
    assert not hands.grower().has_usable_password(), "nothing was changed"


def test_only_the_grower_lets_others_in(book, at_desk):
    assert "Let another person in" not in at_desk.get(reverse("nursery")).content.decode()
    said = {"do": "add-hand", "hand": "eve", "password": "green wood 27", "may": "write"}
    assert at_desk.post(reverse("nursery"), said).status_code == 403
    assert not User.objects.filter(username="eve").exists()


def test_a_hand_sets_its_own_password_and_stays_signed_in(book, ada, at_desk):
    assert at_desk.post(reverse("nursery"), {"do": "set-own", "new": "red wood 2027"}).status_code == 302
    ada.refresh_from_db()
    assert ada.check_password("red wood 2027")
    assert at_desk.get(reverse("nursery")).status_code == 200


def test_an_act_the_page_does_not_have(book, at_desk):
    assert at_desk.post(reverse("nursery"), {"do": "sell"}).status_code == 422


# Signing in and out


def test_signing_in_leads_to_where_one_was_going(book):
    client = Client(REMOTE_ADDR="192.0.2.1")
    asked = client.get(reverse("check"))
    assert "Sign in" in client.get(asked.url).content.decode()
    answer = client.post(
        asked.url, {"username": "ada", "password": "black wood 27", "next": reverse("check")}
    )
    assert answer.url == reverse("check")
    assert client.get(reverse("check")).status_code == 200


def test_a_wrong_password_signs_nobody_in(book):
    client = Client(REMOTE_ADDR="192.0.2.1")
    answer = client.post(reverse("sign-in"), {"username": "ada", "password": "guess"})
    assert answer.status_code == 422
    assert "Nobody was signed in" in answer.content.decode()
    assert client.get(reverse("check")).status_code == 302


def test_signing_in_leads_nowhere_else(book):
    answer = Client(REMOTE_ADDR="192.0.2.1").post(
        reverse("sign-in"),
        {"username": "ada", "password": "black wood 27", "next": "https://elsewhere.example/"},
    )
    assert answer.url == reverse("today")


def test_signing_out(book, ben_at_desk):
    assert ben_at_desk.get(reverse("sign-out")).status_code == 405
    assert ben_at_desk.post(reverse("sign-out")).url == reverse("sign-in")
    assert ben_at_desk.get(reverse("check")).status_code == 302


def test_a_link_to_print_one_lot_shows_only_that(book, at_desk):
    page = at_desk.get(reverse("labels"), {"lot": "L3"}).content.decode()
    assert "Lantern" in page and "Dusk" not in page
    page = at_desk.get(reverse("labels"), {"lot": "L3", "among": "all"}).content.decode()
    assert "Lantern" in page and "Dusk" in page
