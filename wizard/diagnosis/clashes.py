"""Answers that contradict each other: which they are, what is asked once more, and how much they still count.

A contradiction is said and asked about; it is not averaged away. Until it is settled, evidence that rests
on an answer in doubt counts less. What the program measured is not in doubt.
"""

from collections.abc import Iterable, Mapping

from wizard.diagnosis.facts import Facts
from wizard.diagnosis.rulebook import Clash, Rule, Rulebook

DOUBTED = 0.5
"""What is left of the weight of evidence that rests on an answer in doubt: common practice (no source)."""


def clashing(rulebook: Rulebook, facts: Facts) -> tuple[Clash, ...]:
    """The clashes of this case, in the order of the rulebook. Those among measured observations alone are left out:
    nobody could be asked about them."""
    possible = rulebook.once(_by_observation)
    near = {clash.id: clash for name in facts.observations for clash in possible.get(name, ())}
    return tuple(
        clash for clash in rulebook.clashes if clash.id in near and told(clash, facts) and _holds(clash, facts)
    )


def _holds(clash: Clash, facts: Facts) -> bool:
    clear = all(facts.holds(condition) is True for condition in clash.when)
    return clear and not any(facts.holds(condition) is True for condition in clash.unless)


def told(clash: Clash, facts: Facts) -> tuple[str, ...]:
    """The observations of a clash that rest on an answer, the one to ask again first."""
    names = (clash.ask, *(name for name in clash.observations() if name != clash.ask))
    return tuple(name for name in names if name in facts.observations and name not in facts.measured)


def in_doubt(clashes: Iterable[Clash], facts: Facts) -> frozenset[str]:
    """Observations whose answers clash."""
    return frozenset(name for clash in clashes for name in told(clash, facts))


def doubts(rulebook: Rulebook, facts: Facts) -> frozenset[str]:
    """Observations of this case whose answers clash."""
    return in_doubt(clashing(rulebook, facts), facts)


def trust(rule: Rule, doubted: frozenset[str]) -> float:
    """The part of a rule's weight that counts: all of it, or less if it rests on an answer in doubt."""
    if doubted and any(condition.observation in doubted for condition in rule.when):
        return DOUBTED
    return 1.0


def _by_observation(rulebook: Rulebook) -> Mapping[str, tuple[Clash, ...]]:
    """Clashes by the last observation they look at: without it there is none."""
    found: dict[str, tuple[Clash, ...]] = {}
    for clash in rulebook.clashes:
        name = clash.observations()[-1]
        found[name] = (*found.get(name, ()), clash)
    return found
