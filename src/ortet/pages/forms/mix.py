"""The form that asks for a mix; what it asks depends on what is mixed."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from ortet.ledger.models import Nursery
from ortet.wood.speech import say
from ortet.wood.strength import read_rate, read_strength
from ortet.wood.units import read_temperature, unit_names
from ortet.wood.volume import read_volume
from ortet.work.mix import FORMS, Mixing

from .fields import NumberField, one_of

__all__ = ["Mix"]

FORM_WORDS = {
    "bleach": {"liquid": "liquid", "powder": _("chlorine powder")},
    "hormone": {
        "liquid": _("liquid concentrate"),
        "powder": _("crystals of the acid"),
        "K-IBA": _("K-IBA salt"),
        "K-NAA": _("K-NAA salt"),
        "talc": _("ready powder in talc"),
    },
}
STOCK = {
    "bleach": (
        "6 % by mass",
        _(
            "With its unit, as printed. Household bleach mostly counts % by mass (sodium hypochlorite); others % available chlorine, "
            "trade %, or g/L available chlorine. A chlorine powder: % available chlorine."
        ),
    ),
    "alcohol": ("95 %", _("Per cent by volume.")),
    "hormone": (
        "1 %",
        _("A concentrate: %, ppm or g/L. Crystals or salt: purity, such as 98 %. Talc: its %."),
    ),
}
TARGET = {
    "bleach": (
        "0.5 %",
        _(
            "%, ppm or mg/L, with ‘available chlorine’ behind it if meant so; or parts + parts, such as 1 + 9."
        ),
    ),
    "alcohol": ("70 %", _("Per cent by volume.")),
    "hormone": (
        "3000 ppm",
        _(
            "ppm or %, counted as the acid; of a concentrate also parts + parts, such as 1 + 10. Talc: leave it."
        ),
    ),
    "product": (
        "1.5 mL/L",
        _("As its label says: 1.5 mL/L, 100 g per 100 L, 2 fl oz/gal, or parts + parts."),
    ),
}
TESTED = {  # name: label, example, what to write
    "strip": (
        _("The test shows now"),
        "300 ppm",
        _(
            "As the strip or gauge counts: ppm of available chlorine, or % by volume; or a share, such as 60 % left."
        ),
    ),
    "ago": (_("Mixed so long ago"), "2 h", _("Such as 90 min, 2 h or 3 d.")),
    "least": (_("The least that will do"), "250 ppm", _("As the test counts, or such as 50 % left.")),
    "mixed_at": (_("Time of day it was mixed"), "08:30", _("To tell when to mix anew.")),
}
TREATED = ("place", "lot")  # carried along to the page that records a treatment


def _typed(label: str, example: str, hint: str, *, required: bool) -> forms.CharField:
    box = forms.TextInput(
        attrs={"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false", "placeholder": example}
    )
    missing = {"required": say("Write it, such as {example}.", example=example)}
    return forms.CharField(
        label=label, help_text=hint, required=required, max_length=60, widget=box, error_messages=missing
    )


class Mix(forms.Form):
    """What to mix, from what, how strong, how much."""

    minutes = NumberField(label=_("Minutes in the dip"), required=False, min_value=0, max_value=10_000)
    density = NumberField(
        label=_("Weight of a litre of the stock (kg)"),
        required=False,
        help_text=_("Density, where its label counts by mass."),
    )
    ph = NumberField(label=_("pH of the mix"), required=False, min_value=0, max_value=14)

    def __init__(self, nursery: Nursery, agent: str, data: Any) -> None:
        self.nursery, self.agent = nursery, agent
        super().__init__(data if "mix" in data else None, initial=data.dict(), use_required_attribute=False)
        if agent in FORM_WORDS:
            words = [(form, FORM_WORDS[agent][form]) for form in FORMS[agent]]
            self.fields["form"] = one_of(say("It is"), words)
            self.initial.setdefault("form", "liquid")
        talc = (data.get("form") or "") == "talc" and agent == "hormone"
        if agent in STOCK:
            solid = data.get("form") in ("powder", "K-IBA", "K-NAA") and agent == "hormone"
            self.fields["stock"] = _typed(say("What its label says"), *STOCK[agent], required=not solid)
        wanted = say("Rate on the label") if agent == "product" else say("Strength wanted")
        self.fields["target"] = _typed(wanted, *TARGET[agent], required=not talc)
        example = "2 gal" if nursery.units == "US" else "10 L"
        hint = say("gal, qt, cup, fl oz; L and mL too.") if nursery.units == "US" else say("L or mL.")
        self.fields["volume"] = _typed(say("How much"), example, hint, required=not talc)
        self.fields["water"] = _typed(
            say("Water"), f"12 {unit_names(nursery.units)['temperature']}", "", required=False
        )
        if agent != "product":
            for name, words in TESTED.items():
                self.fields[name] = _typed(*words, required=False)
        if agent != "bleach":
            del self.fields["ph"], self.fields["water"]
        if agent not in ("bleach", "hormone"):
            del self.fields["density"]
        for name in TREATED:
            self.fields[name] = forms.CharField(required=False, max_length=200, widget=forms.HiddenInput)

    @property
    def first(self) -> list[forms.BoundField]:
        """What is always asked."""
        return [self[name] for name in ("form", "stock", "target", "volume") if name in self.fields]

    @property
    def folded(self) -> list[forms.BoundField]:
        """What is seldom asked."""
        return [self[name] for name in ("minutes", "density", "water", "ph") if name in self.fields]

    @property
    def tested(self) -> list[forms.BoundField]:
        """What is asked of a mix that stands already."""
        return [self[name] for name in TESTED if name in self.fields]

    @property
    def is_unfolded(self) -> bool:
        """Whether something seldom asked was typed."""
        return self.is_bound and any(field.data or field.errors for field in self.folded)

    @property
    def is_tested(self) -> bool:
        """Whether something of a mix that stands already was typed."""
        return self.is_bound and any(field.data for field in self.tested)

    def _readable(self, name: str, read: Any) -> str:
        text: str = self.cleaned_data[name]
        try:
            if text:
                read(text)
        except ValueError as error:
            raise forms.ValidationError(f"{error}.") from None
        return text

    def clean_stock(self) -> str:
        """Refuse a strength that cannot be read."""
        return self._readable("stock", read_strength)

    def clean_target(self) -> str:
        """Refuse a strength or rate that cannot be read."""
        return self._readable("target", read_rate if self.agent == "product" else read_strength)

    def clean_volume(self) -> str:
        """Refuse a volume that cannot be read."""
        return self._readable("volume", lambda text: read_volume(text, self.nursery.units))

    def clean_water(self) -> float | None:
        """Return the water's temperature. [°C]"""
        text = self._readable("water", lambda text: read_temperature(text, self.nursery.units))
        return read_temperature(text, self.nursery.units) if text else None

    def asked(self) -> Mixing:
        """Return what is asked."""
        said = self.cleaned_data
        return Mixing(
            agent=self.agent,
            target=said["target"],
            volume=said["volume"],
            stock=said.get("stock", ""),
            form=said.get("form") or "liquid",
            density=said.get("density"),
            ph=said.get("ph"),
            water_c=said.get("water"),
            minutes=said.get("minutes"),
            units=self.nursery.units,
            **{name: said.get(name, "") for name in TESTED},
        )
