"""The pages of trials: who may look and write, a trial designed, struck, counted by taps and read; its paper; its codes."""

import re
from datetime import UTC, datetime

import pytest
from django.test import Client
from django.urls import reverse

from ortet import work
from ortet.ledger.models import Batch, Count, Trial
from ortet.work.trials import Wanted, design_trial, strike_trial
from ortet.work.trials.look import trial_view

DAY = datetime(2027, 2, 1, 9, tzinfo=UTC)
ASKED = Wanted(("none", "K-IBA"), ("Dusk",), rows=4, columns=4, plot_cuttings=2, blocks=3, seed=3)
FORM = {
    "name": "Dip", "question": "Does it pay?", "treatments": "none\nK-IBA", "varieties": "Dusk", "check": "50", "sought": "30",
    "sure": "0.8", "rows": "6", "columns": "12", "alike": "rows", "edge": "use", "plot_cuttings": "4", "looks": "1",
    "at": "2027-02-01T09:00",
}  # fmt: skip


@pytest.fixture
def trial(book, ada) -> Trial:
    return design_trial("Dip", "Does it pay?", ASKED, by=ada, at=DAY)


@pytest.fixture
def struck(trial, ada) -> list[Batch]:
    return strike_trial(1, ["L1"], from_place="K1", bench="Shelf", by=ada, at=DAY)


def page(client: Client, path: str, status: int = 200) -> str:
    answer = client.get(path)
    assert answer.status_code == status, answer.content.decode()
    return answer.content.decode()


def id_of(shown: str) -> str:
    return re.search(r'name="id" value="([0-9a-f-]{36})"', shown)[1]


LOOKED_AT = ["/trials", "/trials/hints", "/trials/1", "/trials/1/plots/2", "/trials/1/map.pdf", "/trials/1/labels.pdf", "/t/1", "/T/1/2"]  # fmt: skip


def test_who_may_look(struck, at_desk, ben_at_desk):
    for path in LOOKED_AT:
        moved = 302 if path.lower().startswith("/t/") else 200
        assert at_desk.get(path).status_code == ben_at_desk.get(path).status_code == moved, path
        assert at_desk.delete(path).status_code == 405, path
        assert at_desk.post(path).status_code == (422 if "plots" in path else 405), path
        assert ben_at_desk.post(path).status_code == 403, path
        stranger = Client(REMOTE_ADDR="192.0.2.1").get(path)
        assert stranger["Location"].startswith(reverse("sign-in")), path


def test_who_may_write(struck, at_desk, ben_at_desk):
    for path in ("/do/design-trial", "/do/strike-trial"):
        assert at_desk.get(path).status_code == 200 and at_desk.delete(path).status_code == 405
        assert ben_at_desk.post(path, FORM).status_code == 403
        assert Client(REMOTE_ADDR="192.0.2.1").post(path)["Location"].startswith(reverse("sign-in"))
    assert Trial.objects.count() == 1


def test_nothing_there_is_said(book, at_desk):
    assert "No trial yet" in page(at_desk, "/trials")
    assert "Nothing to compare yet" in page(at_desk, "/trials/hints")
    assert "no trial 7" in page(at_desk, "/trials/7", 404)
    assert "no trial 7" in page(at_desk, "/trials/7/map.pdf", 404)


def test_how_many_it_takes_is_told_before_it_is_noted(book, at_desk):
    form = page(at_desk, "/do/design-trial")
    looked = at_desk.post("/do/design-trial", FORM | {"id": id_of(form), "look": "1"})
    assert (
        looked.status_code == 200
        and "cuttings in all" in looked.content.decode()
        and not Trial.objects.exists()
    )
    noted = at_desk.post("/do/design-trial", FORM | {"id": id_of(form)})
    assert noted.status_code == 302 and noted["Location"] == "/trials/1"
    again = at_desk.post("/do/design-trial", FORM | {"id": id_of(form)})
    assert again["Location"] == "/trials/1" and Trial.objects.count() == 1


def test_what_cannot_be_is_refused(book, at_desk):
    id = id_of(page(at_desk, "/do/design-trial"))
    for change, says in (
        ({"treatments": "none"}, "two treatments"),
        ({"varieties": "Noon"}, "No variety is called"),
        ({"sought": "0"}, "greater than or equal to 1"),
        ({"columns": "3", "rows": "1"}, "has not so many"),
        ({"question": ""}, "required"),
    ):
        for button in ({}, {"look": "1"}):
            answer = at_desk.post("/do/design-trial", FORM | change | button | {"id": id})
            assert answer.status_code == 422 and says in answer.content.decode()
    assert not Trial.objects.exists()


