"""Answers about what is wanted, planned, learnt and traced."""

from ninja import Field

from ortet.pages.api.types import Answer, Day, Money, Percent, When

__all__ = [
    "Buyer",
    "Cancelled",
    "Checked",
    "Cut",
    "Evidence",
    "Fault",
    "Flow",
    "Given",
    "Label",
    "Line",
    "Node",
    "Order",
    "Plan",
    "Post",
    "Promise",
    "Scanned",
    "ScannedLabel",
    "Set",
    "Step",
    "Target",
    "Traced",
]


class Line(Answer):
    """One variety of an order."""

    line: str = Field(description="Such as 3/2: the second line of order 3.")
    variety: str
    use: str
    count: int
    least: int
    grades: list[str]
    price: Money | None = Field(description="Of one.")
    priority: int
    first_day: Day
    last_day: Day
    instead: list[str] = Field(description="Varieties taken in its place, the preferred first.")
    note: str
    tax_percent: Percent | None = Field(description="Sales tax or VAT; nothing: the nursery's.")
    is_wanted: bool = Field(description="False once it was cancelled.")


class Order(Answer):
    """What a buyer asked for on a day."""

    number: int
    buyer: str
    country: str
    at: When
    carriage: Money | None = Field(description="What the buyer pays for posting, without tax.")
    is_swap: bool
    in_return: str
    note: str
    lines: list[Line]


class Target(Answer):
    """What the nursery itself wants."""

    number: int
    variety: str
    purpose: str
    count: int
    priority: int
    worth: Money | None
    wanted_by: Day | None
    is_wanted: bool


class Cancelled(Answer):
    """A wish that no longer counts."""

    what: str


class Buyer(Answer):
    """Who bought or ordered, and where they are reached."""

    name: str
    address: str
    email: str
    country: str
    is_trade: bool


class Label(Answer):
    """What stands on one label, and where its code leads."""

    variety: str
    species: str
    code: str
    day: str
    grade: str
    count: int | None
    note: str
    address: str


class ScannedLabel(Answer):
    """One label, and what the book says of it."""

    text: str
    fits: bool
    says: str


class Scanned(Answer):
    """Labels beside what the book says lies there."""

    fits: bool
    says: str
    labels: list[ScannedLabel]


class Node(Answer):
    """Something that wood went through."""

    key: str
    kind: str
    name: str
    code: str
    mark: str
    variety: str
    count: int
    at: When | None
    here: dict[str, int]
    given_up: int
    lost: int
    role: str


class Flow(Answer):
    """So many from one node to another."""

    source: str
    target: str
    what: str
    count: int
    at: When | None


class Step(Answer):
    """One thing that happened to the wood."""

    at: When
    what: str
    count: int
    lot: str
    here: str
    there: str
    by: str
    note: str
    number: int


class Traced(Answer):
    """Where wood came from and went."""

    of: str
    nodes: list[Node]
    flows: list[Flow]
    steps: list[Step]


class Cut(Answer):
    """Wood to take."""

    mother: str
    variety: str
    use: str
    count: int
    done: int
    day: Day | None
    why: str


class Given(Answer):
    """Wood for a wish."""

    lot: str
    mother: str
    variety: str
    place: str
    count: int
    day: Day
    by_hand: bool


class Promise(Answer):
    """One wish and what it gets."""

    wish: str
    who: str
    variety: str
    asked: int
    given: int
    short: int
    why: list[str]
    order: int | None
    picks: list[Given]


class Set(Answer):
    """Wood to set on a bench."""

    lot: str
    variety: str
    place: str
    bench: str
    base_c: float | None
    count: int
    done: int
    start: Day
    ready: Day | None
    risk: float
    why: str


class Post(Answer):
    """A parcel and its day; no day: it is held."""

    order: int
    buyer: str
    count: int
    day: Day | None
    pack: str
    risk: float
    why: str


class Plan(Answer):
    """The season's plan that counts."""

    at: When
    cuts: list[Cut]
    promises: list[Promise]
    sets: list[Set]
    posts: list[Post]


class Evidence(Answer):
    """A variety and the share of it that roots, or takes."""

    variety: str
    species: str
    batches: int
    struck: int
    rooted: int
    low: float
    median: float
    high: float
    usual: float


class Fault(Answer):
    """Something that does not add up."""

    where: str
    message: str


class Checked(Answer):
    """The recount of the whole book."""

    holds: bool
    says: str
    faults: list[Fault]
    sums: dict[str, int]
