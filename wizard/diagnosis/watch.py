"""What each question could bring: by answer, the decibans that every cause would gain or lose by it.

Worked out once per rulebook, so that a state of a case costs only the rules that need something else besides
the answer.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from math import log2
from operator import mul
from typing import Self

from wizard.diagnosis.clashes import trust
from wizard.diagnosis.facts import Facts
from wizard.diagnosis.rulebook import Condition, Observation, Rule, Rulebook

Change = Mapping[str, float]
"""Decibans by cause."""

Chances = tuple[tuple[float, ...], float]
"""How likely each answer is if one cause is at work, and the entropy of that in bits."""


@dataclass(frozen=True)
class Joint:
    """A rule that some answers complete if `others` hold already; `rests_on` are the observations among those."""

    rule: Rule
    answers: tuple[int, ...]
    others: tuple[Condition, ...]
    rests_on: tuple[str, ...]
    weights: Change

    def holds(self, facts: Facts) -> bool:
        """Whether all it needs besides the answer is known to hold."""
        if not all(name in facts.observations for name in self.rests_on):
            return False
        return all(facts.holds(condition) is True for condition in self.others)


@dataclass(frozen=True)
class Table:
    """What the causes that a question touches make of its answers: by answer, the chance under each cause, in the
    order of `causes`; and the entropy of the answers under each, in bits."""

    causes: tuple[str, ...]
    by_answer: tuple[tuple[float, ...], ...]
    entropies: tuple[float, ...]

    @classmethod
    def of(cls, chances: Mapping[str, Chances]) -> Self:
        """Lay out the chances of the answers by cause."""
        rows = tuple(chance for chance, _ in chances.values())
        return cls(tuple(chances), tuple(zip(*rows, strict=True)), tuple(entropy for _, entropy in chances.values()))


@dataclass(frozen=True)
class Watch:
    """One question with what its answers bring: `changes` by position of the answer, from rules that look at
    nothing else; `chances` for the causes those touch; `usual` for all other causes."""

    observation: Observation
    base: tuple[float, ...]
    usual: Chances
    changes: tuple[Change, ...]
    chances: Mapping[str, Chances]
    table: Table
    joints: tuple[Joint, ...]

    def now(self, facts: Facts, doubted: frozenset[str]) -> "Watch":
        """The same with the rules added whose other conditions hold in this case."""
        complete = [joint for joint in self.joints if joint.holds(facts)]
        if not complete:
            return self
        changes = tuple(dict(change) for change in self.changes)
        touched = set()
        for joint in complete:
            part = trust(joint.rule, doubted)
            for cause, weight in joint.weights.items():
                touched.add(cause)
                for answer in joint.answers:
                    changes[answer][cause] = changes[answer].get(cause, 0.0) + part * weight
        fresh = {cause: _chances(self.base, [c.get(cause, 0.0) for c in changes]) for cause in touched}
        chances = {**self.chances, **fresh}
        return Watch(self.observation, self.base, self.usual, changes, chances, Table.of(chances), ())

    def usual_chance(self, answers: Collection[str | float]) -> float:
        """How often one of these answers is met when nothing is known."""
        return sum(c for answer, c in zip(self.observation.answers(), self.usual[0], strict=True) if answer in answers)

    def gain(self, belief: Mapping[str, float]) -> float:
        """Expected fall of entropy, in bits, of the belief over causes: what answer and cause tell of each other."""
        shares = [belief[cause] for cause in self.table.causes]
        others = 1.0 - sum(shares)
        usual, entropy = self.usual
        columns = zip(usual, self.table.by_answer, strict=True)
        expected = [others * chance + sum(map(mul, shares, column)) for chance, column in columns]
        known: float = others * entropy + sum(map(mul, shares, self.table.entropies))
        return _entropy(expected) - known


def watches(rulebook: Rulebook) -> Mapping[str, Watch]:
    """The questions of a rulebook by observation."""
    looking: dict[str, list[Rule]] = {}
    for rule in rulebook.rules:
        for name in {c.observation for c in rule.when if c.observation is not None}:
            looking.setdefault(name, []).append(rule)
    return {o.id: _watch(o, looking.get(o.id, ())) for o in rulebook.observations if o.how != "measure"}


def _watch(observation: Observation, rules: "list[Rule] | tuple[Rule, ...]") -> Watch:
    answers = observation.answers()
    changes: tuple[dict[str, float], ...] = tuple({} for _ in answers)
    joints = []
    for rule in rules:
        own = [c for c in rule.when if c.observation == observation.id]
        others = tuple(c for c in rule.when if c.observation != observation.id)
        fulfilled = tuple(i for i, a in enumerate(answers) if _fulfils(observation.id, a, own))
        if others:
            rests_on = tuple(c.observation for c in others if c.observation is not None)
            joints.append(Joint(rule, fulfilled, others, rests_on, rule.weights()))
            continue
        for i in fulfilled:
            for cause, weight in rule.weights().items():
                changes[i][cause] = changes[i].get(cause, 0.0) + weight
    base = _base_rates(observation)
    touched = {cause for change in changes for cause in change}
    chances = {cause: _chances(base, [c.get(cause, 0.0) for c in changes]) for cause in touched}
    usual = _chances(base, [0.0] * len(base))
    waiting = tuple(joint for joint in joints if joint.answers)
    return Watch(observation, base, usual, changes, chances, Table.of(chances), waiting)


def _fulfils(name: str, answer: str | float, conditions: list[Condition]) -> bool:
    told = Facts(symptoms=(), observations={name: answer})
    return all(told.holds(condition) is True for condition in conditions)


def _chances(base: tuple[float, ...], decibans: list[float]) -> Chances:
    """A cause makes the answers likely that speak for it."""
    likely = [b * 10 ** (d / 10) for b, d in zip(base, decibans, strict=True)]
    whole = sum(likely)
    chances = tuple(value / whole for value in likely)
    return chances, _entropy(chances)


def _entropy(parts: "tuple[float, ...] | list[float]") -> float:
    return -sum(p * log2(p) for p in parts if p > 0)


def _base_rates(observation: Observation) -> tuple[float, ...]:
    """How often each answer is met when nothing is known; answers without a share divide the rest."""
    answers = observation.answers()
    silent = [a for a in answers if str(a) not in observation.share]
    rest = max(1.0 - sum(observation.share.values()), 0.05) / len(silent) if silent else 0.0
    return tuple(observation.share.get(str(a), rest) for a in answers)
