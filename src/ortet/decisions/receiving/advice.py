"""What to do with one line of a parcel: soak, clean, keep apart, store or strike. Each sentence says what it rests on."""

from __future__ import annotations

from dataclasses import dataclass

from ortet.decisions.take.chain import Beta
from ortet.science.species import species
from ortet.wood.speech import say, to_say

from .found import Found, bands, percent, pests_of, water_lost
from .striking import Likely, likely

__all__ = ["Advice", "Dip", "Reason", "advise"]

PUBLISHED, COMMON, OURS, MEMORY = (
    to_say("published"), to_say("common practice"), to_say("our choice"), to_say("memory"),
)  # fmt: skip
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
        hours, soaking, dip = 0, (Reason(say("Nothing to soak: it is to be given up.")),), None
    if then == "hold":
        wait = (Reason(say("Not now: leave all as it is until the authority has answered.")),)
        hours, soaking, dip, cleaning = 0, wait, None, wait
    useless = found.usable if then == "give up" else 0
    give_up = 0 if then == "hold" else (found.dead or 0) + (found.bored or 0) + useless
    return Advice(
        lost, hours, dip, is_apart, found.reportable, then, give_up, soaking, cleaning, apart, deciding, _names(found),
        likely(found, strike, rests_on) if strike and then not in ("give up", "hold") else None,
    )  # fmt: skip


def _soak(found: Found, lost: float | None) -> tuple[int, tuple[Reason, ...]]:
    if found.water == "pooled":
        return 0, (
            Reason(say("It came wet: drain it and dry the bark; a soak would only feed mould."), COMMON),
        )
    if lost is None:
        if found.wrinkled:
            return SHORT_SOAK_H, (
                Reason(
                    say("The bark is wrinkled, so it is thirsty; how much it lost nobody weighed."), COMMON
                ),
                *_how_to_soak(found),
            )
        return 0, (
            Reason(
                say("No weights to compare and no wrinkled bark: no soak. Ask the sender what it weighed."),
                COMMON,
            ),
        )
    at = bands(found.species)
    said = say("It lost {lost} of its mass on the way", lost=percent(lost))
    kind = say(species(found.species).name)
    if lost < -WETTED:
        return 0, (
            Reason(
                say(
                    "It came {lost} heavier than it went: wet wrap or bark. Dry it, do not soak it.",
                    lost=percent(-lost),
                ),
                OURS,
            ),
        )
    if lost < at.soak_from and found.wrinkled:
        return SHORT_SOAK_H, (
            Reason(say("{said}, yet the bark is wrinkled: it was thirsty when it went.", said=said), COMMON),
            *_how_to_soak(found),
        )
    if lost < at.soak_from:
        return 0, (
            Reason(
                say(
                    "{said}: under {soak_from}, where a soak does nothing for {kind}.",
                    said=said,
                    soak_from=percent(at.soak_from),
                    kind=kind,
                ),
                at.mark,
            ),
        )
    if lost < at.limit:
        return SHORT_SOAK_H, (
            Reason(
                say(
                    "{said}: short of the {limit} that harm {kind}, enough for a night in water.",
                    said=said,
                    limit=percent(at.limit),
                    kind=kind,
                ),
                at.mark,
            ),
            *_how_to_soak(found),
        )
    if lost < at.high:
        said = say(
            "{said}: beyond the {limit} at which harm starts in {kind}. Soak, and scratch-test again after it.",
            said=said,
            limit=percent(at.limit),
            kind=kind,
        )
    elif lost < at.ruined:
        said = say(
            "{said}: beyond {limit}. Expect heavy losses whatever you do.", said=said, limit=percent(at.high)
        )
    else:
        said = say(
            "{said}: beyond {limit} most dies, as roses did. Soak a few, test them, and claim.",
            said=said,
            limit=percent(at.ruined),
        )
    return LONG_SOAK_H, (
        Reason(said, at.mark),
        Reason(
            say(
                "A soak of 20 h brought roses that had dried for a day from 38 to 75 in 100 alive (HortScience 25:863, 1990)."
            ),
            PUBLISHED,
        ),
        *_how_to_soak(found),
    )


