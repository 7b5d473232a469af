"""The usual cautions that go with what can hurt someone. The label's own directions and local rules come first."""

from ortet.wood.speech import say, to_say

__all__ = ["cautions"]

BLEACH = (
    to_say(
        "Sodium hypochlorite (bleach): never together with acids, ammonia or other cleaners: poisonous gas forms."
    ),
    to_say(
        "Work in moving air, with gloves and eye protection. Mix it fresh for each session; add bleach to water."
    ),
)
HORMONE = (
    to_say(
        "Rooting hormone: the product's label is the law; gloves, and eyes covered. Keep it from children and food."
    ),
)
MATS = (
    to_say("Heated mats: mains and water. A fault-current breaker, plugs off the bench, no mended cables."),
)
KNIFE = (
    to_say(
        "A grafting knife is as sharp as a razor: the holding thumb below the blade's way, cut-proof glove on it."
    ),
)
LABEL_IS_LAW = to_say(
    "The product's label is the law: its use, dose, protection and disposal, and your local rules, come first."
)
CAUTIONS = {
    "disinfect": (*BLEACH, to_say("Alcohol burns: keep flames and sparks away."), LABEL_IS_LAW),
    "graft": (*KNIFE, *MATS),
    "strike": (*HORMONE, *MATS),
    "wash": (),
    "wax": (to_say("Hot wax burns skin and can catch fire: melt it in a water bath, never over a flame."),),
}


def cautions(kind: str) -> tuple[str, ...]:
    """Return the sentences to show beside a deed or treatment of this kind."""
    return tuple(say(one) for one in CAUTIONS.get(kind, ()))
