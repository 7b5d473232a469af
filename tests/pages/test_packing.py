"""The pages Pick and Outgoing, and the page behind a buyer's link: whoever may write packs, whoever may read looks, a stranger tells."""

import re
from datetime import date
from decimal import Decimal
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from ortet import work
from ortet.ledger import rules
from ortet.ledger.models import Complaint, Craft, Movement, Parcel, Replacement, StrikeReport
from ortet.work import evidence, orders, packing

pytestmark = pytest.mark.usefixtures("season_kept")

LISTS = ("pick", "pick-table", "outgoing", "outgoing-table")
DEEDS = ("pack", "found-only", "send", "arrived", "complain", "replace", "told")


@pytest.fixture
def ordered(book, ada, nursery):
    """An order of eight of Dusk and five of Lantern."""
    first, last = date(2027, 2, 8), date(2027, 2, 20)
    lines = [
        orders.Line("Dusk", 8, first, last, price=Decimal("1.50")),
        orders.Line("Lantern", 5, first, last, price=Decimal("2.00")),
    ]
    orders.order("Hedge Farm", lines, by=ada, at=nursery.now())
    yield book
    assert rules.check() == []


@pytest.fixture
def sent(ordered, ada, nursery):
    """Parcel 1, in which both lines went."""
    at = nursery.now()
    packing.pack("1/1", "K1", 8, by=ada, at=at, lot="L1", from_place="K1")
    packing.pack("1/2", "K3", 5, by=ada, at=at, lot="L3", from_place="K3")
    return packing.send(1, by=ada, at=at, gross_g=500.0)


def form(**said):
    return {"id": str(uuid4()), "at": "2027-02-12 08:00", **said}


@pytest.mark.parametrize("name", [*LISTS, *DEEDS])
def test_a_stranger_is_led_to_sign_in(name, ordered):
    answer = Client(REMOTE_ADDR="192.0.2.1").get(reverse(name))
    assert answer.status_code == 302 and answer.url.startswith(reverse("sign-in"))


@pytest.mark.parametrize("name", LISTS)
def test_lists_are_read_by_any_hand_and_not_posted_to(name, ordered, at_desk, ben_at_desk):
    assert ben_at_desk.get(reverse(name)).status_code == 200
    assert at_desk.post(reverse(name)).status_code == 405
    assert at_desk.delete(reverse(name)).status_code == 405


@pytest.mark.parametrize("name", DEEDS)
def test_whoever_may_only_read_books_nothing(name, ordered, at_desk, ben_at_desk):
    before = Movement.objects.count()
    assert ben_at_desk.get(reverse(name)).status_code == 200
    assert ben_at_desk.post(reverse(name), form(line="1/1", scanned="L1", count="1")).status_code == 403
    assert at_desk.put(reverse(name)).status_code == 405
    assert Movement.objects.count() == before


def test_the_walk_leads_from_bag_to_bag_to_the_parcel(ordered, at_desk):
    page = at_desk.get(reverse("pick"), {"order": 1})
    assert page.status_code == 200
    stops = page.context["stops"]
    assert [(stop.place.name, stop.name, stop.count) for stop, _ in stops] == [
        ("Bench", "L1", 8),
        ("Bench", "L3", 5),
    ]
    to = stops[0][1]
    while "/do/pack" in to:
        asked = at_desk.get(to)
        stop = asked.context["form"].stop
        assert (
            stop.lot.variety.name in asked.content.decode()
            and "Fewer there than planned" in asked.content.decode()
        )
        assert "wasm-unsafe-eval" in asked["Content-Security-Policy"], "the camera reads codes by WebAssembly"
        given = asked.context["form"].initial
        said = {name: given[name] for name in ("line", "lot", "from_place", "within") if given.get(name)}
        wrong = "L3" if stop.lot.mark == "L1" else "L1"
        refused = at_desk.post(reverse("pack"), form(**said, scanned=wrong, count=stop.count))
        assert refused.status_code == 422 and "That is the label of lot" in refused.content.decode()
        code = f"HTTP://FARM.EXAMPLE:8137/L/{stop.lot.code}"  # as a scanner types it
        done = at_desk.post(reverse("pack"), form(**said, scanned=code, count=stop.count))
        assert done.status_code == 302, done.content.decode()
        to = done.url
    assert to == reverse("outgoing-parcel", args=[1])
    page = at_desk.get(to).content.decode()
    assert "Nothing of the order is missing" in page and "Unpack" in page and "Send it" in page


