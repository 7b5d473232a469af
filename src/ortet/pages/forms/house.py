"""Forms of the house: labels, files to load, the nursery itself, its hands."""

from ipaddress import ip_address
from typing import Any
from urllib.parse import urlsplit
from zoneinfo import available_timezones

from django import forms
from django.utils.text import format_lazy
from django.utils.translation import gettext_lazy as _

from ortet.ledger.models import Kind, Nursery
from ortet.ledger.nursery import usual_transit
from ortet.pages import known
from ortet.wood.speech import say
from ortet.work.papers.sheet import usual_paper

from .fields import CodeField, CountField, NumberField, PriceField, TransitField, one_of, show_transit

__all__ = ["Hand", "Labels", "Load", "OwnPassword", "TheNursery", "phones_reach"]

ORDERS = [
    ("", _("as the file itself shows")),
    ("day", _("day first: 3/2 is 3 February")),
    ("month", _("month first: 3/2 is March 2")),
]


def phones_reach(address: str) -> bool:
    """Whether an address leads to this machine from another one."""
    host = urlsplit(address).hostname or ""
    try:
        there = ip_address(host)
    except ValueError:
        return bool(host) and host != "localhost" and not host.endswith(".localhost")
    return not (there.is_loopback or there.is_unspecified)


class Labels(forms.Form):
    """Which labels to print."""

    kind = one_of(_("Which labels"), [("bag", _("for bags")), ("wrap", _("to wrap round single cuttings"))])
    paper = one_of(_("Sheet"), [("a4", "A4"), ("letter", _("Letter"))])
    skip = CountField(label=_("Places of the first sheet used up already"), required=False)
    each = forms.BooleanField(label=_("One for each cutting on hand"), required=False)
    every = forms.BooleanField(label=_("All lots listed here"), required=False)

    def __init__(self, nursery: Nursery, data: Any) -> None:
        usual = {"kind": "bag", "paper": usual_paper(nursery), "skip": 0}
        super().__init__(
            data if "make" in data else None, initial={**usual, **data.dict()}, use_required_attribute=False
        )


class Files(forms.ClearableFileInput):
    """Several files at once."""

    allow_multiple_selected = True


class FilesField(forms.FileField):
    """Several files at once, each with its name and bytes."""

    widget = Files

    def clean(self, data: Any, initial: Any = None) -> list[tuple[str, bytes]]:
        """Return the name and the bytes of each."""
        several = data if isinstance(data, (list, tuple)) else [data]
        if not any(several):
            raise forms.ValidationError(say("Choose at least one file."))
        return [(file.name, file.read()) for file in several if super(FilesField, self).clean(file, initial)]


class Load(forms.Form):
    """Files to load."""

    files = FilesField(
        label=_("Files"),
        help_text=_("Tables as CSV, records of a logger, weather records. Several at once may be chosen."),
    )
    place = CodeField(
        label=_("Whose record is it?"),
        required=False,
        help_text=_(
            "For a logger: the cold place it hung in; for weather: the growing site. Empty: the place the file is named after."
        ),
    )
    day_first = one_of(_("Dates are written"), ORDERS, required=False)
    latitude = NumberField(
        label=_("Latitude, for daily weather"),
        required=False,
        min_value=-66,
        max_value=66,
        help_text=_(
            "Degrees north: the hours of a day are computed from its lowest and highest temperature and its length."
        ),
    )

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["place"].offer = known.places(Kind.STORE, Kind.SITE)
        self.fields["place"].widget.attrs["list"] = "known-place"

    def asked(self) -> dict[str, Any]:
        """Return what to load, and how to read it."""
        said = self.cleaned_data
        order = {"day": True, "month": False}.get(said["day_first"])
        return {"place": said["place"] or None, "day_first": order, "latitude": said["latitude"]}


