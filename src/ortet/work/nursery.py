"""The nursery and its hands: opening a book, who writes in it, how things are shown."""

import re
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Literal
from urllib.parse import urlsplit
from zoneinfo import ZoneInfo, available_timezones

from django.contrib.auth.hashers import UNUSABLE_PASSWORD_PREFIX
from django.contrib.auth.models import Permission, User
from django.core.management import call_command
from django.db import connection, transaction
from django.db.migrations.executor import MigrationExecutor

from ortet.ledger.booking import Refused, turn
from ortet.ledger.guard import missing
from ortet.ledger.models import Nursery, Units
from ortet.wood.speech import say

from .amounts import is_percent
from .brake import forget_tries

__all__ = [
    "add_hand", "add_helper", "books_with", "describe", "grower", "is_alone", "may_write", "open_book", "papers_with",
    "plan_with", "set_password",
]  # fmt: skip

LETTERHEAD_LINES, LETTERHEAD_WIDE = 6, 60
GROWER = "grower"  # the name of the book's first hand


def open_book(*, only_guarded: bool = True) -> None:
    """Make the book, or bring it up to this version of Ortet; do nothing where it is.

    Raises
    ------
    Refused
        If the database's guard is not complete, unless the caller is there to look at that or to mend it.
    """
    executor = MigrationExecutor(connection)
    if executor.migration_plan(executor.loader.graph.leaf_nodes()):
        call_command("migrate", verbosity=0, interactive=False)
    if only_guarded and missing():
        raise Refused(
            say(
                "The book's guard is not complete: something removed database triggers. Run `ortet check` to see what, `ortet "
                "mend-guard` to put it up again. Nothing was booked."
            )
        )


def grower() -> User:
    """Return the grower: the book's first hand, made with it."""
    if first := _first_hand():
        return first  # looked up without taking a turn: every page asks
    with transaction.atomic():
        if first := _first_hand():
            return first
        user = User(username=GROWER, is_superuser=True, is_staff=True)
        user.set_unusable_password()
        user.save()
        return user


def _first_hand() -> User | None:
    return User.objects.filter(is_superuser=True, is_active=True).order_by("id").first()


def _fit(password: str) -> str:
    from django.contrib.auth.password_validation import validate_password
    from django.core.exceptions import ValidationError

    try:
        validate_password(password)
    except ValidationError as error:
        raise Refused(say("{messages} Nothing was changed.", messages=" ".join(error.messages))) from None
    return password


def set_password(name: str, password: str) -> User:
    """Set the password of a hand that is in the book."""
    with transaction.atomic():
        user = User.objects.filter(username__iexact=name.strip()).first() or (
            grower() if name == GROWER else None
        )
        if user is None:
            raise Refused(say("Nobody called {name!r} is in the book. Nothing was changed.", name=name))
        user.set_password(_fit(password))
        user.save()
        forget_tries(user.username)
        return user


def add_hand(name: str, password: str, *, may_write: bool = True) -> User:
    """Let another person in, to write or only to read. The grower must have a password first, or would be shut out."""
    if not name.strip():
        raise Refused(say("Give a name to sign in with. Nothing was changed."))
    if User.objects.filter(username__iexact=name.strip()).exists():
        raise Refused(say("{name!r} is in the book already. Nothing was changed.", name=name))
    if not grower().has_usable_password():
        raise Refused(
            say(
                "With a second person in the book everyone signs in, and the grower has no password yet. Set one first: ortet "
                "set-password. Nothing was changed."
            )
        )
    _fit(password)
    return _let_in(name.strip(), password, may_write)


def add_helper(name: str, *, may_write: bool = True) -> User:
    """Put a person into the book who comes in by a paired phone only: without a password, so that nobody else is asked for one."""
    if not 0 < len(name) <= 60:
        raise Refused(say("A helper's name has 1 to 60 letters. Nothing was changed."))
    grower()  # the book's first hand is never a helper
    return _let_in(name, None, may_write)


def _let_in(name: str, password: str | None, may_write: bool) -> User:
    with transaction.atomic():
        user = User.objects.create_user(name, password=password)
        if may_write:
            user.user_permissions.add(Permission.objects.get(codename="add_movement"))
        return user


def is_alone() -> bool:
    """Whether nobody but the grower has a password: then nobody signs in at the desk."""
    by_password = User.objects.exclude(password__startswith=UNUSABLE_PASSWORD_PREFIX)
    return not by_password.exclude(pk=grower().pk).exists()


def may_write(user: User) -> bool:
    """Whether this hand may book deeds."""
    return user.has_perm("ledger.add_movement")


