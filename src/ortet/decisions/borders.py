"""What to ask before wood goes somewhere: whom, and what is usually asked. It says what to ask, never that wood may go.

Rules differ by kind of plant, by place and by the month, so every answer here is a question for the plant-health authority.
"""

from dataclasses import dataclass

from ortet.wood.countries import EU, GREAT_BRITAIN, country_name
from ortet.wood.speech import say, to_say

__all__ = ["ALWAYS", "Checklist", "Need", "Question", "checklist", "passport_needed", "way_of"]

ALWAYS = to_say(
    "Ask the plant-health authority before you post. This list only helps you to ask; it permits nothing."
)

# Its plant-health rules hold in Liechtenstein, too. [memory]
SWITZERLAND = frozenset({"CH", "LI"})


@dataclass(frozen=True, slots=True)
class Question:
    """Something to ask."""

    ask: str
    whom: str
    usual: str  # what is usually asked
    source: str  # what that rests on, and its mark


@dataclass(frozen=True, slots=True)
class Checklist:
    """What to ask on one way."""

    way: str  # one of the keys of `_WAYS`
    title: str
    questions: tuple[Question, ...]


@dataclass(frozen=True, slots=True)
class Need:
    """Whether a plant passport goes with wood, and why."""

    needed: bool
    why: str


def passport_needed(*, is_trade: bool, at_a_distance: bool, zone: bool) -> Need:
    """Say whether plants for planting need a plant passport inside the Union.

    Parameters
    ----------
    is_trade
        Whether the buyer is a nursery or a shop.
    at_a_distance
        Whether it was sold by web, mail or telephone and is sent.
    zone
        Whether it goes into a protected zone.

    References
    ----------
    Regulation (EU) 2016/2031, Articles 79 to 81: final users who are supplied directly need none, but for sales at a
    distance and for protected zones. [published, the application our own reading]
    """
    needed, why = _needed(is_trade=is_trade, at_a_distance=at_a_distance, zone=zone)
    return Need(needed, say("{why} Check with the plant-health authority.", why=why))


def _needed(*, is_trade: bool, at_a_distance: bool, zone: bool) -> tuple[bool, str]:
    if zone:
        return True, say("Into a protected zone every plant for planting needs its passport, PZ.")
    if is_trade:
        return True, say("Between operators every plant for planting needs its passport.")
    if at_a_distance:
        return True, say("The leave for final users does not hold for sales by web, mail or telephone.")
    return False, say("A final user who is supplied directly, hand to hand, needs none.")


def way_of(frm: str, to: str, *, from_region: str = "", to_region: str = "", zone: bool = False) -> str:
    """Return which of the ways below this is."""
    frm, to = frm.upper(), to.upper()
    if not frm or not to:
        return "unknown"
    if frm in EU and to in EU:
        return "zone" if zone else "inside" if frm == to else "union"
    if frm in GREAT_BRITAIN and to in GREAT_BRITAIN:
        return "free area" if zone else "britain"
    if frm in GREAT_BRITAIN and to == "XI":
        return "britain to northern ireland"
    if frm == "XI" and to in GREAT_BRITAIN:
        return "northern ireland to britain"
    if frm in GREAT_BRITAIN and to in EU:
        return "britain to union"
    if frm in EU and to in GREAT_BRITAIN:
        return "union to britain"
    if frm != to and {frm, to} & SWITZERLAND and {frm, to} <= (EU - {"XI"}) | SWITZERLAND:
        return "switzerland"
    if frm == to == "US":
        return "one state" if from_region and from_region == to_region else "states"
    return "same country" if frm == to else "third country"