class TheNursery(forms.Form):
    """What the nursery is called and how it likes things shown."""

    name = forms.CharField(label=_("Name"), max_length=80)
    zone = forms.CharField(
        label=_("Time zone"), max_length=64, help_text=_("Such as Europe/Prague or America/Denver.")
    )
    units = one_of(
        _("Lengths, weights, temperatures"), [("metric", "mm, g, °C"), ("US", _("inches, ounces, °F"))]
    )
    address = forms.CharField(
        label=_("Address that labels lead to"),
        max_length=120,
        help_text=_("Where a phone finds these pages. It is printed in every label's code."),
        widget=forms.TextInput(attrs={"inputmode": "url", "autocapitalize": "none", "spellcheck": "false"}),
    )

    country = forms.CharField(
        label=_("Country"),
        max_length=2,
        required=False,
        help_text=_("Two letters, such as DE: on whose public holidays no parcel moves."),
    )
    region = forms.CharField(
        label=_("Region"),
        max_length=6,
        required=False,
        help_text=_("Where it has holidays of its own, such as BY or CA."),
    )
    last_frost = forms.CharField(
        label=_("Usual day of the last frost"),
        max_length=5,
        required=False,
        help_text=_("Month and day, such as 05-12: from then on young plants stand outside."),
    )
    kwh_price = PriceField(
        label=_("Price of a kilowatt-hour"),
        decimal_places=4,
        required=False,
        help_text=_("In your own money: what bottom heat costs."),
    )
    transit = TransitField(
        label=_("Working days on the way"),
        max_length=200,
        required=False,
        help_text=format_lazy(
            _("Days and how many of a hundred parcels take them. Empty: {usual}, common practice."),
            usual=show_transit(usual_transit()),
        ),
    )

    letterhead = forms.CharField(
        label=_("Letterhead"),
        max_length=400,
        required=False,
        help_text=_("Name, street and place, line by line, as papers carry them. Empty: the name alone."),
        widget=forms.Textarea(attrs={"rows": 4}),
    )
    contact = forms.CharField(
        label=_("Telephone or email for buyers"),
        max_length=120,
        required=False,
        help_text=_("Printed on every paper."),
    )
    operator = forms.CharField(
        label=_("Number of an authorised operator"),
        max_length=40,
        required=False,
        help_text=_(
            "Only where the plant-health authority authorised you to issue plant passports. Empty: none are printed."
        ),
    )
    paper = one_of(_("Paper"), [("A4", "A4"), ("letter", _("Letter"))], required=False)
    currency = forms.CharField(
        label=_("Currency"),
        max_length=3,
        required=False,
        help_text=_("Three letters, such as EUR, GBP or USD."),
    )

    tax_percent = PriceField(
        label=_("Sales tax or VAT, per cent"),
        required=False,
        decimal_places=4,
        help_text=_("On every line of an order that says no other rate. Empty: none is charged."),
    )
    tax_number = forms.CharField(
        label=_("Tax number"),
        max_length=30,
        required=False,
        help_text=_("Printed on receipts. Empty: there is none, and tax in what you buy counts as cost."),
    )
    year_starts = forms.CharField(
        label=_("First day of the tax year"),
        max_length=5,
        required=False,
        help_text=_("Month and day, such as 01-01 or 04-06."),
    )
    wage = PriceField(
        label=_("What an hour of work is reckoned at"),
        required=False,
        help_text=_("In your own money: the labour in what a plant costs."),
    )

    books = ("tax_percent", "tax_number", "year_starts", "wage")
    papers = ("letterhead", "contact", "operator", "paper", "currency")
    plans = ("country", "region", "last_frost", "kwh_price", "transit")

    @classmethod
    def of(cls, here: Nursery, data: Any = None) -> "TheNursery":
        """Return the form with the nursery as it is, or with what was typed."""
        names = ("name", "zone", "units", "address", *cls.plans, *cls.papers, *cls.books)
        as_it_is = {name: getattr(here, name) for name in names} | {"transit": show_transit(here.transit)}
        return cls(data, initial=as_it_is)

    def clean_kwh_price(self) -> Any:
        """Refuse to forget a price: what is left empty stays as it is."""
        price = self.cleaned_data["kwh_price"]
        if price is None and self.initial.get("kwh_price") is not None:
            raise forms.ValidationError(say("Write another price, or 0 where heat costs you nothing."))
        return price

    def clean_wage(self) -> Any:
        """Refuse to forget a wage, as a price."""
        wage = self.cleaned_data["wage"]
        if wage is None and self.initial.get("wage") is not None:
            raise forms.ValidationError(say("Write another amount, or 0 where work costs nothing."))
        return wage

    def clean_transit(self) -> dict[int, float]:
        """Return the shares; the usual ones where none were given."""
        return self.cleaned_data["transit"] or {int(days): share for days, share in usual_transit().items()}

    def asked(self) -> tuple[dict[str, Any], dict[str, Any], dict[str, Any], dict[str, Any]]:
        """Return how the nursery is described, what its plans rest on, what its papers carry, and what its books rest on."""
        said = self.cleaned_data
        apart = (*self.plans, *self.papers, *self.books)
        percent = "none" if said["tax_percent"] is None else said["tax_percent"]
        return (
            {name: value for name, value in said.items() if name not in apart},
            {name: said[name] for name in self.plans},
            {name: said[name] or (None if name in ("paper", "currency") else "") for name in self.papers},
            {
                "tax_percent": percent,
                "tax_number": said["tax_number"],
                "year_starts": said["year_starts"] or None,
                "wage": said["wage"],
            },
        )

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["zone"].offer = [(zone, zone) for zone in sorted(available_timezones()) if "/" in zone]
        self.fields["zone"].widget.attrs["list"] = "known-zone"


def _password(label: str, **more: Any) -> forms.CharField:
    widget = forms.PasswordInput(attrs={"autocomplete": "new-password"})
    return forms.CharField(label=label, max_length=200, strip=False, widget=widget, **more)


class Hand(forms.Form):
    """Another person."""

    hand = forms.CharField(
        label=_("Name to sign in with"),
        max_length=150,
        widget=forms.TextInput(attrs={"autocapitalize": "none", "autocomplete": "off"}),
    )
    password = _password(
        _("Their password"), help_text=_("Eight characters or more. Tell it to them yourself.")
    )
    may = one_of(_("They may"), [("write", _("read and write")), ("read", _("only read"))])
    own = _password(
        _("Your own password"),
        required=False,
        help_text=_(
            "With a second person in the book everyone signs in, at this desk too: set your own first."
        ),
    )

    def __init__(self, *args: Any, has_own: bool, **more: Any) -> None:
        super().__init__(*args, **more)
        if has_own:
            del self.fields["own"]
        else:
            self.fields["own"].required = True


class OwnPassword(forms.Form):
    """A new password of one's own."""

    new = _password(_("New password"), help_text=_("Eight characters or more."))