def test_a_form_sent_twice_packs_once(ordered, at_desk):
    said = form(line="1/2", scanned="L3", count="5", lot="L3")
    assert [at_desk.post(reverse("pack"), said).status_code for _ in range(2)] == [302, 302]
    assert Movement.objects.filter(why="packed").count() == 1


def test_what_was_packed_on_a_walk_of_no_order_is_told_as_packed(ordered, at_desk):
    done = at_desk.post(reverse("pack"), form(line="1/2", scanned="L3", count="5", lot="L3", within="99"))
    assert (done.status_code, Movement.objects.filter(why="packed").count()) == (302, 1)


def test_found_fewer_says_where_the_rest_comes_from(ordered, at_desk):
    said = form(line="1/2", scanned="L3", lot="L3", from_place="K3", found="2", rest="given up", within="1")
    answer = at_desk.post(reverse("found-only"), said, follow=True)
    page = answer.content.decode()
    assert "2 packed. 10 given up. Order 1/2 still lacks 3." in page
    assert "Now to be picked: 3 of L3 from Bench." in page
    assert at_desk.post(reverse("found-only"), form(line="1/2", scanned="L3", found="2")).status_code == 422


def test_a_parcel_is_sent_by_page_and_its_link_is_shown_once(ordered, at_desk, ada, nursery):
    packing.pack("1/2", "L3", 5, by=ada, at=nursery.now(), lot="L3", from_place="K3")
    assert "8 cuttings" in at_desk.get(reverse("send"), {"parcel": 1}).content.decode()
    said = form(parcel="1", gross_g="420 g", carrier="Post", tracking="T1")
    answer = at_desk.post(reverse("send"), said, follow=True)
    page = answer.content.decode()
    assert "Parcel 1 is sent: 5 cuttings are sold to Hedge Farm." in page
    link = answer.context["link"]
    assert link.startswith("http://localhost:8137/r/") and link in page and "own network only" in page
    again = at_desk.get(reverse("outgoing-parcel", args=[1]))
    assert again.context["link"] == "" and "420" in again.content.decode()
    assert at_desk.post(reverse("send"), form(parcel="1")).status_code == 422
    table = at_desk.get(reverse("outgoing-table")).content.decode().splitlines()
    assert table[1].startswith("1,1,2,Hedge Farm,Lantern,") and table[1].endswith("420.0,Post,T1")


def test_the_list_is_sought_sorted_and_narrowed(sent, at_desk):
    def shown(**asked) -> list[int]:
        return [one.number for one in at_desk.get(reverse("outgoing"), asked).context["page"]]

    assert shown(q="hedge") == shown(q="lantern") == shown(sort="-sent") == [1]
    assert shown(q="nobody") == shown(still="1") == []
    assert at_desk.get(reverse("outgoing"), {"sort": "colour"}).status_code == 422


def test_what_is_not_in_the_book(ordered, at_desk):
    assert at_desk.get(reverse("outgoing-parcel", args=[9])).status_code == 404
    assert at_desk.get(reverse("pick"), {"order": 9}).status_code == 404
    assert at_desk.get(reverse("pick"), {"order": "three"}).status_code == 422
    assert at_desk.post(reverse("report-link", args=[9])).status_code == 404


def test_a_place_that_is_a_parcel_leads_to_it_and_the_lot_names_it(ordered, at_desk, ada, nursery):
    moved = packing.pack("1/2", "L3", 5, by=ada, at=nursery.now(), lot="L3", from_place="K3")
    answer = at_desk.get(reverse("place", args=[moved.to_place.code]))
    assert answer.url == reverse("outgoing-parcel", args=[1])
    assert "parcel 1" in at_desk.get(reverse("lot", args=[moved.lot.code])).content.decode()
    assert at_desk.get(reverse("places"), {"kind": "parcel"}).context["page"][0].name == "parcel 1"
    for deed in ("give-up", "sell", "move"):
        page = at_desk.get(reverse(deed), {"lot": "L3"}).content.decode()
        assert f'value="{moved.to_place.code}"' not in page, deed