def describe(
    *, name: str | None = None, zone: str | None = None, units: str | None = None, address: str | None = None
) -> Nursery:
    """Say what the nursery is called, its zone, its units and the address that labels lead to."""
    if zone is not None and zone not in available_timezones():
        raise Refused(
            say(
                "{zone!r} is not a time zone; write it like Europe/Prague or America/Denver. Nothing was changed.",
                zone=zone,
            )
        )
    if units is not None and units not in Units.values:
        raise Refused(say("{units!r}: say metric or US. Nothing was changed.", units=units))
    if address is not None and not address.lower().startswith(("http://", "https://")):
        raise Refused(
            say(
                "{address!r}: a label's address starts with http:// or https://. Nothing was changed.",
                address=address,
            )
        )
    if address is not None and not urlsplit(address.strip()).hostname:
        raise Refused(
            say("{address!r}: a label's address names a host. Nothing was changed.", address=address)
        )
    if address is not None and (" " in address.strip() or urlsplit(address.strip().rstrip("/")).path):
        # Codes on labels are printed in capitals, which a host does not mind and a path might.
        raise Refused(
            say(
                "{address!r}: a label's address is a host and a port, without a path. Nothing was changed.",
                address=address,
            )
        )
    said = {"name": name, "zone": zone, "units": units, "address": address}
    if all(value is None for value in said.values()):
        return Nursery.get()
    if name is not None and not 0 < len(name.strip()) <= 80:
        raise Refused(say("A nursery's name has 1 to 80 letters. Nothing was changed."))
    with turn():  # the row is written whole: two at once would undo each other
        nursery = Nursery.get()
        before = nursery.units
        for field, value in said.items():
            if value is not None:
                setattr(nursery, field, value.strip().rstrip("/") if field == "address" else value.strip())
        if units is not None and units != before:
            nursery.paper = (
                "letter" if units == Units.US else "A4"
            )  # as printers there hold; papers_with says otherwise
        ZoneInfo(nursery.zone)
        nursery.save()
        return nursery


def plan_with(
    *,
    country: str | None = None,
    region: str | None = None,
    last_frost: str | None = None,
    kwh_price: Decimal | None = None,
    transit: Mapping[int, float] | None = None,
) -> Nursery:
    """Say what plans rest on; what is not given stays as it is.

    Parameters
    ----------
    country, region : str
        Whose public holidays the carrier keeps: ISO 3166-1 and, after the hyphen, ISO 3166-2, such as DE and BY.
    last_frost : str
        Usual day of the last frost, as MM-DD.
    kwh_price : Decimal
        Price of a kilowatt-hour.
    transit : mapping of int to float
        Share of parcels by working days on the way; taken in proportion.

    Raises
    ------
    Refused
        If the calendar knows no such country or region, the day is none, or the shares are no shares.
    """
    with turn():
        nursery = Nursery.get()
        if country is not None or region is not None:
            nursery.country = (nursery.country if country is None else country).strip().upper()
            nursery.region = (nursery.region if region is None else region).strip().upper()
            _refuse_unknown_calendar(nursery.country, nursery.region)
        if last_frost is not None:
            nursery.last_frost = _month_and_day(last_frost)
        if kwh_price is not None:
            if not (kwh_price.is_finite() and 0 <= kwh_price < 1000):
                raise Refused(
                    say(
                        "{kwh_price} for a kilowatt-hour: give 0 or more. Nothing was changed.",
                        kwh_price=kwh_price,
                    )
                )
            nursery.kwh_price = kwh_price
        if transit is not None:
            total = sum(transit.values())
            if not transit or min(transit) < 1 or max(transit) > 20 or min(transit.values()) < 0 or not total:
                raise Refused(
                    say("Days on the way: give shares for 1 to 20 working days. Nothing was changed.")
                )
            nursery.transit = {str(days): share / total for days, share in sorted(transit.items()) if share}
        nursery.save()
        return nursery


def papers_with(
    *,
    letterhead: str | None = None,
    contact: str | None = None,
    operator: str | None = None,
    paper: str | None = None,
    currency: str | None = None,
) -> Nursery:
    """Say what papers carry and on what they are printed; what is not given stays as it is.

    Parameters
    ----------
    letterhead : str
        Name, street and place, line by line.
    contact : str
        Telephone or email, for buyers.
    operator : str
        Registration number of an operator whom the plant-health authority authorised to issue plant passports; nothing:
        none are issued.
    paper : str
        A4 or letter.
    currency : str
        ISO 4217, such as EUR.

    Raises
    ------
    Refused
        If a text is too long, the paper is neither, or the currency is no three letters.
    """
    with turn():
        nursery = Nursery.get()
        if letterhead is not None:
            lines = [" ".join(line.split()) for line in letterhead.splitlines() if line.strip()]
            if len(lines) > LETTERHEAD_LINES or any(len(line) > LETTERHEAD_WIDE for line in lines):
                raise Refused(
                    say(
                        "A letterhead has up to {letterhead_lines} lines of up to {letterhead_wide} letters. Nothing was "
                        "changed.",
                        letterhead_lines=LETTERHEAD_LINES,
                        letterhead_wide=LETTERHEAD_WIDE,
                    )
                )
            nursery.letterhead = "\n".join(lines)
        if contact is not None:
            if len(contact.strip()) > 120:
                raise Refused(say("Telephone or email: up to 120 letters. Nothing was changed."))
            nursery.contact = contact.strip()
        if operator is not None:
            nursery.operator = _operator(operator)
        if paper is not None:
            papers = {"a4": "A4", "letter": "letter"}
            if paper.strip().lower() not in papers:
                raise Refused(say("Paper {paper!r}: say A4 or letter. Nothing was changed.", paper=paper))
            nursery.paper = papers[paper.strip().lower()]
        if currency is not None:
            if not re.fullmatch("[A-Za-z]{3}", currency.strip()):
                raise Refused(
                    say(
                        "{currency!r}: write the currency as three letters, such as EUR. Nothing was changed.",
                        currency=currency,
                    )
                )
            nursery.currency = currency.strip().upper()
        nursery.save()
        return nursery