def _how_to_soak(found: Found) -> tuple[Reason, ...]:
    own = Reason(
        say(
            "Bases down, clean cold water, each lot a vessel of its own: water held more microbes within an hour (Waite et al. "
            "2013, Phytopathol. Mediterr. 52:359-368)."
        ),
        PUBLISHED,
    )
    end = Reason(say("Never longer than a day: wood drowns, and wetter wood moulds more in store."), COMMON)
    if found.mouldy:
        return own, end, Reason(say("Disinfect first, then soak: mould spreads in water."), COMMON)
    return own, end


def _clean(found: Found) -> tuple[Dip | None, tuple[Reason, ...]]:
    reasons = []
    if found.scale or found.mites:
        reasons.append(
            Reason(
                say(
                    "{pests}: brush them off under running water. Bleach does not kill them; ask for what is allowed where "
                    "you are, and go by its label.",
                    pests=pests_of(found).capitalize(),
                ),
                COMMON,
            )
        )
    if found.bored:
        reasons.append(
            Reason(
                say(
                    "Borers in {bored}: give those up and burn or bag them for the bin. No dip reaches inside.",
                    bored=found.bored,
                ),
                COMMON,
            )
        )
    if not found.mouldy:
        reasons.append(
            Reason(say("No mould seen: wipe it clean, no bleach. A dip can hurt buds and bark."), COMMON)
        )
        return None, tuple(reasons)
    if (found.callus or 0) >= CALLUSED or found.buds == "open":
        why = say("callus") if (found.callus or 0) >= CALLUSED else say("open buds")
        reasons.append(
            Reason(
                say(
                    "Mould on {mouldy}, but bleach burns {why}: wipe and rinse only, then air.",
                    mouldy=found.mouldy,
                    why=why,
                ),
                COMMON,
            )
        )
        return None, tuple(reasons)
    dip = Dip(0.5, 8)
    reasons.append(
        Reason(
            say(
                "Mould on {mouldy}: wash, then {strength} for {minutes:g} minutes (5 to 10), rinse well, let dry. Try "
                "ten cuttings first.",
                mouldy=found.mouldy,
                strength=dip.strength,
                minutes=dip.minutes,
            ),
            COMMON,
        )
    )
    return dip, tuple(reasons)


def _apart(found: Found) -> tuple[bool, tuple[Reason, ...]]:
    reasons = []
    if found.reportable:
        reasons.append(
            Reason(
                say(
                    "This may be a pest or disease that must be reported. Close the bag, move, post, plant and burn nothing, and ask "
                    "the plant-health authority now; what they say comes before what stands here."
                )
            )
        )
    seen = (
        (say("scale"), found.scale), (say("mites"), found.mites), (say("borers"), bool(found.bored)),
        (say("mould"), bool(found.mouldy)),
    )  # fmt: skip
    whys = [word for word, there in seen if there]
    if whys:
        reasons.append(
            Reason(
                say(
                    "Keep it apart from your own wood, with tools of its own: {pests} seen. Look again each week.",
                    pests=", ".join(whys),
                ),
                COMMON,
            )
        )
    if reasons:
        return True, tuple(reasons)
    return False, (
        Reason(
            say(
                "Nothing seen that spreads: a bag of its own will do. Many keep all strange wood apart for a season and look "
                "two or three times."
            ),
            MEMORY,
        ),
    )


