"""Pages of a book in which every deed was done once."""

from django.test import Client
from django.urls import reverse

from ortet.ledger.models import Photo


def test_a_batch_shows_its_photos(full_book, ada, nursery):
    client = Client()
    client.force_login(ada)
    page = client.get(reverse("batch", args=[full_book.places["S1"].code])).content.decode()
    assert reverse("photo", args=[Photo.objects.get().pk]) in page and "two cells flooded" in page