def books_with(
    *,
    tax_percent: Decimal | Literal["none"] | None = None,
    tax_number: str | None = None,
    year_starts: str | None = None,
    wage: Decimal | None = None,
) -> Nursery:
    """Say what the books rest on; what is not given stays as it is.

    Parameters
    ----------
    tax_percent : Decimal or "none"
        Sales tax or VAT on a line that says nothing else; "none": none is charged.
    tax_number : str
        As the tax office wrote it; nothing: there is none, and tax paid on what is bought counts as cost.
    year_starts : str
        First day of the tax year, as MM-DD.
    wage : Decimal
        What an hour of work is reckoned at.

    Raises
    ------
    Refused
        If a share, an amount or a day is none.
    """
    with turn():
        nursery = Nursery.get()
        if tax_percent == "none":
            nursery.tax_percent = None
        elif tax_percent is not None:
            if not is_percent(tax_percent):
                raise Refused(
                    say(
                        "Tax of {tax_percent} %: give 0 to 100, such as 7.5 or 8.875. Nothing was changed.",
                        tax_percent=tax_percent,
                    )
                )
            nursery.tax_percent = tax_percent
        if tax_number is not None:
            number = " ".join(tax_number.split())
            if len(number) > 30 or not re.fullmatch(r"[\w ./-]*", number):
                raise Refused(
                    say(
                        "{tax_number!r}: a tax number has up to 30 letters, figures, dots, slashes and hyphens. Nothing was "
                        "changed.",
                        tax_number=tax_number,
                    )
                )
            nursery.tax_number = number
        if year_starts is not None:
            day = _month_and_day(year_starts)
            if not day or day == "02-29":
                raise Refused(
                    say(
                        "{year_starts!r}: the tax year starts on a day that every year has, such as 01-01 or 04-06. Nothing "
                        "was changed.",
                        year_starts=year_starts,
                    )
                )
            nursery.year_starts = day
        if wage is not None:
            if not (wage.is_finite() and 0 <= wage < 10**6 and wage == round(wage, 2)):
                raise Refused(
                    say("{wage} for an hour: write an amount like 15.50. Nothing was changed.", wage=wage)
                )
            nursery.wage = wage
        nursery.save()
        return nursery


def _operator(text: str) -> str:
    number = " ".join(text.split())
    if len(number) > 40 or not re.fullmatch(r"[\w ./-]*", number):
        raise Refused(
            say(
                "{text!r}: an operator's number has up to 40 letters, figures, dots, slashes and hyphens, as the authority "
                "wrote it. Nothing was changed.",
                text=text,
            )
        )
    return number


def _refuse_unknown_calendar(country: str, region: str) -> None:
    if not country:
        if region:
            raise Refused(
                say("Region {region!r} of which country? Give both. Nothing was changed.", region=region)
            )
        return
    from holidays import list_supported_countries

    known = list_supported_countries() | {"XI": []}  # Northern Ireland, which keeps a calendar of its own
    if country not in known:
        raise Refused(
            say(
                "No calendar of public holidays for {country!r}: write DE, GB, US. Nothing was changed.",
                country=country,
            )
        )
    if region and region not in known[country]:
        regions = ", ".join(known[country]) or say("none")
        raise Refused(
            say(
                "{country} has no region {region!r}. Known are: {regions}. Nothing was changed.",
                country=country,
                region=region,
                regions=regions,
            )
        )


def _month_and_day(text: str) -> str:
    if not (text := text.strip()):
        return ""
    try:
        return date.fromisoformat(f"2028-{text}").strftime("%m-%d")  # a leap year
    except ValueError:
        raise Refused(
            say("{text!r}: write the day as MM-DD, such as 05-12. Nothing was changed.", text=text)
        ) from None
