"""The pages as Django knows them."""

from django.apps import AppConfig


class PagesConfig(AppConfig):
    """Server-rendered pages, phone first."""

    name = "ortet.pages"
    label = "pages"