def checklist(
    frm: str,
    to: str,
    *,
    from_region: str = "",
    to_region: str = "",
    zone: bool = False,
    is_trade: bool = False,
) -> Checklist:
    """Return what to ask before wood goes from one country to another.

    Parameters
    ----------
    frm, to
        ISO 3166-1; nothing: not known.
    from_region, to_region
        The end of the ISO 3166-2 codes, such as CA and OR.
    zone
        Whether it goes into a protected zone of the Union or a pest-free area of Great Britain.
    is_trade
        Whether the buyer is a nursery or a shop.
    """
    way = way_of(frm, to, from_region=from_region, to_region=to_region, zone=zone)
    here = country_name(frm) + (f" {from_region}" if from_region else "")
    there = country_name(to) + (f" {to_region}" if to_region else "")
    if not frm or not to:
        title = say("Where from and where to is not noted")
    elif here == there:
        title = say("Within {here}", here=here)
    else:
        title = say("From {here} to {there}", here=here, there=there)
    if zone and way == "free area":
        title = say("{way}, into a pest-free area", way=title)
    elif zone:
        title = say("{way}, into a protected zone", way=title)
    special = _WAYS[way]
    if way in ("inside", "union", "zone"):
        _, why = _needed(is_trade=is_trade, at_a_distance=True, zone=zone)
        special = (
            Question(
                to_say("Does this parcel need plant passports, and may I issue them?"),
                _OWN,
                why,
                "Regulation (EU) 2016/2031, Articles 79 to 81 and 89 [published]",
            ),
            *special,
        )
    return Checklist(way, title, tuple(_said(one) for one in (*special, *_EVERYWHERE)))


def _said(one: Question) -> Question:
    return Question(say(one.ask), say(one.whom), say(one.usual), one.source)


_OWN = to_say("the plant-health authority of your own country")
_THERE = to_say("the plant-health authority of the country it goes to, or the buyer through it")

_EVERYWHERE = (
    Question(
        to_say("Is any of these varieties protected where it goes, and may I send it there?"),
        to_say("the holder of the right, or the register of that country"),
        to_say(
            "Sending propagating wood of a protected variety needs the holder's leave in each country where the right holds."
        ),
        "UPOV Convention, 1991 Act, Article 14(1) [published]",
    ),
    Question(
        to_say("Which records must I keep, and how long?"),
        _OWN,
        to_say(
            "Who got which lot on which day; three years is the least in many places. The book keeps it, by lot and buyer."
        ),
        "Regulation (EU) 2016/2031, Article 69 [published]; the period as authorities give it [published]",
    ),
)

_ZONE = (
    Question(
        to_say("Is the place it goes to a protected zone for a pest of these plants?"),
        _OWN,
        to_say(
            "The passport then carries PZ and the pest's scientific name or EPPO code, and the wood must meet that zone's terms."
        ),
        "Regulation (EU) 2016/2031, Articles 32 and 80, Annex VII part B [published]",
    ),
)
_LABELS = (
    Question(
        to_say("Is a supplier's document wanted for fruit plants?"),
        to_say("the official body for fruit plant material"),
        to_say(
            "For CAC material of the fruit kinds of the directive, a supplier's document with its particulars."
        ),
        "Directive 2008/90/EC and Directive 2014/96/EU, Articles 5 and 6 [published]",
    ),
)
_CERTIFICATE = Question(
    to_say("Is a phytosanitary certificate needed, who inspects, and how many days before?"),
    _OWN,
    to_say(
        "Only an official body issues it. It asks for sender and receiver, botanical names, quantities, packages, origin, treatments."
    ),
    "ISPM 12, Phytosanitary certificates [published]",
)
_IMPORT = Question(
    to_say(
        "Is an import permit, a test, a treatment or a quarantine asked for, and is the plant allowed in at all?"
    ),
    _THERE,
    to_say(
        "Permits are often asked for before the wood is cut. Some genera are prohibited, some held in quarantine for years."
    ),
    "ISPM 20, import regulatory systems [memory]",
)
_CUSTOMS = Question(
    to_say("What must be declared to customs, and by whom?"),
    to_say("customs, and the carrier"),
    to_say(
        "A declaration of contents and value; the certificate in the parcel and its number on the papers."
    ),
    "common practice of carriers [common practice]",
)