def test_a_trial_is_struck_from_its_page(trial, at_desk):
    assert "/do/strike-trial?trial=1" in page(at_desk, "/trials/1")
    form = page(at_desk, "/do/strike-trial?trial=1")
    said = {"id": id_of(form), "trial": "1", "lots": "L1", "bench": "Shelf", "at": "2027-02-01T10:00"}
    assert 'value="L1"' in form
    short = at_desk.post("/do/strike-trial", said | {"lots": "L3"})
    assert short.status_code == 422 and "12 more of Dusk" in short.content.decode()
    elsewhere = at_desk.post("/do/strike-trial", said | {"from_place": "K3"})
    assert elsewhere.status_code == 422 and "is in K3" in elsewhere.content.decode()
    assert at_desk.post("/do/strike-trial", said)["Location"] == "/trials/1"
    assert Batch.objects.filter(trial=trial).count() == 6


def test_one_plot_is_struck_from_its_page(trial, at_desk):
    assert "/do/strike?trial=1&amp;plot=2" in page(at_desk, "/trials/1/plots/2")
    form = page(at_desk, "/do/strike?trial=1&plot=2")
    said = {
        "id": id_of(form),
        "lot": "L1",
        "from_place": "K1",
        "bench": "Shelf",
        "trial": "1",
        "plot": "2",
        "at": "2027-02-01T10:00",
    }
    assert at_desk.post("/do/strike", said).status_code == 302
    batch = Batch.objects.get()
    assert f'href="/trials/1/plots/2">Plot 2</a> of <a href="/trials/1">{trial}</a>' in page(
        at_desk, f"/batches/{batch.place.code}"
    )
    assert (batch.trial, batch.plot, batch.tray) == (trial, 2, "T1/1") and batch.treatment in ASKED.treatments


def test_plots_are_counted_tap_by_tap_and_then_read(struck, at_desk):
    where = "/trials/1/plots/1"
    for left in range(6, 0, -1):
        shown = page(at_desk, where)
        assert f"{left} plot" in shown and 'value="2">2</button>' in shown
        answer = at_desk.post(where, {"id": id_of(shown), "rooted": "1"})
        twice = at_desk.post(where, {"id": id_of(shown), "rooted": "1"})
        assert answer.status_code == 302 and twice["Location"] == answer["Location"]
        where = answer["Location"]
    assert where == "/trials/1" and Count.objects.count() == 6
    read = page(at_desk, where)
    assert "do not tell K-IBA from none" in read and "<svg" in read and "one in 20" in read
    assert "do not tell K-IBA from none" in page(at_desk, "/trials")
    assert read.count('class="plot"') == 6 and "1 of 2 rooted" in read


def test_a_wrong_tap_books_nothing(struck, at_desk):
    id = id_of(page(at_desk, "/trials/1/plots/1"))
    for rooted, says in (("", "Tap how many"), ("3", "and 2 of lot"), ("-1", "Tap how many")):
        answer = at_desk.post("/trials/1/plots/1", {"id": id, "rooted": rooted})
        assert answer.status_code == 422 and says in answer.content.decode()
    assert at_desk.post("/trials/1/plots/1", {"id": "x", "rooted": "1"}).status_code == 422
    assert not Count.objects.exists()
    assert "has no plot 7" in page(at_desk, "/trials/1/plots/7", 404)


def test_printed_codes_lead_to_trial_and_plot(struck, at_desk):
    import pypdfium2
    import zxingcpp

    pdf = at_desk.get("/trials/1/labels.pdf").content
    with pypdfium2.PdfDocument(pdf) as pages:
        codes = zxingcpp.read_barcodes(pages[0].render(scale=203 / 72).to_pil())
    assert len(codes) == 6
    paths = sorted("/" + code.text.split("/", 3)[3] for code in codes)
    assert [at_desk.get(path)["Location"] for path in paths] == [f"/trials/1/plots/{n}" for n in range(1, 7)]
    assert at_desk.get("/trials/1/map.pdf?paper=a5").status_code == 422
    assert at_desk.get("/trials/1/map.pdf").content.startswith(b"%PDF")


def test_hints_lead_to_a_trial_filled_in(book, ada, at_desk):
    for k, dip in enumerate(["", "K-IBA", "", "K-IBA"]):
        name = work.strike(
            "L1", 5, from_place="K1", bench="Shelf", treatment=dip, by=ada, at=DAY.replace(hour=10 + k)
        ).place.name
        work.count(name, rooted=4 if dip else 1, dead=1 if dip else 4, by=ada, at=DAY.replace(day=10))
    shown = page(at_desk, "/trials/hints")
    assert "K-IBA against no treatment" in shown and "What they cannot tell" in shown and "drew lots" in shown
    asks = re.search(r'href="(/do/design-trial\?[^"]+)"', shown)[1].replace("&amp;", "&")
    form = page(at_desk, asks)
    assert "no treatment\nK-IBA" in form and "Dusk</textarea>" in form


def test_only_the_look_that_is_whole_is_read(struck, at_desk, ada):
    for one in trial_view(1).plots[:5]:
        work.count(one.told.name, rooted=1, by=ada, at=DAY.replace(day=10))
    assert "1 of 6 plots left to count" in page(at_desk, "/trials/1")