def _then(found: Found, lost: float | None, hours: int) -> tuple[str, tuple[Reason, ...]]:
    """Return store, strike, give up or hold, and why."""
    if found.reportable:
        return "hold", (Reason(say("Held until the plant-health authority has answered.")),)
    tested, green = found.scratch_of or 0, found.scratch_green or 0
    if found.counted is not None and found.usable == 0:
        return "give up", (Reason(say("Nothing of it looks alive.")),)
    if tested >= NONE_OF and green == 0:
        return "give up", (
            Reason(
                say(
                    "Not one green of {tested}: at most {share} of it is alive (95 in 100 sure).",
                    tested=tested,
                    share=percent(1 - 0.05 ** (1 / tested)),
                ),
                PUBLISHED,
            ),
        )
    reasons = _of_the_test(found)
    kind = species(found.species)
    now = []
    if found.buds == "open" or (found.callus or 0) >= 3:
        now.append(Reason(say("It grows already and will not keep."), COMMON))
    elif (found.callus or 0) >= CALLUSED:
        now.append(
            Reason(
                say("Callus {callus} of 4: in store it would only spend itself.", callus=found.callus), COMMON
            )
        )
    elif found.buds == "swelling":
        now.append(Reason(say("The buds swell: dormancy is over, and cold only slows it."), COMMON))
    if found.smell == "sour":
        now.append(
            Reason(
                say("It smells sour: it ran out of air. Air it well; it will not bear another closed bag."),
                COMMON,
            )
        )
    if lost is not None and lost >= bands(found.species).limit:
        now.append(Reason(say("Wood that dried beyond its limit keeps badly: once soaked, use it."), COMMON))
    keep = kind.value("keep_weeks")
    if found.days is not None and found.days / 7 >= keep:
        now.append(
            Reason(
                say(
                    "{weeks:.0f} weeks old: {kind} keeps about {keep:g}.",
                    weeks=found.days / 7,
                    kind=say(kind.name),
                    keep=keep,
                ),
                COMMON,
            )
        )
    if now:
        return "strike", (*reasons, *now)
    left = (
        say(" for about {weeks:.0f} weeks more", weeks=keep - found.days / 7)
        if found.days is not None
        else ""
    )
    word = (
        say("It sleeps")
        if found.buds == "tight" or found.callus == 0
        else say("Nothing says that it has woken")
    )
    keeps = Reason(say("{word}: it keeps in the cold{left}.", word=word, left=left), COMMON)
    return "store", (*reasons, keeps, *_after(hours))


def _of_the_test(found: Found) -> tuple[Reason, ...]:
    tested, green = found.scratch_of or 0, found.scratch_green or 0
    if not tested:
        return (
            Reason(
                say("No scratch test yet: what is brown under the bark does not show from outside."), COMMON
            ),
        )
    if tested < FEW_TESTED:
        return (
            Reason(
                say("Only {tested} scratched: that says little of a bag. Scratch ten.", tested=tested), OURS
            ),
        )
    if green / tested < GREEN_ENOUGH:
        return (
            Reason(
                say(
                    "{green} green of {tested}: scratch ten more before you give it room.",
                    green=green,
                    tested=tested,
                ),
                OURS,
            ),
        )
    return ()


def _after(hours: int) -> tuple[Reason, ...]:
    return (
        (
            Reason(
                say(
                    "First the soak of {hours} h; let the bark dry off before a bag is closed on it.",
                    hours=hours,
                ),
                COMMON,
            ),
        )
        if hours
        else ()
    )


def _names(found: Found) -> tuple[Reason, ...]:
    reasons = []
    if found.label in ("unreadable", "missing"):
        reasons.append(
            Reason(
                say(
                    "The label is {state}: take the name for doubtful, write so on yours, and ask the sender before you pass it on.",
                    state=say(found.label),
                ),
                COMMON,
            )
        )
    if found.polarity == "unclear":
        reasons.append(
            Reason(
                say(
                    "Top and base cannot be told: a bud sits above its leaf scar and points up. Mark the tops before they are stored; "
                    "upside down they do not strike."
                ),
                COMMON,
            )
        )
    if found.stated is not None and found.counted is not None and found.counted != found.stated:
        count = abs(found.stated - found.counted)
        reasons.append(
            Reason(
                say("{count} fewer than the slip says: count once more.", count=count)
                if found.counted < found.stated
                else say("{count} more than the slip says: count once more.", count=count)
            )
        )
    return tuple(reasons)
