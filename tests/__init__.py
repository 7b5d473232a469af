"""The tests. This file makes `tests` ours, not a package of the same name that a library left among the installed ones."""
