"""`python -m ortet` is `ortet`."""

from ortet.cli import main

main()
