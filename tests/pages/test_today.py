"""The first page: what to do now, why, and the press that records it done."""

import re
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from ortet.ledger.models import Treatment
from ortet.work.today import today as look
from tests.writing import write

# Two bags that stood wet when they were last looked at, and one that nobody ever weighed.
WET = """
    2027-01-04 08:00  mother M1 Dusk blackcurrant
    2027-01-04 08:00  place store North
    2027-01-05 09:00  take M1 20 as L1
    2027-01-05 09:10  take M1 20 as L2
    2027-01-05 09:20  take M1 20 as L3
    2027-01-05 10:00  bag L1 20 into K1 at North
    2027-01-05 10:10  bag L2 20 into K2 at North
    2027-01-05 10:20  bag L3 20 into K3 at North
    2027-02-11 09:00  inspect K1 L1 sound=20 mouldy=0 dry=0 free_water=pooled
    2027-02-11 09:10  inspect K2 L2 sound=20 mouldy=0 dry=0 free_water=pooled
"""


@pytest.fixture
def wet(ada, nursery):
    return write(WET, ada)


def form_of(page: str) -> dict[str, str | list[str]]:
    """Return what the first form on the shoot would send."""
    form = re.search(r'<form method="post" action="/today/done".*?</form>', page, re.DOTALL)
    assert form, "no form that records a task at once"
    pairs = re.findall(r'name="(\w+)" value="([^"]+)"', form[0])
    return {
        name: [value for key, value in pairs if key == name] if name == "place" else dict(pairs)[name]
        for name, _ in pairs
    }


def test_each_task_says_the_act_then_the_reason_as_the_decision_gave_them(wet, at_desk):
    tasks = look().tasks
    assert len(tasks) >= 2
    page = at_desk.get("/").content.decode()
    at = -1
    for task in tasks:
        act, reason = (page.find(text.replace("'", "&#x27;")) for text in (task.act, task.reason))
        assert at < act < reason, task.act
        at = act


def test_one_press_records_a_task_for_all_its_bags_and_the_task_is_gone(wet, at_desk):
    sent = form_of(at_desk.get("/").content.decode())
    assert sent["kind"] == "wipe" and len(sent["place"]) == 2
    answer = at_desk.post(reverse("today-done"), sent, follow=True)
    assert answer.redirect_chain == [("/", 302)]
    assert "Wiped and aired, recorded: " in answer.content.decode()
    assert sorted(Treatment.objects.values_list("place__name", "kind", "by__username")) == [
        ("K1", "wipe", "ada"),
        ("K2", "wipe", "ada"),
    ]
    assert not [task for task in look().tasks if task.kind == "wet"]


def test_pressed_twice_it_is_recorded_once(wet, at_desk):
    sent = form_of(at_desk.get("/").content.decode())
    for _ in range(2):
        assert at_desk.post(reverse("today-done"), sent).status_code == 302
    assert Treatment.objects.count() == 2


def test_one_unknown_bag_and_nothing_is_recorded(wet, at_desk):
    sent = form_of(at_desk.get("/").content.decode())
    answer = at_desk.post(reverse("today-done"), {**sent, "place": [*sent["place"], "K99"]})
    assert answer.status_code == 404
    assert "K99" in answer.content.decode()
    assert not Treatment.objects.exists()


@pytest.mark.parametrize("spoil", [{"kind": "wax"}, {"id": "none"}, {"place": []}])
def test_what_a_button_would_not_send_is_refused(wet, at_desk, spoil):
    sent = {"id": str(uuid4()), "kind": "wipe", "place": ["K1"], **spoil}
    answer = at_desk.post(reverse("today-done"), sent)
    assert answer.status_code == 422
    assert "Nothing was booked" in answer.content.decode()
    assert not Treatment.objects.exists()


def test_a_task_that_needs_a_number_leads_to_its_form_with_the_bag_filled_in(wet, at_desk):
    page = at_desk.get("/").content.decode()
    assert f"/do/weigh?bag={wet.places['K3'].code}" in page


def test_ben_reads_what_is_to_do_and_cannot_record_it(wet, ben_at_desk):
    page = ben_at_desk.get("/").content.decode()
    assert look().tasks[0].act in page
    assert "<button" not in page.replace(page[page.index("<footer") :], "")
    assert ben_at_desk.post(reverse("today-done"), {"kind": "wipe", "place": ["K1"]}).status_code == 403
    assert not Treatment.objects.exists()


def test_a_stranger_is_led_to_the_door(wet):
    answer = Client(REMOTE_ADDR="192.0.2.1").get("/")
    assert answer.status_code == 302
    assert answer["Location"].startswith(reverse("sign-in"))


def test_wrong_methods(wet, at_desk):
    assert at_desk.post("/").status_code == 405
    assert at_desk.delete("/").status_code == 405
    assert at_desk.get(reverse("today-done")).status_code == 405
    assert at_desk.post(reverse("record")).status_code == 405


def test_an_empty_book_says_what_to_do_first(ada, nursery, at_desk):
    page = at_desk.get("/").content.decode()
    assert "An empty book" in page
    assert reverse("add-mother") in page
    write("2027-01-04 08:00  mother M1 Dusk blackcurrant", ada)
    page = at_desk.get("/").content.decode()
    assert "No wood yet" in page
    assert reverse("take") in page


def test_a_season_that_stands_still_says_so_in_the_growers_clock(wet, at_desk, nursery):
    assert "stands still at 12 Feb 2027, 08:00" in at_desk.get("/").content.decode()
    nursery.units = "US"
    nursery.save()
    assert "stands still at Feb 12, 2027, 8:00 am" in at_desk.get("/").content.decode()


def test_record_leads_to_every_deed(wet, at_desk):
    page = at_desk.get(reverse("record")).content.decode()
    deeds = [
        "take",
        "bag",
        "weigh",
        "inspect",
        "treat",
        "move",
        "stand",
        "split",
        "give-up",
        "correct",
        "add-mother",
        "add-place",
    ]
    assert [deed for deed in deeds if f'href="{reverse(deed)}"' not in page] == []
