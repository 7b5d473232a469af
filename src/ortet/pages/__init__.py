"""FACE: the pages."""
