"""How pages say codes, days, shares, lengths, weights and temperatures."""

from datetime import date, datetime
from decimal import Decimal

from django import template
from django.utils import timezone
from django.utils.http import urlencode

from ortet.ledger.models import Variety
from ortet.pages import handbook
from ortet.science.species import species
from ortet.wood import code as codes
from ortet.wood import units as write
from ortet.wood.money import rounded
from ortet.wood.money import show as show_money
from ortet.work.names import full_name as write_name

register = template.Library()


def _clock(at: datetime, units: str) -> str:
    return f"{at:%I:%M %p}".lstrip("0").lower() if units == "US" else f"{at:%H:%M}"


@register.filter
def on_day(at: datetime | None, units: str = "metric") -> str:
    """Write the day, its month by name, so that nobody reads day for month."""
    if at is None:
        return ""
    here = timezone.localtime(at)
    return f"{here:%b} {here.day}, {here.year}" if units == "US" else f"{here.day} {here:%b %Y}"


@register.filter
def at_time(at: datetime | None, units: str = "metric") -> str:
    """Write day and time in the grower's zone."""
    return "" if at is None else f"{on_day(at, units)}, {_clock(timezone.localtime(at), units)}"


@register.filter
def from_hours(hours: float | None) -> datetime | None:
    """Turn hours since 1970 into a moment."""
    return None if hours is None else datetime.fromtimestamp(hours * 3600, tz=timezone.get_current_timezone())


@register.filter
def share(value: float | None, digits: int = 0) -> str:
    """Write a share as per cent."""
    return "" if value is None else f"{100 * value:.{digits}f}\N{NO-BREAK SPACE}%"


@register.filter
def hundred(value: float | None) -> str:
    """Write a share as so many of a hundred."""
    return "" if value is None else f"{100 * value:.0f}"


@register.filter
def signed(value: float) -> str:
    """Write a difference with its sign."""
    return "0" if abs(value) < 0.5 else f"{value:+.0f}".replace("-", "\N{MINUS SIGN}")


@register.filter
def code(value: str) -> str:
    """Write a lot's or place's code in two groups."""
    return codes.show(value)


@register.filter
def species_name(key: str) -> str:
    """Write a species by its common name and, if there is one, its Latin name."""
    return species(key).name


@register.filter
def full_name(variety: Variety) -> str:
    """Write a variety's whole name as the ICNCP has it."""
    return write_name(variety)


@register.filter
def as_mass(grams: float | None, units: str = "metric") -> str:
    """Write a weight."""
    return write.show_mass(grams, units)


@register.filter
def as_length(mm: float | None, units: str = "metric") -> str:
    """Write a length."""
    return write.show_length(mm, units)


@register.filter
def as_temperature(celsius: float | None, units: str = "metric") -> str:
    """Write a temperature."""
    return write.show_temperature(celsius, units)


@register.filter
def begins(text: str, start: str) -> bool:
    """Whether a text begins with this."""
    return text.startswith(start)


@register.filter
def many(count: int, word: str) -> str:
    """Write a count and its word: 1 cutting, 2 cuttings; an irregular plural after a comma (box,boxes)."""
    one, _, more = word.partition(",")
    return f"{count:,} {one if count == 1 else more or one + 's'}"


@register.filter
def day(on: date | None, units: str = "metric") -> str:
    """Write a day that has no clock, its month by name."""
    if on is None:
        return ""
    return f"{on:%b} {on.day}, {on.year}" if units == "US" else f"{on.day} {on:%b %Y}"


@register.filter
def short_day(on: date | None, units: str = "metric") -> str:
    """Write a day of this season, without its year."""
    if on is None:
        return ""
    return f"{on:%b} {on.day}" if units == "US" else f"{on.day} {on:%b}"


@register.simple_tag
def window(first: date, last: date, units: str = "metric") -> str:
    """Write the days between which something may be done; the year once, where it is the same."""
    if units == "US" or first.year != last.year:
        return f"{day(first, units)} to {day(last, units)}"
    return f"{first.day} {first:%b} to {day(last, units)}"


@register.filter
def listed(names: str) -> str:
    """Write names that are kept with bare commas between them."""
    return names.replace(",", ", ")


@register.filter
def money(amount: Decimal | None, currency: str) -> str:
    """Write an amount as its currency is divided; one that is finer, to the nearest."""
    return "" if amount is None else show_money(rounded(amount, currency), currency)


@register.filter
def plain(number: Decimal) -> str:
    """Write a number without the noughts behind it that nobody wrote."""
    return f"{number.normalize():f}"


@register.filter
def words(name: str) -> str:
    """Write a name that is kept with underscores as words."""
    return name.replace("_", " ").capitalize()


@register.filter
def account(name: str) -> str:
    """Write an account's name behind the kind of account that it is."""
    kind, _, its = name.partition(":")
    return f"{its} ({kind.lower()})"


@register.inclusion_tag("_how.html")
def how(page: str, says: str = "") -> dict[str, str]:
    """Write one sentence beside a computed number, and the page of the docs that tells how it is computed."""
    return {"page": page, "says": says, "title": handbook.title_of(page)}


@register.simple_tag
def asking(**given: object) -> str:
    """Write what a link fills into a form."""
    return urlencode(given)
