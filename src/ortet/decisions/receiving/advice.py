"""What to do with one line of a parcel: soak, clean, keep apart, store or strike. Each sentence says what it rests on."""

from __future__ import annotations

from dataclasses import dataclass

from ortet.decisions.take.chain import Beta
from ortet.science.species import species

from .found import Found, bands, percent, water_lost
from .striking import Likely, likely

__all__ = ["Advice", "Dip", "Reason", "advise"]

PUBLISHED, COMMON, OURS, MEMORY = "published", "common practice", "our choice", "memory"
SHORT_SOAK_H, LONG_SOAK_H = 12, 24  # [common practice: overnight; never longer than a day]
WETTED = (
    0.03  # of the mass gained on the way, beyond which there is water on the wood or in the wrap [our choice]
)
CALLUSED = 2  # of 4: from here on wood will not lie still in store [our choice]
FEW_TESTED = 5  # cuttings: fewer say little of a bag [our choice]
NONE_OF = 10  # not one green of so many: under 26 in 100 alive, said with 95 % confidence
GREEN_ENOUGH = 0.5  # share of green below which more is tested before anything else [our choice]


@dataclass(frozen=True, slots=True)
class Reason:
    """A sentence, and what it rests on: published, common practice, memory or our choice; empty where it is what was found."""

    says: str
    mark: str = ""


@dataclass(frozen=True, slots=True)
class Dip:
    """What to disinfect with."""

    percent: float  # sodium hypochlorite, by mass
    minutes: float

    @property
    def strength(self) -> str:
        """What is written on the tub."""
        return f"{self.percent:g} % NaOCl"


@dataclass(frozen=True, slots=True)
class Advice:
    """What to do with one line, and why."""

    lost: float | None  # share of its mass on the way; below nothing where it gained [0-1]
    soak_h: int  # hours in water; 0: do not soak
    dip: Dip | None
    is_apart: bool
    is_held: bool
    then: str  # store, strike, give up or hold
    give_up: int  # cuttings to give up at once
    soaking: tuple[Reason, ...]
    cleaning: tuple[Reason, ...]
    keeping_apart: tuple[Reason, ...]
    deciding: tuple[Reason, ...]
    naming: tuple[Reason, ...]
    strike: Likely | None


def advise(found: Found, strike: Beta | None = None, rests_on: str = "") -> Advice:
    """Return what to do with what was found.

    Parameters
    ----------
    found : Found
    strike : Beta, optional
        The share of sound cuttings of its variety that strikes.
    rests_on : str
        What that share rests on.
    """
    lost = water_lost(found)
    hours, soaking = _soak(found, lost)
    dip, cleaning = _clean(found)
    is_apart, apart = _apart(found)
    then, deciding = _then(found, lost, hours)
    if then == "give up":
        hours, soaking, dip = 0, (Reason("Nothing to soak: it is to be given up."),), None
    if then == "hold":
        wait = (Reason("Not now: leave all as it is until the authority has answered."),)
        hours, soaking, dip, cleaning = 0, wait, None, wait
    useless = found.usable if then == "give up" else 0
    give_up = 0 if then == "hold" else (found.dead or 0) + (found.bored or 0) + useless
    return Advice(
        lost, hours, dip, is_apart, found.reportable, then, give_up, soaking, cleaning, apart, deciding, _names(found),
        likely(found, strike, rests_on) if strike and then not in ("give up", "hold") else None,
    )  # fmt: skip


