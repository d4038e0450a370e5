"""The rules by what they look at, so that a case costs only the rules that its own facts can fulfil."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Self

from wizard.diagnosis.facts import Facts
from wizard.diagnosis.rulebook import Condition, Rule, Rulebook


@dataclass(frozen=True)
class RuleIndex:
    """Numbers of rules in the order of the rulebook: by one observation each of them needs; then those that need a
    sign, a budget, or only a symptom. `looking_at` has every rule by each observation it looks at. `weights` are
    decibans by cause, by number of the rule."""

    rules: tuple[Rule, ...]
    weights: tuple[dict[str, float], ...]
    by_observation: dict[str, tuple[int, ...]]
    by_sign: tuple[int, ...]
    by_ledger: tuple[int, ...]
    by_symptom: tuple[int, ...]
    looking_at: dict[str, tuple[int, ...]]

    @classmethod
    def of(cls, rulebook: Rulebook) -> Self:
        """Sort the rules of a rulebook. Each goes to the scarcest thing it needs: no answer, no rule."""
        by_observation: dict[str, list[int]] = {}
        looking_at: dict[str, list[int]] = {}
        others: dict[str, list[int]] = {"sign": [], "ledger": [], "symptom": []}
        for number, rule in enumerate(rulebook.rules):
            observations = [c.observation for c in rule.when if c.observation is not None]
            for name in dict.fromkeys(observations):
                looking_at.setdefault(name, []).append(number)
            if observations:
                by_observation.setdefault(observations[-1], []).append(number)
            else:
                others[_scarcest(rule.when)].append(number)
        return cls(
            rules=rulebook.rules,
            weights=tuple(rule.weights() for rule in rulebook.rules),
            by_observation={name: tuple(numbers) for name, numbers in by_observation.items()},
            by_sign=tuple(others["sign"]),
            by_ledger=tuple(others["ledger"]),
            by_symptom=tuple(others["symptom"]),
            looking_at={name: tuple(numbers) for name, numbers in looking_at.items()},
        )

    def applying(self, facts: Facts) -> tuple[int, ...]:
        """Numbers of the rules whose conditions are all known to hold, in the order of the rulebook."""
        rules = self.rules
        found = [n for n in self._candidates(facts) if all(facts.holds(c) is True for c in rules[n].when)]
        return tuple(sorted(found))

    def applying_more(self, known: tuple[int, ...], facts: Facts, observation: str) -> tuple[int, ...]:
        """The same where `known` applied already before that one observation came to the facts: an answer more takes
        nothing away."""
        rules = self.rules
        looking = self.looking_at.get(observation, ())
        fresh = [n for n in looking if all(facts.holds(c) is True for c in rules[n].when)]
        return tuple(sorted((*known, *fresh))) if fresh else known

    def _candidates(self, facts: Facts) -> Iterator[int]:
        for name in facts.observations:
            yield from self.by_observation.get(name, ())
        if facts.signs:
            yield from self.by_sign
        if facts.ledger:
            yield from self.by_ledger
        yield from self.by_symptom


def _scarcest(conditions: tuple[Condition, ...]) -> str:
    if any(c.sign for c in conditions):
        return "sign"
    return "ledger" if any(c.ledger is not None for c in conditions) else "symptom"
