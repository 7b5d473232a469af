"""The forms of trials: design one, strike all its plots."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from ortet.ledger.models import Kind, Trial
from ortet.ledger.places import WOOD
from ortet.pages import known
from ortet.wood.speech import say, to_say
from ortet.work import lists
from ortet.work.trials import Wanted

from .deed import Deed
from .fields import CodeField, CountField, NamesField, NumberField, TemperatureField, one_of

__all__ = ["DesignTrial", "StrikeTrial"]

ALIKE = [
    ("rows", _("along the rows")),
    ("columns", _("along the columns")),
    ("none", _("not known")),
    ("trays", _("in a tray: each plot is one")),
]
EDGES = [
    ("use", _("used like the others")),
    ("guard", _("guards, not counted")),
    ("block", _("a block of their own")),
]
SURE = [("0.8", _("four times in five")), ("0.9", _("nine times in ten"))]


class LinesField(forms.CharField):
    """Names, one a line."""

    def __init__(self, rows: int, **more: Any) -> None:
        super().__init__(max_length=2000, widget=forms.Textarea(attrs={"rows": rows}), **more)

    def clean(self, value: Any) -> tuple[str, ...]:
        """Return the names."""
        return tuple(line.strip() for line in super().clean(value).splitlines() if line.strip())


class DesignTrial(Deed):
    """Lay a trial out."""

    needs = ("mother",)
    title = _("Design a trial")
    why = _(
        "Write down the question and let a draw put the treatments in place before the first cutting is struck."
    )
    act = _("Draw it and note it")
    first = (
        "name", "question", "treatments", "varieties", ("check", "sought"), "sure", ("rows", "columns"), "alike", "edge",
        ("plot_cuttings", "looks"),
    )  # fmt: skip
    folded = {to_say("The draw, and how many blocks"): (("seed", "blocks"),)}

    name = forms.CharField(label=_("Name"), max_length=60)
    question = forms.CharField(label=_("What is to be decided"), max_length=500)
    treatments = LinesField(
        4, label=_("Treatments"), help_text=_("One a line, the check first: what you usually do.")
    )
    varieties = LinesField(
        3, label=_("Varieties"), help_text=_("One a line. Each block holds one variety; they take turns.")
    )
    check = NumberField(
        label=_("Root with the check (of 100)"), min_value=1, max_value=99, help_text=_("As you think.")
    )
    sought = NumberField(
        label=_("Difference worth finding (of 100)"),
        min_value=1,
        max_value=98,
        help_text=_("Plants more or fewer."),
    )
    sure = one_of(_("It is to be shown"), SURE)
    rows = CountField(label=_("Rows of a tray"), least=1)
    columns = CountField(label=_("Columns"), least=1)
    alike = one_of(
        _("Warmth is the same"), ALIKE, help_text=_("A mat is warm in the middle and cool at its edges.")
    )
    edge = one_of(_("The outermost cells are"), EDGES)
    plot_cuttings = CountField(
        label=_("Cuttings in a plot"),
        least=1,
        help_text=_("Struck and counted together. Smaller plots tell more."),
    )
    looks = CountField(label=_("Counts in all"), least=1, help_text=_("Each early one costs some sureness."))
    seed = CountField(label=_("Seed of the draw"), required=False, help_text=_("Empty: drawn."))
    blocks = CountField(
        label=_("Blocks"), least=1, required=False, help_text=_("Empty: as many as it takes.")
    )

    def usual(self) -> dict[str, Any]:
        """Return what most trials begin from."""
        every = [name for name, _ in known.varieties()]
        return {
            "treatments": f"{say('no treatment')}\n", "varieties": every[0] if len(every) == 1 else "", "check": 50, "sought": 20, "sure": "0.8",
            "rows": 6, "columns": 12, "alike": "rows", "edge": "use", "plot_cuttings": 6, "looks": 1,
        }  # fmt: skip

    def wanted(self) -> Wanted:
        """Return the trial as it is asked for."""
        said = self.cleaned_data
        return Wanted(
            said["treatments"], said["varieties"], said["check"] / 100, said["sought"] / 100, float(said["sure"]),
            said["rows"], said["columns"], said["alike"], said["edge"], said["plot_cuttings"], said["looks"],
            said["blocks"], said["seed"],
        )  # fmt: skip

    def deed(self) -> dict[str, Any]:
        """Return what to hand to the deed."""
        said = self.cleaned_data
        return {"name": said["name"], "question": said["question"], "wanted": self.wanted(), "at": said["at"], "id": said["id"]}  # fmt: skip


class StrikeTrial(Deed):
    """Strike all plots of a trial."""

    needs = ("trial",)
    title = _("Strike a trial")
    why = _(
        "Each plot becomes a batch of its own. All but the treatment is to be alike: day, wood, medium, heat, hand."
    )
    act = _("Strike all its plots")
    first = ("trial", "lots", "bench", "base_c")
    folded = {
        to_say("Some plots only, where the lots lie, medium, wound"): (
            "only",
            "from_place",
            "medium",
            "wounded",
        )
    }
    offers = {"bench": lambda: known.places(Kind.BENCH), "from_place": lambda: known.places(*WOOD)}

    trial = forms.TypedChoiceField(label=_("Trial"), coerce=int)
    lots = NamesField(
        label=_("Lots"),
        max_length=500,
        help_text=_("Codes or marks, with commas between. A block is struck from one lot."),
    )
    bench = CodeField(label=_("Bench"), help_text=_("Where its trays stand."))
    base_c = TemperatureField(label=_("Base, what the mat is set to"), required=False)
    from_place = CodeField(label=_("From"), required=False, help_text=_("Empty: wherever the lots lie."))
    only = forms.CharField(
        label=_("Only plots of these letters"),
        max_length=26,
        required=False,
        help_text=_("Such as B, where each treatment stands on a bench or heat of its own. Empty: all."),
    )
    medium = forms.CharField(label=_("Medium"), max_length=80, required=False)
    wounded = forms.BooleanField(label=_("The bases were wounded"), required=False)

    def fit(self) -> None:
        """Offer the trials, the benches, and the lots of the trial's varieties."""
        self.fields["trial"].choices = [(one.number, str(one)) for one in Trial.objects.order_by("-number")]
        self.choose("bench", [(name, name) for name, _ in known.places(Kind.BENCH)])
        number = self.said("trial")
        trial = Trial.objects.filter(number=number).first() if number.isdecimal() else None
        if trial and not self.is_bound and not self.said("lots"):
            mine = lists.lots(on_hand=True).filter(variety__name__in=trial.design["varieties"])
            self.initial["lots"] = ", ".join(known.named(lot) for lot in mine)

    def deed(self) -> dict[str, Any]:
        """Return what to hand to the deed."""
        said = super().deed()
        said["from_place"] = said["from_place"] or None
        return {"number": said.pop("trial"), **said, "bench": known.name_of(said["bench"], Kind.BENCH)}