def _soak(found: Found, lost: float | None) -> tuple[int, tuple[Reason, ...]]:
    if found.water == "pooled":
        return 0, (Reason("It came wet: drain it and dry the bark; a soak would only feed mould.", COMMON),)
    if lost is None:
        if found.wrinkled:
            return SHORT_SOAK_H, (
                Reason("The bark is wrinkled, so it is thirsty; how much it lost nobody weighed.", COMMON),
                *_how_to_soak(found),
            )
        return 0, (
            Reason(
                "No weights to compare and no wrinkled bark: no soak. Ask the sender what it weighed.", COMMON
            ),
        )
    at = bands(found.species)
    said = f"It lost {percent(lost)} of its mass on the way"
    kind = species(found.species).name
    if lost < -WETTED:
        return 0, (
            Reason(
                f"It came {percent(-lost)} heavier than it went: wet wrap or bark. Dry it, do not soak it.",
                OURS,
            ),
        )
    if lost < at.soak_from and found.wrinkled:
        return SHORT_SOAK_H, (
            Reason(f"{said}, yet the bark is wrinkled: it was thirsty when it went.", COMMON),
            *_how_to_soak(found),
        )
    if lost < at.soak_from:
        return 0, (
            Reason(f"{said}: under {percent(at.soak_from)}, where a soak does nothing for {kind}.", at.mark),
        )
    if lost < at.limit:
        return SHORT_SOAK_H, (
            Reason(
                f"{said}: short of the {percent(at.limit)} that harm {kind}, enough for a night in water.",
                at.mark,
            ),
            *_how_to_soak(found),
        )
    if lost < at.high:
        said += f": beyond the {percent(at.limit)} at which harm starts in {kind}. Soak, and scratch-test again after it."
    elif lost < at.ruined:
        said += f": beyond {percent(at.high)}. Expect heavy losses whatever you do."
    else:
        said += f": beyond {percent(at.ruined)} most dies, as roses did. Soak a few, test them, and claim."
    return LONG_SOAK_H, (
        Reason(said, at.mark),
        Reason(
            "A soak of 20 h brought roses that had dried for a day from 38 to 75 in 100 alive (HortScience 25:863, 1990).",
            PUBLISHED,
        ),
        *_how_to_soak(found),
    )


def _how_to_soak(found: Found) -> tuple[Reason, ...]:
    own = Reason(
        "Bases down, clean cold water, each lot a vessel of its own: water held more microbes within an hour (Waite et al. "
        "2013, Phytopathol. Mediterr. 52:359-368).",
        PUBLISHED,
    )
    end = Reason("Never longer than a day: wood drowns, and wetter wood moulds more in store.", COMMON)
    if found.mouldy:
        return own, end, Reason("Disinfect first, then soak: mould spreads in water.", COMMON)
    return own, end


def _clean(found: Found) -> tuple[Dip | None, tuple[Reason, ...]]:
    reasons = []
    if found.scale or found.mites:
        what = " and ".join(
            word for word, seen in (("scale", found.scale), ("mites or their eggs", found.mites)) if seen
        )
        reasons.append(
            Reason(f"{what.capitalize()}: brush them off under running water. Bleach does not kill them; ask for what is "
                   "allowed where you are, and go by its label.", COMMON)
        )  # fmt: skip
    if found.bored:
        reasons.append(
            Reason(
                f"Borers in {found.bored}: give those up and burn or bag them for the bin. No dip reaches inside.",
                COMMON,
            )
        )
    if not found.mouldy:
        reasons.append(
            Reason("No mould seen: wipe it clean, no bleach. A dip can hurt buds and bark.", COMMON)
        )
        return None, tuple(reasons)
    if (found.callus or 0) >= CALLUSED or found.buds == "open":
        why = "callus" if (found.callus or 0) >= CALLUSED else "open buds"
        reasons.append(
            Reason(f"Mould on {found.mouldy}, but bleach burns {why}: wipe and rinse only, then air.", COMMON)
        )
        return None, tuple(reasons)
    dip = Dip(0.5, 8)
    reasons.append(
        Reason(f"Mould on {found.mouldy}: wash, then {dip.strength} for {dip.minutes:g} minutes (5 to 10), rinse well, let dry. Try "
               "ten cuttings first.", COMMON)
    )  # fmt: skip
    return dip, tuple(reasons)


def _apart(found: Found) -> tuple[bool, tuple[Reason, ...]]:
    reasons = []
    if found.reportable:
        reasons.append(
            Reason("This may be a pest or disease that must be reported. Close the bag, move, post, plant and burn nothing, and ask "
                   "the plant-health authority now; what they say comes before what stands here.")
        )  # fmt: skip
    seen = (
        ("scale", found.scale), ("mites", found.mites), ("borers", bool(found.bored)), ("mould", bool(found.mouldy)),
    )  # fmt: skip
    whys = [word for word, there in seen if there]
    if whys:
        reasons.append(
            Reason(
                f"Keep it apart from your own wood, with tools of its own: {', '.join(whys)} seen. Look again each week.",
                COMMON,
            )
        )
    if reasons:
        return True, tuple(reasons)
    return False, (
        Reason("Nothing seen that spreads: a bag of its own will do. Many keep all strange wood apart for a season and look "
               "two or three times.", MEMORY),
    )  # fmt: skip