def test_a_complaint_is_open_on_the_order_until_a_replacement_answers_it(sent, at_desk):
    assert at_desk.post(reverse("arrived"), form(parcel="1", state="dry")).status_code == 302
    said = form(line="1/2", what="dry", count="3", parcel="1", note="brown to the pith")
    answer = at_desk.post(reverse("complain"), said, follow=True)
    page = answer.content.decode()
    assert "open" in page and "brown to the pith" in page and "arrived: <strong>dry" in page
    about = Complaint.objects.get()
    assert "Empty: all 3" in at_desk.get(reverse("replace"), {"complaint": about.pk}).content.decode()
    assert at_desk.post(reverse("replace"), form(complaint=about.pk)).status_code == 302
    assert Replacement.objects.get().order.number == 2
    assert "Replaced by order 2" in at_desk.get(reverse("order-of", args=[1])).content.decode()
    assert at_desk.post(reverse("complain"), form(line="9/1", what="dry", count="3")).status_code == 422


# The page behind a buyer's link


def test_a_stranger_with_the_link_tells_of_those_lots_only(sent, book):
    client = Client(REMOTE_ADDR="192.0.2.1")
    to = reverse("report", args=[sent.word])
    answer = client.get(to)
    page = answer.content.decode()
    assert answer.status_code == 200 and answer["Referrer-Policy"] == "no-referrer"
    assert "noindex" in answer["X-Robots-Tag"] and "no-store" in answer["Cache-Control"]
    assert "Hill Nursery" in page and "Dusk" in page and "Hedge" not in page and "1.50" not in page
    one, two = (moved.number for moved in sent.movements)
    done = client.post(to, {f"struck-{one}": "8", f"rooted-{one}": "6", "note": "in sand"}, follow=True)
    assert done.status_code == 200 and "Thank you" in done.content.decode()
    row = StrikeReport.objects.get()
    assert (row.movement.number, row.struck, row.rooted, row.by_link, row.note) == (
        one,
        8,
        6,
        True,
        "in sand",
    )
    for said in (
        {f"struck-{two}": "6", f"rooted-{two}": "1"},  # five were sent
        {f"struck-{two}": "3"},
        {f"struck-{two}": "many", f"rooted-{two}": "1"},
        {},
    ):
        assert client.post(to, said).status_code == 422
    assert StrikeReport.objects.count() == 1
    assert client.put(to).status_code == 405


def test_the_link_lets_nobody_in_anywhere_else(sent):
    client = Client(REMOTE_ADDR="192.0.2.1")
    client.get(reverse("report", args=[sent.word]))
    for path in (
        reverse("outgoing-parcel", args=[1]),
        reverse("pick"),
        "/",
        f"/r/{sent.word}/more",
        "/r/",
        "/r",
    ):
        assert client.get(path).status_code in (302, 404), path
        if client.get(path).status_code == 302:
            assert client.get(path).url.startswith(reverse("sign-in")), path


def test_whoever_guesses_links_waits_as_whoever_guesses_passwords(sent):
    client = Client(REMOTE_ADDR="192.0.2.1")
    statuses = [client.get(reverse("report", args=[f"guess-number-{n}"])).status_code for n in range(11)]
    assert statuses == [404] * 10 + [429]
    assert client.get(reverse("report", args=[sent.word])).status_code == 200, "the true link still opens"


def test_one_parcel_is_not_told_of_without_end(sent):
    client = Client(REMOTE_ADDR="192.0.2.1")
    to, number = reverse("report", args=[sent.word]), sent.movements[0].number
    statuses = [
        client.post(to, {f"struck-{number}": "8", f"rooted-{number}": str(n % 9)}).status_code
        for n in range(11)
    ]
    assert statuses == [302] * 10 + [429]


