"""What there is to claim of the sender."""

from __future__ import annotations

from ortet.wood.speech import say

from .found import Found, bands, percent, pests_of, water_lost

__all__ = ["grounds"]


def grounds(found: Found, name: str) -> tuple[str, ...]:
    """Return what there is to claim of a line, in sentences with figures."""
    said = []
    if found.stated is not None and found.counted is not None and found.counted < found.stated:
        said.append(
            say(
                "{stated} stated, {counted} came: {missing} missing",
                stated=found.stated,
                counted=found.counted,
                missing=found.stated - found.counted,
            )
        )
    if found.dead:
        said.append(say("{count} dead on arrival (dry, brown or soft)", count=found.dead))
    if found.mouldy:
        said.append(say("{count} with mould", count=found.mouldy))
    if found.bored:
        said.append(say("{count} with borers", count=found.bored))
    lost = water_lost(found)
    if lost is not None and lost >= bands(found.species).limit:
        said.append(
            say(
                "{lost} of the mass lost on the way, {sent_g:,.0f} g sent and {came_g:,.0f} g come; harm starts at {limit}",
                lost=percent(lost),
                sent_g=found.sent_g,
                came_g=found.came_g,
                limit=percent(bands(found.species).limit),
            )
        )
    if found.scratch_of and found.scratch_green is not None and found.scratch_green < found.scratch_of:
        said.append(
            say("scratch test: {green} green of {tested}", green=found.scratch_green, tested=found.scratch_of)
        )
    if pests := pests_of(found):
        said.append(say("{pests} seen", pests=pests))
    if found.label in ("unreadable", "missing"):
        said.append(say("label {state}", state=say(found.label)))
    if found.smell == "sour":
        said.append(say("came soured, without air"))
    return tuple(f"{name}: {one}." for one in said)
