"""What there is to claim of the sender."""

from __future__ import annotations

from collections.abc import Sequence

from .found import Found, bands, percent, water_lost

__all__ = ["grounds"]


def grounds(found: Found, name: str) -> tuple[str, ...]:
    """Return what there is to claim of a line, in sentences with figures."""
    said = []
    if found.stated is not None and found.counted is not None and found.counted < found.stated:
        said.append(f"{found.stated} stated, {found.counted} came: {found.stated - found.counted} missing")
    parts: Sequence[tuple[int | None, str]] = (
        (found.dead, "dead on arrival (dry, brown or soft)"), (found.mouldy, "with mould"), (found.bored, "with borers"),
    )  # fmt: skip
    said += [f"{count} {words}" for count, words in parts if count]
    lost = water_lost(found)
    if lost is not None and lost >= bands(found.species).limit:
        said.append(
            f"{percent(lost)} of the mass lost on the way, {found.sent_g:,.0f} g sent and {found.came_g:,.0f} g come; harm "
            f"starts at {percent(bands(found.species).limit)}"
        )
    if found.scratch_of and found.scratch_green is not None and found.scratch_green < found.scratch_of:
        said.append(f"scratch test: {found.scratch_green} green of {found.scratch_of}")
    pests = [word for word, seen in (("scale", found.scale), ("mites or their eggs", found.mites)) if seen]
    said += [f"{' and '.join(pests)} seen"] if pests else []
    said += [f"label {found.label}"] if found.label in ("unreadable", "missing") else []
    said += ["came soured, without air"] if found.smell == "sour" else []
    return tuple(f"{name}: {one}." for one in said)
