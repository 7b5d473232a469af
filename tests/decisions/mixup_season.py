"""An invented season in which one thing goes wrong, played cutting by cutting: what was done, what was found, what was true.

It shares no code with the decision but the values it is handed: cuttings are things here, and each knows what it is.
"""

from dataclasses import dataclass, replace
from random import Random

from ortet.decisions.mixup import Group, Moment, Pool, Side, Source

VARIETIES = 8
STEPS = ("taken", "bagged", "looked", "struck")


@dataclass
class Season:
    """What was handed to the judge, and the key of the moment that it should find."""

    groups: list[Group]
    moments: list[Moment]
    sources: list[Source]
    truth: int
    unseen: list[
        list[str]
    ]  # for each group what its plants are that nobody looked at, in an order drawn by chance

    def look(self, g: int, plants: int) -> None:
        """Look at more plants of a group; each is known for right or wrong, not for what it is."""
        group, more = self.groups[g], self.unseen[g][:plants]
        del self.unseen[g][:plants]
        right = sum(what == group.variety for what in more)
        wrong = dict(group.wrong)
        if len(more) > right:
            wrong[""] = wrong.get("", 0) + len(more) - right
        self.groups[g] = replace(group, right=group.right + right, wrong=tuple(wrong.items()))


def _sessions(lots: int, draw: Random) -> dict[str, list[list[int]]]:
    """Return for each step the lots that were open together, three to five at a time, in an order of its own."""
    out = {}
    for step in STEPS:
        order = sorted(range(lots), key=lambda _: draw.random())
        out[step], at = [], 0
        while at < lots:
            size = 3 + int(draw.random() * 3)
            out[step].append(order[at : at + size])
            at += size
    return out


def play(seed: int, *, names: bool, wanted: int = 3) -> Season | None:
    """Play a season; look at plants of lots one by one until so many wrong are found. None where they never are."""
    draw = Random(seed)
    lots = 2 * VARIETIES
    variety = [f"V{lot % VARIETIES}" for lot in range(lots)]
    count = [20 + int(draw.random() * 60) for _ in range(lots)]
    sessions = _sessions(lots, draw)
    pairs = [
        (step, one, other, draw.random() * 2)
        for step in STEPS
        for session in sessions[step]
        for n, one in enumerate(session)
        for other in session[n + 1 :]
        if variety[one] != variety[other]
    ]
    # two bags of each lot, a batch of each bag; one bag is opened to be looked into
    split = [max(1, round(count[lot] * (0.3 + 0.4 * draw.random()))) for lot in range(lots)]
    is_in = [[n < split[lot] for n in range(count[lot])] for lot in range(lots)]
    for lot in range(lots):
        is_in[lot] = sorted(is_in[lot], key=lambda _: draw.random())
    place = {lot: [2 * lot if inside else 2 * lot + 1 for inside in is_in[lot]] for lot in range(lots)}
    size = [sum(1 for at in place[g // 2] if at == g) for g in range(2 * lots)]

    def pools(lot: int, step: str) -> tuple[Pool, ...]:
        both = [(2 * lot, size[2 * lot]), (2 * lot + 1, size[2 * lot + 1])]
        if step == "taken":
            return (Pool("bench", count[lot], tuple(dict(both).get(g, 0) for g in range(2 * lots))),)
        open_now = both[:1] if step == "looked" else both
        return tuple(
            Pool(f"bag {at}", number, tuple(number if g == at else 0 for g in range(2 * lots)))
            for at, number in open_now
        )

    moments = []
    for key, (step, one, other, apart) in enumerate(pairs):
        sides = [Side(lot, variety[lot], "blackcurrant", 8.0, step, pools(lot, step)) for lot in (one, other)]
        sides = [Side(f"L{s.lot}", s.variety, s.species, s.base_mm, s.act, s.pools) for s in sides]
        moments.append(Moment(key, *sides, apart, True))
    sources = [
        Source(1000 * n + lot, kind, f"{kind} {lot}", "", pools(lot, "taken")[0])
        for n, kind in enumerate(("mother", "part", "unseen"), 1)
        for lot in range(lots)
    ]

    # what goes wrong: a moment as likely as it is held to be, then a shape, then a number one in n
    odds = {"taken": 3.0, "bagged": 3.0, "looked": 0.5, "struck": 3.0}
    weight = [odds[step] * 2.718281828 ** (-apart / 2) for step, _, _, apart in pairs]
    truth = draw.choices(range(len(pairs)), weight)[0]
    step, one, other, _ = pairs[truth]
    shape = draw.choices(
        ["labels", "both", "into_first", "into_second"],
        [0.35 if step != "looked" else 0.0, 0.25, 0.2, 0.2],
    )[0]
    is_what = {lot: [variety[lot]] * count[lot] for lot in range(lots)}
    at_hand = {
        lot: [n for n in range(count[lot]) if step != "looked" or place[lot][n] == 2 * lot]
        for lot in (one, other)
    }
    if shape == "labels":
        for lot, else_ in ((one, other), (other, one)):
            bags = [2 * lot, 2 * lot + 1] if step != "taken" else [None]
            bag = bags[int(draw.random() * len(bags))]
            for n in at_hand[lot]:
                if bag is None or place[lot][n] == bag:
                    is_what[lot][n] = variety[else_]
    else:
        wrong_in = {"both": (one, other), "into_first": (one,), "into_second": (other,)}[shape]
        most = min(len(at_hand[lot]) for lot in wrong_in)
        number = draw.choices(range(1, most + 1), [1 / n for n in range(1, most + 1)])[0]
        for lot in wrong_in:
            for n in draw.sample(at_hand[lot], number):
                is_what[lot][n] = variety[other if lot == one else one]

    # the grower looks at plants, one batch after another, until so many wrong are found; then stops
    unseen = []
    for g in range(2 * lots):
        mine = [what for what, at in zip(is_what[g // 2], place[g // 2], strict=True) if at == g]
        unseen.append(sorted(mine, key=lambda _: draw.random()))
    groups = [Group(f"batch {g}", f"L{g // 2}", variety[g // 2], size[g]) for g in range(2 * lots)]
    found = 0
    for g in sorted(range(2 * lots), key=lambda g: (g // 2 not in (one, other), draw.random())):
        right, wrong = 0, {}
        while unseen[g] and right + sum(wrong.values()) < 12 and found < wanted:
            what = unseen[g].pop(0)
            if what == variety[g // 2]:
                right += 1
            else:
                found += 1
                wrong[what if names else ""] = wrong.get(what if names else "", 0) + 1
        groups[g] = replace(groups[g], right=right, wrong=tuple(wrong.items()))
    return Season(groups, moments, sources, truth, unseen) if found == wanted else None
