"""The usual cautions that go with what can hurt someone. The label's own directions and local rules come first."""

__all__ = ["cautions"]

BLEACH = (
    "Sodium hypochlorite (bleach): never together with acids, ammonia or other cleaners: poisonous gas forms.",
    "Work in moving air, with gloves and eye protection. Mix it fresh for each session; add bleach to water.",
)
HORMONE = (
    "Rooting hormone: the product's label is the law; gloves, and eyes covered. Keep it from children and food.",
)
MATS = ("Heated mats: mains and water. A fault-current breaker, plugs off the bench, no mended cables.",)
KNIFE = (
    "A grafting knife is as sharp as a razor: the holding thumb below the blade's way, cut-proof glove on it.",
)
LABEL_IS_LAW = "The product's label is the law: its use, dose, protection and disposal, and your local rules, come first."
CAUTIONS = {
    "disinfect": (*BLEACH, "Alcohol burns: keep flames and sparks away.", LABEL_IS_LAW),
    "graft": (*KNIFE, *MATS),
    "strike": (*HORMONE, *MATS),
    "wash": (),
    "wax": ("Hot wax burns skin and can catch fire: melt it in a water bath, never over a flame.",),
}


def cautions(kind: str) -> tuple[str, ...]:
    """Return the sentences to show beside a deed or treatment of this kind."""
    return CAUTIONS.get(kind, ())
