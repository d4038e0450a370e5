"""What each question could bring: by answer, the decibans that every cause would gain or lose by it.

Worked out once per rulebook, so that a state of a case costs only the rules that need something else besides
the answer.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import log2

from wizard.diagnosis.clashes import trust
from wizard.diagnosis.facts import Facts
from wizard.diagnosis.rulebook import Condition, Observation, Rule, Rulebook

Change = Mapping[str, float]
"""Decibans by cause."""

Chances = tuple[tuple[float, ...], float]
"""How likely each answer is if one cause is at work, and the entropy of that in bits."""


@dataclass(frozen=True)
class Joint:
    """A rule that some answers complete if `others` hold already."""

    rule: Rule
    answers: tuple[int, ...]
    others: tuple[Condition, ...]
    weights: Change


@dataclass(frozen=True)
class Watch:
    """One question with what its answers bring: `changes` by position of the answer, from rules that look at
    nothing else; `chances` for the causes those touch; `usual` for all other causes."""

    observation: Observation
    base: tuple[float, ...]
    usual: Chances
    changes: tuple[Change, ...]
    chances: Mapping[str, Chances]
    joints: tuple[Joint, ...]

    def now(self, facts: Facts, doubted: frozenset[str]) -> "Watch":
        """The same with the rules added whose other conditions hold in this case."""
        complete = [j for j in self.joints if all(facts.holds(c) is True for c in j.others)]
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
        return Watch(self.observation, self.base, self.usual, changes, {**self.chances, **fresh}, ())

    def gain(self, belief: Mapping[str, float]) -> float:
        """Expected fall of entropy, in bits, of the belief over causes: what answer and cause tell of each other."""
        touched = sum(belief[cause] for cause in self.chances)
        expected = [(1.0 - touched) * chance for chance in self.usual[0]]
        known = (1.0 - touched) * self.usual[1]
        for cause, (chances, entropy) in self.chances.items():
            share = belief[cause]
            known += share * entropy
            for answer, chance in enumerate(chances):
                expected[answer] += share * chance
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
            joints.append(Joint(rule, fulfilled, others, rule.weights()))
            continue
        for i in fulfilled:
            for cause, weight in rule.weights().items():
                changes[i][cause] = changes[i].get(cause, 0.0) + weight
    base = _base_rates(observation)
    touched = {cause for change in changes for cause in change}
    chances = {cause: _chances(base, [c.get(cause, 0.0) for c in changes]) for cause in touched}
    usual = _chances(base, [0.0] * len(base))
    return Watch(observation, base, usual, changes, chances, tuple(j for j in joints if j.answers))


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
