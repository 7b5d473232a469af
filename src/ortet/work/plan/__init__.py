"""Deeds of planning: each reads the book, asks a decision and books its plan."""
