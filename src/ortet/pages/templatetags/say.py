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
from ortet.wood.speech import counted, say, say_number, short_month, to_say
from ortet.work.names import full_name as write_name

register = template.Library()

# Names that are kept as data, and shown to people by the filters here.
DEEDS = (
    to_say("taken"), to_say("received"), to_say("bagged"), to_say("moved"), to_say("split"), to_say("struck"),
    to_say("grafted"), to_say("potted"), to_say("packed"), to_say("sold"), to_say("given up"), to_say("lost"),
)  # fmt: skip
ACCOUNTS = (
    to_say("Cash and bank"), to_say("Owed by buyers"), to_say("Sent and not on a receipt"), to_say("Sold without an order"),
    to_say("Tax paid on what was bought"), to_say("Deposits of buyers"), to_say("Sales tax"), to_say("Sales"),
    to_say("Carriage"), to_say("Made good to buyers"),
)  # fmt: skip
ACCOUNT_KINDS = (to_say("assets"), to_say("liabilities"), to_say("income"), to_say("expenses"))


def _clock(at: datetime, units: str) -> str:
    return f"{at:%I:%M %p}".lstrip("0").lower() if units == "US" else f"{at:%H:%M}"


@register.filter
def on_day(at: datetime | None, units: str = "metric") -> str:
    """Write the day, its month by name, so that nobody reads day for month."""
    if at is None:
        return ""
    here = timezone.localtime(at)
    return day(here.date(), units)


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
    return say(species(key).name)


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
def number(count: int) -> str:
    """Write a count that stands by itself: 1,384."""
    return say_number(count)


@register.filter
def many(count: int, word: str) -> str:
    """Write a count and its word: 1 cutting, 2 cuttings. The word is one of speech's NOUNS; what follows a comma is not read."""
    return counted(count, word.partition(",")[0])


@register.filter
def day(on: date | None, units: str = "metric") -> str:
    """Write a day that has no clock, its month by name."""
    if on is None:
        return ""
    return f"{short_day(on, units)}, {on.year}" if units == "US" else f"{short_day(on, units)} {on.year}"


@register.filter
def short_day(on: date | None, units: str = "metric") -> str:
    """Write a day of this season, without its year."""
    if on is None:
        return ""
    return f"{short_month(on)} {on.day}" if units == "US" else f"{on.day} {short_month(on)}"


@register.simple_tag
def window(first: date, last: date, units: str = "metric") -> str:
    """Write the days between which something may be done; the year once, where it is the same."""
    if units == "US" or first.year != last.year:
        return say("{first} to {last}", first=day(first, units), last=day(last, units))
    return say("{first} to {last}", first=short_day(first), last=day(last, units))


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
    return say(name.replace("_", " ")).capitalize()


@register.filter
def account(name: str) -> str:
    """Write an account's name behind the kind of account that it is."""
    kind, _, its = name.partition(":")
    return f"{say(its)} ({say(kind.lower())})"


@register.inclusion_tag("_how.html")
def how(page: str, says: str = "") -> dict[str, str]:
    """Write one sentence beside a computed number, and the page of the docs that tells how it is computed."""
    return {"page": page, "says": says, "title": handbook.title_of(page)}


@register.simple_tag
def asking(**given: object) -> str:
    """Write what a link fills into a form."""
    return urlencode(given)
