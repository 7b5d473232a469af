"""The whole book in open formats, and a book from it: CSV, a descriptor, photos, in one zip file."""

from .reading import restore
from .writing import Archived, archive

__all__ = ["Archived", "archive", "restore"]
