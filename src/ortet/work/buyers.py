"""Buyers: who orders, and where they are reached."""

import re

from django.core.exceptions import ValidationError

from ortet.ledger.booking import Refused, Unknown, created, refuse_no_letter, turn
from ortet.ledger.models import Buyer
from ortet.wood.countries import is_country
from ortet.wood.naming import fold
from ortet.wood.speech import say, to_say

__all__ = ["FIELDS", "buyer", "find_buyer", "named_buyer", "refuse_erased"]

# What is noted of a buyer, by its field.
FIELDS = {
    "name": to_say("name"),
    "address": to_say("address"),
    "email": to_say("email"),
    "country": to_say("country"),
    "tax_number": to_say("tax number"),
    "note": to_say("note"),
}
NUMBERED = re.compile(r"buyer \d+(, erased)?")  # as buyers are called by number, and once they were erased


def find_buyer(who: str) -> Buyer:
    """Return a buyer by name, or by number: "buyer 3".

    Raises
    ------
    Unknown
        If there is none; it says which are near.
    """
    key = fold(who)
    if found := Buyer.objects.filter(name_key=key).first():
        return found
    number = key.removeprefix("buyer").strip()
    if number.isdecimal() and len(number) < 18 and (found := Buyer.objects.filter(pk=int(number)).first()):
        return found
    near = Buyer.objects.filter(name_key__contains=key[:4], erased_at=None)[:3] if key else []
    hint = say(" Is it {near}?", near=", ".join(map(str, near))) if near else ""
    raise Unknown(say("No buyer is called {who!r}.{hint} Nothing was booked.", who=who.strip(), hint=hint))


def _free_name(name: str) -> str:
    """Return a name that a buyer may bear; one that reads as another's number would lead to the wrong person."""
    if not name.strip():
        raise Refused(say("A buyer has a name. Nothing was booked."))
    if NUMBERED.fullmatch(fold(name)):
        raise Refused(
            say("{name!r} reads as a buyer's number. Give a name. Nothing was booked.", name=name.strip())
        )
    refuse_no_letter("name", name)
    return name.strip()


def refuse_erased(who: Buyer) -> None:
    """Refuse to note anything new of somebody who was taken out of the book."""
    if who.erased_at:
        raise Refused(say("{who}: nothing is noted of somebody who was erased. Nothing was booked.", who=who))


def named_buyer(name: str) -> Buyer:
    """Return the buyer of this name, made where it is new.

    Raises
    ------
    Refused
        If there is no name, it reads as a buyer's number, or the buyer was erased.
    """
    who = Buyer.objects.filter(name_key=fold(name)).first() or created(Buyer, name=_free_name(name))
    refuse_erased(who)
    return who


def buyer(
    name: str,
    *,
    address: str | None = None,
    email: str | None = None,
    country: str | None = None,
    is_trade: bool | None = None,
    tax_number: str | None = None,
    note: str | None = None,
    rename: str | None = None,
) -> Buyer:
    """Note who a buyer is and where reached, making the buyer where the name is new; what is None stays as it is.

    Parameters
    ----------
    country : str, optional
        Where parcels usually go, in two letters.
    is_trade : bool, optional
        A nursery or a shop, not a private person.
    rename : str, optional
        What the buyer is called from now on.

    Raises
    ------
    Refused
        If there is no name, the email address is none, another buyer is called so, or the buyer was erased.
    """
    with turn():
        who = named_buyer(name)
        if rename is not None and rename.strip():
            if Buyer.objects.filter(name_key=fold(rename)).exclude(pk=who.pk).exists():
                raise Refused(
                    say(
                        "Another buyer is called {rename} already. Nothing was booked.", rename=rename.strip()
                    )
                )
            who.name = _free_name(rename)
        if country:
            country = country.strip().upper()
            if not is_country(country):
                raise Refused(
                    say(
                        "{country!r}: write the country as two letters, such as DE. Nothing was booked.",
                        country=country,
                    )
                )
        said = {
            "address": address,
            "email": email,
            "country": country,
            "tax_number": tax_number,
            "note": note,
        }
        for field, value in said.items():
            if value is not None:
                refuse_no_letter(field, value)
                setattr(who, field, value.strip())
        if is_trade is not None:
            who.is_trade = is_trade
        try:
            who.clean_fields(exclude=["name_key"])
        except ValidationError as error:
            told = "; ".join(
                f"{say(FIELDS[field]).capitalize()}: {' '.join(words)}"
                for field, words in error.message_dict.items()
            )
            raise Refused(say("{told} Nothing was booked.", told=told)) from None
        who.save()
        return who