def _then(found: Found, lost: float | None, hours: int) -> tuple[str, tuple[Reason, ...]]:
    """Return store, strike, give up or hold, and why."""
    if found.reportable:
        return "hold", (Reason("Held until the plant-health authority has answered."),)
    tested, green = found.scratch_of or 0, found.scratch_green or 0
    if found.counted is not None and found.usable == 0:
        return "give up", (Reason("Nothing of it looks alive."),)
    if tested >= NONE_OF and green == 0:
        return "give up", (
            Reason(
                f"Not one green of {tested}: at most {percent(1 - 0.05 ** (1 / tested))} of it is alive (95 in 100 sure).",
                PUBLISHED,
            ),
        )
    reasons = _of_the_test(found)
    kind = species(found.species)
    now = []
    if found.buds == "open" or (found.callus or 0) >= 3:
        now.append(Reason("It grows already and will not keep.", COMMON))
    elif (found.callus or 0) >= CALLUSED:
        now.append(Reason(f"Callus {found.callus} of 4: in store it would only spend itself.", COMMON))
    elif found.buds == "swelling":
        now.append(Reason("The buds swell: dormancy is over, and cold only slows it.", COMMON))
    if found.smell == "sour":
        now.append(
            Reason(
                "It smells sour: it ran out of air. Air it well; it will not bear another closed bag.", COMMON
            )
        )
    if lost is not None and lost >= bands(found.species).limit:
        now.append(Reason("Wood that dried beyond its limit keeps badly: once soaked, use it.", COMMON))
    keep = kind.value("keep_weeks")
    if found.days is not None and found.days / 7 >= keep:
        now.append(Reason(f"{found.days / 7:.0f} weeks old: {kind.name} keeps about {keep:g}.", COMMON))
    if now:
        return "strike", (*reasons, *now)
    left = f" for about {keep - (found.days or 0) / 7:.0f} weeks more" if found.days is not None else ""
    word = "It sleeps" if found.buds == "tight" or found.callus == 0 else "Nothing says that it has woken"
    return "store", (*reasons, Reason(f"{word}: it keeps in the cold{left}.", COMMON), *_after(hours))


def _of_the_test(found: Found) -> tuple[Reason, ...]:
    tested, green = found.scratch_of or 0, found.scratch_green or 0
    if not tested:
        return (
            Reason("No scratch test yet: what is brown under the bark does not show from outside.", COMMON),
        )
    if tested < FEW_TESTED:
        return (Reason(f"Only {tested} scratched: that says little of a bag. Scratch ten.", OURS),)
    if green / tested < GREEN_ENOUGH:
        return (Reason(f"{green} green of {tested}: scratch ten more before you give it room.", OURS),)
    return ()


def _after(hours: int) -> tuple[Reason, ...]:
    return (
        (Reason(f"First the soak of {hours} h; let the bark dry off before a bag is closed on it.", COMMON),)
        if hours
        else ()
    )


def _names(found: Found) -> tuple[Reason, ...]:
    reasons = []
    if found.label in ("unreadable", "missing"):
        reasons.append(
            Reason(
                f"The label is {found.label}: take the name for doubtful, write so on yours, and ask the sender before you pass it on.",
                COMMON,
            )
        )
    if found.polarity == "unclear":
        reasons.append(
            Reason("Top and base cannot be told: a bud sits above its leaf scar and points up. Mark the tops before they are stored; "
                   "upside down they do not strike.", COMMON)
        )  # fmt: skip
    if found.stated is not None and found.counted is not None and found.counted != found.stated:
        few = found.counted < found.stated
        reasons.append(
            Reason(
                f"{abs(found.stated - found.counted)} {'fewer' if few else 'more'} than the slip says: count once more."
            )
        )
    return tuple(reasons)
