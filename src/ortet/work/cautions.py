"""The usual cautions that go with what can hurt someone. The label's own directions and local rules come first."""

__all__ = ["cautions"]

BLEACH = (
    "Sodium hypochlorite (bleach): never together with acids, ammonia or other cleaners: poisonous gas forms.",
    "Work in moving air, with gloves and eye protection. Mix it fresh for each session; add bleach to water.",
)
LABEL_IS_LAW = "The product's label is the law: its use, dose, protection and disposal, and your local rules, come first."
CAUTIONS = {
    "disinfect": (*BLEACH, "Alcohol burns: keep flames and sparks away.", LABEL_IS_LAW),
    "wash": (),
    "wax": ("Hot wax burns skin and can catch fire: melt it in a water bath, never over a flame.",),
}


def cautions(kind: str) -> tuple[str, ...]:
    """Return the sentences to show beside a treatment of this kind."""
    return CAUTIONS.get(kind, ())