_WAYS: dict[str, tuple[Question, ...]] = {
    "inside": (*_ZONE, *_LABELS),
    "union": (*_ZONE, *_LABELS),
    "zone": (*_ZONE, *_LABELS),
    "britain": (
        Question(
            to_say("Does this parcel need UK plant passports, and may I issue them?"),
            to_say("the plant-health authority of your country within Great Britain"),
            to_say(
                "All plants for planting that are sold at a distance travel with a UK plant passport of an authorised issuer."
            ),
            "Regulation (EU) 2016/2031 as retained; guidance on GOV.UK [published]",
        ),
        Question(
            to_say("Is it a pest-free area for a pest of these plants?"),
            to_say("the plant-health authority of your country within Great Britain"),
            to_say("The passport then carries PFA and the pest's scientific name or code."),
            "Regulation (EU) 2019/2072 as retained, Article 14 [published]",
        ),
    ),
    "britain to northern ireland": (
        Question(
            to_say(
                "May it go under the Northern Ireland plant health label, or does it need a phytosanitary certificate?"
            ),
            to_say("the plant-health authority of your country within Great Britain"),
            to_say(
                "Registered traders may use the label for some plants for planting; others need a certificate."
            ),
            "guidance on GOV.UK [published]",
        ),
    ),
    "northern ireland to britain": (
        Question(
            to_say("Does it go as a qualifying good of Northern Ireland, and with which passport?"),
            to_say("the plant-health authority of Northern Ireland"),
            to_say(
                "What is grown in Northern Ireland mostly needs no certificate into Great Britain; a plant passport is often asked for."
            ),
            "guidance on GOV.UK [memory]",
        ),
    ),
    "switzerland": (
        Question(
            to_say("Does this parcel need plant passports, and may I issue them?"),
            _OWN,
            to_say(
                "The Union and Switzerland with Liechtenstein accept each other's plant passports, so that mostly no certificate is needed."
            ),
            "Agreement between the European Community and Switzerland on agricultural products (1999), Annex 4 [memory]",
        ),
        *_ZONE,
        _CUSTOMS,
    ),
    "britain to union": (
        _CERTIFICATE,
        _IMPORT,
        Question(
            to_say("Through which border control post does it go, and who gives notice there?"),
            _THERE,
            to_say("Notice before arrival, and checks of papers and plants at the post."),
            "Regulation (EU) 2016/2031, Articles 71 to 76; Regulation (EU) 2017/625 [memory]",
        ),
        _CUSTOMS,
    ),
    "union to britain": (
        _CERTIFICATE,
        Question(
            to_say("What does Great Britain ask of these plants, and who gives notice there?"),
            _THERE,
            to_say("A certificate for plants for planting, and notice by the importer before arrival."),
            "Regulation (EU) 2016/2031 as retained; guidance on GOV.UK [memory]",
        ),
        _CUSTOMS,
    ),
    "one state": (
        Question(
            to_say("Is a licence, a registration or a yearly inspection asked for?"),
            to_say("the department of agriculture of your state"),
            to_say(
                "Many states count cuttings and scions as nursery stock, with a licence above a certain sale and a yearly inspection."
            ),
            "state rules, such as NJAC 2:18-1.1 [published]",
        ),
        Question(
            to_say("Does a quarantine hold in your county or the buyer's?"),
            to_say("the department of agriculture of your state"),
            to_say("State and federal quarantines bind within a state, too."),
            "7 CFR 301 [published]",
        ),
    ),
    "states": (
        Question(
            to_say("What does the state it goes to ask of these plants?"),
            to_say(
                "the department of agriculture of the state it goes to; the National Plant Board keeps summaries"
            ),
            to_say(
                "Its rules decide: a certificate or tag with the shipment, a treatment, a test, or no entry for some genera."
            ),
            "state rules; the National Plant Board's summaries [published]",
        ),
        Question(
            to_say("Is my own inspection certificate valid, and does it go with the parcel?"),
            to_say("the department of agriculture of your state"),
            to_say(
                "A licence or registration, a yearly inspection, and its certificate or tag with each shipment."
            ),
            "state rules, such as COMAR 15.06.02.03 [published]",
        ),
        Question(
            to_say("Does a federal quarantine hold where it comes from?"),
            to_say("the federal plant-protection office of your state"),
            to_say("Wood out of a quarantined area needs a certificate or may not go."),
            "7 CFR 301 [published]",
        ),
    ),
    "same country": (
        Question(
            to_say("Does wood for planting need a document to move within the country?"),
            _OWN,
            to_say("Registration, an inspection, a label or a permit, by kind of plant and by region."),
            "no rule was looked up for this country [common practice]",
        ),
    ),
    "third country": (_CERTIFICATE, _IMPORT, _CUSTOMS),
    "unknown": (
        Question(
            to_say("Where does the parcel go, and is that another country, state or a protected zone?"),
            to_say("the buyer"),
            to_say(
                "Note the country with the order, and your own with the nursery: then this list says what to ask."
            ),
            "our choice [our choice]",
        ),
    ),
}
_WAYS["free area"] = _WAYS["britain"]
