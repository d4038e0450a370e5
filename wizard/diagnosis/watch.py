"""What each question could bring: by answer, the decibans that every cause would gain or lose by it.

Worked out once per rulebook, so that a state of a case costs only the rules that need something else besides
the answer.
"""

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
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
    """A rule that some answers to `question` complete if `others` hold already."""

    question: str
    rule: Rule
    answers: tuple[int, ...]
    others: tuple[Condition, ...]
    weights: Change

    @property
    def rests_on(self) -> str | None:
        """One of the observations among the others, if there is any: without it the rule is out of reach."""
        return next((c.observation for c in reversed(self.others) if c.observation is not None), None)


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
    nothing else; `chances` for the causes those touch; `usual` for all other causes; `facts` that its answers tell, of
    which `twice` by several rules; `echoes`: one answer may tell such a fact to several of them at once, so that the
    changes here are too large and must be weighed out."""

    observation: Observation
    base: tuple[float, ...]
    usual: Chances
    changes: tuple[Change, ...]
    chances: Mapping[str, Chances]
    table: Table
    facts: frozenset[str] = frozenset()
    twice: frozenset[str] = frozenset()
    echoes: bool = False

    def joined(self, complete: Iterable[Joint], doubted: frozenset[str]) -> "Watch":
        """The same with rules added that lack nothing but an answer to this question."""
        changes = tuple(dict(change) for change in self.changes)
        touched = set()
        echoes = self.echoes
        for joint in complete:
            echoes = echoes or joint.rule.fact in self.twice
            part = trust(joint.rule, doubted)
            for cause, weight in joint.weights.items():
                touched.add(cause)
                for answer in joint.answers:
                    changes[answer][cause] = changes[answer].get(cause, 0.0) + part * weight
        fresh = {cause: _chances(self.base, [c.get(cause, 0.0) for c in changes]) for cause in touched}
        chances = {**self.chances, **fresh}
        return replace(self, changes=changes, chances=chances, table=Table.of(chances), echoes=echoes)

    def changed(self, changes: tuple[Change, ...]) -> "Watch":
        """The same with other changes in place of its own: what the answers bring where some only echo what is
        known."""
        touched = {cause: None for change in changes for cause in change}
        chances = {cause: _chances(self.base, [c.get(cause, 0.0) for c in changes]) for cause in touched}
        return replace(self, changes=changes, chances=chances, table=Table.of(chances))

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


@dataclass(frozen=True)
class Watches:
    """The questions of a rulebook by observation, and the rules that need more than one answer, by something known
    that they rest on (None: by no observation at all)."""

    by_observation: Mapping[str, Watch]
    joints: Mapping[str | None, tuple[Joint, ...]]

    @classmethod
    def of(cls, rulebook: Rulebook) -> Self:
        """Work through a rulebook once."""
        looking: dict[str, list[Rule]] = {}
        for rule in rulebook.rules:
            for name in {c.observation for c in rule.when if c.observation is not None}:
                looking.setdefault(name, []).append(rule)
        asked = [o for o in rulebook.observations if o.how != "measure"]
        joints: dict[str | None, tuple[Joint, ...]] = {}
        for observation in asked:
            for joint in _joints(observation, looking.get(observation.id, [])):
                joints[joint.rests_on] = (*joints.get(joint.rests_on, ()), joint)
        return cls({o.id: _watch(o, looking.get(o.id, [])) for o in asked}, joints)

    def now(self, facts: Facts, doubted: frozenset[str]) -> Mapping[str, Watch]:
        """The questions as they stand in this case: with the rules that lack only one more answer."""
        complete: dict[str, list[Joint]] = {}
        for name in (None, *facts.observations):
            for joint in self.joints.get(name, ()):
                if all(facts.holds(condition) is True for condition in joint.others):
                    complete.setdefault(joint.question, []).append(joint)
        joined = {name: self.by_observation[name].joined(rules, doubted) for name, rules in complete.items()}
        return {**self.by_observation, **joined}


def _joints(observation: Observation, rules: list[Rule]) -> Iterator[Joint]:
    for rule in rules:
        others = tuple(c for c in rule.when if c.observation != observation.id)
        fulfilled = _fulfilled(observation, rule)
        if others and fulfilled:
            yield Joint(observation.id, rule, fulfilled, others, rule.weights())


def _watch(observation: Observation, rules: list[Rule]) -> Watch:
    changes: tuple[dict[str, float], ...] = tuple({} for _ in observation.answers())
    for rule in rules:
        if all(c.observation == observation.id for c in rule.when):
            for i in _fulfilled(observation, rule):
                for cause, weight in rule.weights().items():
                    changes[i][cause] = changes[i].get(cause, 0.0) + weight
    base = _base_rates(observation)
    touched = {cause: None for change in changes for cause in change}
    chances = {cause: _chances(base, [c.get(cause, 0.0) for c in changes]) for cause in touched}
    usual = _chances(base, [0.0] * len(base))
    told = Counter(rule.fact for rule in rules if rule.fact is not None)
    alone = [r for r in rules if r.fact is not None and all(c.observation == observation.id for c in r.when)]
    told_by_answer = Counter((rule.fact, answer) for rule in alone for answer in _fulfilled(observation, rule))
    return Watch(
        observation,
        base,
        usual,
        changes,
        chances,
        Table.of(chances),
        facts=frozenset(told),
        twice=frozenset(fact for fact, times in told.items() if times > 1),
        echoes=any(times > 1 for times in told_by_answer.values()),
    )


def _fulfilled(observation: Observation, rule: Rule) -> tuple[int, ...]:
    """Positions of the answers that fulfil what the rule asks of this observation."""
    own = [c for c in rule.when if c.observation == observation.id]
    return tuple(i for i, answer in enumerate(observation.answers()) if _fulfils(observation.id, answer, own))


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
