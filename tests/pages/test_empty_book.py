"""A book that nobody wrote in yet: each page says what to do first."""

from django.urls import reverse


def test_lots(nursery, at_desk):
    page = at_desk.get("/lots").content.decode()
    assert "No wood yet" in page and reverse("add-mother") in page


def test_mother_plants(nursery, at_desk):
    page = at_desk.get("/mothers").content.decode()
    assert "No mother plants yet" in page and reverse("add-mother") in page


def test_places(nursery, at_desk):
    page = at_desk.get("/places").content.decode()
    assert "No places yet" in page and reverse("add-place") in page


def test_plan(nursery, at_desk):
    page = at_desk.get("/plan").content.decode()
    for deed in ("add-mother", "order", "want", "set-up-bench"):
        assert reverse(deed) in page
    assert "Nothing is planned yet" in page
    assert "Nothing is planned for a bench" in at_desk.get("/plan/benches").content.decode()
    assert at_desk.get("/plan/benches/look").status_code == 422
    assert at_desk.get("/plan/who.csv").content.decode().count("\n") == 1
