"""The commands' common frame."""

import typer

__all__ = ["app"]

app = typer.Typer(
    help="Keeps account of every cutting, forecasts the state of every lot, and says what to do today.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
