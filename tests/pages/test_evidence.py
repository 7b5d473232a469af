"""The pages of evidence: looked at by both, written by nobody."""

import pytest

from tests.work.test_evidence import COUNTED
from tests.writing import write

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("page", ["/evidence", "/evidence.csv", "/evidence/Dusk", "/evidence?craft=graft"])
def test_both_may_look_and_nobody_may_post(client, ada, ben, page):
    write(COUNTED, ada)
    assert client.get(page).status_code in (302, 403)
    for hand in (ada, ben):
        client.force_login(hand)
        assert client.get(page).status_code == 200
    client.force_login(ada)
    assert client.post(page).status_code == 405


def test_the_page_says_shares_and_doubt(client, ada):
    write(COUNTED, ada)
    client.force_login(ada)
    page = client.get("/evidence?q=dusk").content.decode()
    assert "30 of 40" in page and "No plan stood" in page and "Lantern’</a>" not in page
    of = client.get("/evidence/Dusk").content.decode()
    assert "Rests on 1 batch of this variety (30 of 40 rooted" in of


def test_an_empty_book_says_what_to_do_first(client, ada):
    client.force_login(ada)
    assert "Strike a batch" in client.get("/evidence").content.decode()


def test_what_was_not_counted_is_said_plainly(client, ada):
    client.force_login(ada)
    answer = client.get("/evidence/Ember")
    assert answer.status_code == 404 and "counted to the end" in answer.content.decode()