def test_a_new_link_ends_the_one_before(sent, at_desk, ben_at_desk):
    assert ben_at_desk.post(reverse("report-link", args=[1])).status_code == 403
    assert at_desk.get(reverse("report-link", args=[1])).status_code == 405
    page = at_desk.post(reverse("report-link", args=[1]), follow=True)
    new = page.context["link"].rsplit("/", 1)[-1]
    stranger = Client(REMOTE_ADDR="192.0.2.1")
    assert stranger.get(reverse("report", args=[sent.word])).status_code == 404
    assert stranger.get(reverse("report", args=[new])).status_code == 200


def test_today_leads_to_what_goes_out(ordered, at_desk, ada, nursery):
    packing.pack("1/2", "L3", 5, by=ada, at=nursery.now(), lot="L3", from_place="K3")
    page = at_desk.get(reverse("today")).content.decode()
    assert "Send parcel 1 to Hedge Farm" in page and reverse("outgoing-parcel", args=[1]) in page
    assert "Pack order 1 of Hedge Farm" not in page, "its window is open for eight days yet"
    work.correct(Parcel.objects.get().place.movements_in.get().number, note="wrong", by=ada, at=nursery.now())
    assert "Send parcel" not in at_desk.get(reverse("today")).content.decode()


def test_what_buyers_told_stands_apart_from_own_counts(sent, at_desk, ada, nursery):
    packing.told(sent.movements[0].number, 8, 2, told_on=date(2027, 2, 12), by=ada, at=nursery.now())
    packing.told(sent.movements[0].number, 8, 6, told_on=date(2027, 2, 12), by=ada, at=nursery.now())
    (row,) = evidence.told_by_buyers()
    assert (row.variety, row.parcels, row.struck, row.rooted) == ("Dusk", 1, 8, 6), "the last word counts"
    assert evidence.told_by_buyers(craft=Craft.GRAFT) == []
    assert evidence.rates()[0] == [], "it teaches no rate of one's own"
    page = at_desk.get(reverse("evidence")).content.decode()
    assert "Told by buyers" in page and "6 of 8" in page and "Nothing was counted to the end yet" in page
    work.correct(sent.movements[0].number, note="came back", by=ada, at=nursery.now())
    assert evidence.told_by_buyers() == []


def test_money_back_answers_a_complaint_by_page(sent, at_desk):
    at_desk.post(reverse("pay"), form(order="1", way="in", amount="22.00", on="2027-02-12"))
    at_desk.post(reverse("complain"), form(line="1/2", what="short", count="1"))
    page = at_desk.get(reverse("order-of", args=[1])).content.decode()
    to = re.search(r'href="([^"]*/do/pay[^"]*complaint[^"]*)"', page)[1].replace("&amp;", "&")
    given = at_desk.get(to).context["form"].initial
    said = form(
        order=given["order"], way=given["way"], complaint=given["complaint"], amount="2.00", on="2027-02-12"
    )
    paid = at_desk.post(reverse("pay"), said)
    assert paid.status_code == 302, paid.context["form"].errors
    page = at_desk.get(reverse("order-of", args=[1])).content.decode()
    assert "2.00 paid back" in page and "-2.00, for a complaint" in page
    assert "Nothing is owed." in page or "More was paid" in page
    mend = re.search(r'href="([^"]*/do/pay[^"]*way=in[^"]*complaint[^"]*)"', page)[1].replace("&amp;", "&")
    assert at_desk.get(mend).context["form"].initial["way"] == "in"


def test_a_complaint_that_was_answered_in_part_can_be_answered_further_by_page(sent, at_desk):
    at_desk.post(reverse("complain"), form(line="1/2", what="dry", count="3"))
    about = Complaint.objects.get()
    at_desk.post(reverse("replace"), form(complaint=about.pk, count="2"))
    page = at_desk.get(reverse("order-of", args=[1])).content.decode()
    assert "1 of 3 are left." in page and f"{reverse('replace')}?complaint={about.pk}" in page
    assert "Empty: all 1" in at_desk.get(reverse("replace"), {"complaint": about.pk}).content.decode()
    assert at_desk.post(reverse("replace"), form(complaint=about.pk, count="2")).status_code == 422
    at_desk.post(reverse("replace"), form(complaint=about.pk))
    page = at_desk.get(reverse("order-of", args=[1])).content.decode()
    assert "are left." not in page and f"{reverse('replace')}?complaint" not in page
