"""Evidence: the share of each variety that roots, with its doubt; what handling did; last season beside its plan."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.http import require_safe

from ortet.ledger.models import Craft
from ortet.pages.listing import Asked, as_file
from ortet.wood.speech import say
from ortet.work import evidence as work
from ortet.work.evidence import VarietyRate

from .refusing import says_why

__all__ = ["evidence", "evidence_table", "variety"]

WIDE, HIGH, LEFT = 260, 34, 6


def _asked(request: HttpRequest) -> tuple[Asked, Craft]:
    asked = Asked.of(request, "variety", "craft")
    return asked, Craft.GRAFT if dict(asked.more).get("craft") == Craft.GRAFT else Craft.STRIKE


def _strip(row: VarietyRate) -> SafeString:
    """Draw a share from 0 to 100 %: its band, its middle, and a notch at what is usual. The words stand beside it."""
    long = WIDE - 2 * LEFT

    def at(share: float) -> str:
        return f"{LEFT + share * long:.1f}"

    rate = row.rate
    quarters = mark_safe("".join(f'<path class="tick" d="M{at(q / 4)} 8V26"/>' for q in range(5)))
    return format_html(
        '<svg class="strip" viewBox="0 0 {} {}" aria-hidden="true" focusable="false">{}'
        '<path class="axis" d="M{} 17H{}"/><rect class="band" x="{}" y="11" width="{}" height="12" rx="2"/>'
        '<path class="usual" d="M{} 4V30"/><circle class="middle" cx="{}" cy="17" r="5.5"/></svg>',
        WIDE,
        HIGH,
        quarters,
        LEFT,
        WIDE - LEFT,
        at(rate.low),
        f"{max(rate.high - rate.low, 0.004) * long:.1f}",
        at(row.usual),
        at(rate.median),
    )


@require_safe
@says_why
def evidence(request: HttpRequest) -> HttpResponse:
    """Show what the counts say."""
    asked, craft = _asked(request)
    rows, learnt = work.rates(asked.search, sort=asked.sort, craft=craft)
    season = max(work.seasons(), default=None) if craft == Craft.STRIKE else None
    outcomes = work.outcomes(season) if season else []
    headings = [
        asked.heading(say("Variety"), "variety"),
        asked.heading(say("0 to 100 in a hundred"), kind="wide"),
        asked.heading(say("Of a hundred"), "share", kind="number"),
        asked.heading(say("The next batch"), kind="number wide"),
        asked.heading(say("Counted"), "struck", kind="number"),
    ]
    return render(
        request,
        "evidence.html",
        {
            "asked": asked,
            "craft": craft,
            "headings": headings,
            "rows": [(row, _strip(row)) for row in rows],
            "effects": sorted(learnt.effects, key=lambda effect: -abs(effect.median)),
            "spread": learnt.spreads.get("batch"),
            "left_out": learnt.left_out,
            "any": bool(learnt.varieties),
            "told": work.told_by_buyers(asked.search, craft=craft),
            "season": season,
            "outcomes": outcomes,
            "was_planned": any(one.planned is not None for one in outcomes),
        },
    )


@require_safe
@says_why
def evidence_table(request: HttpRequest) -> HttpResponse:
    """Answer with the same list as a file."""
    asked, craft = _asked(request)
    found, _ = work.rates(asked.search, sort=asked.sort, craft=craft)
    rows = (
        (
            row.variety,
            row.species,
            row.rate.batches,
            row.rate.struck,
            row.rate.rooted,
            *(f"{share:.4f}" for share in (row.rate.low, row.rate.median, row.rate.high)),
            *(f"{share:.4f}" for share in (row.rate.next_low, row.rate.next_high, row.usual, row.rate.own)),
        )
        for row in found
    )
    columns = (
        "variety",
        "species",
        "batches",
        "struck",
        "rooted",
        "share low",
        "share",
        "share high",
        "next batch low",
        "next batch high",
        "usual share",
        "weight of own counts",
    )
    return as_file("evidence", columns, rows)


@require_safe
@says_why
def variety(request: HttpRequest, name: str) -> HttpResponse:
    """Show one variety: its share, what that rests on, and the batches."""
    _, craft = _asked(request)
    row, batches = work.rate_of(name, craft)
    told = [one for one in work.told_by_buyers(craft=craft) if one.variety == row.variety]
    seen = {"row": row, "strip": _strip(row), "batches": batches, "craft": craft, "told": told}
    return render(request, "evidence_of.html", seen)
