"""The choice of the next question in its plainest form: every rule weighed anew for every answer.

Slow and short on purpose. It is the outside check of `wizard.diagnosis.questions`, which must choose the same.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import log2

from wizard.diagnosis.facts import Facts
from wizard.diagnosis.questions import EVEN, FIXED_MINUTES, LEAST_BITS_PER_MINUTE, LEAST_GAIN_BITS
from wizard.diagnosis.ranking import priors, shares
from wizard.diagnosis.rulebook import Observation, Rule, Rulebook

FirstStep = Callable[[Facts, Mapping[str, float]], str | None]


def plain_choice(book: Rulebook, facts: Facts, first_step: FirstStep | None = None) -> str | None:
    """The id of the observation to ask next, or None."""
    now = plain_scores(book, facts)
    useful = _useful(book, facts, now)
    leader = _leader(now)
    for observation in useful:
        if any(_leader(plain_scores(book, _told(facts, observation, a))) != leader for a in observation.answers()):
            return _first_of_its_needs(observation, book, facts)
    if first_step is not None:
        begins = first_step(facts, shares(now))
        for observation in useful:
            for answer in observation.answers():
                told = _told(facts, observation, answer)
                if first_step(told, shares(plain_scores(book, told))) != begins:
                    return _first_of_its_needs(observation, book, facts)
    return None


def plain_scores(book: Rulebook, facts: Facts) -> dict[str, float]:
    totals = priors(book, facts.symptoms)
    applying = [rule for rule in book.rules if _applies(rule, facts)]
    for cause in totals:
        told: dict[str, list[float]] = {}
        for rule in applying:
            told.setdefault(rule.fact or f"rule {rule.id}", []).append(rule.weights().get(cause, 0.0))
        totals[cause] += sum(max(0.0, *weights) + min(0.0, *weights) for weights in told.values())
    return totals


def _applies(rule: Rule, facts: Facts) -> bool:
    return all(facts.holds(condition) is True for condition in rule.when)


def _told(facts: Facts, observation: Observation, answer: str | float) -> Facts:
    return facts.with_answer(observation.id, answer)


def _leader(totals: Mapping[str, float]) -> str:
    return max(totals, key=lambda cause: totals[cause])


def _open(book: Rulebook, facts: Facts) -> list[Observation]:
    return [
        o
        for o in book.observations
        if o.how != "measure"
        and o.id not in facts.observations
        and (not o.symptoms or set(o.symptoms) & set(facts.symptoms))
        and all(facts.holds(need) is not False for need in o.needs)
    ]


def _useful(book: Rulebook, facts: Facts, now: Mapping[str, float]) -> list[Observation]:
    worth = []
    for position, observation in enumerate(_open(book, facts)):
        changes = {
            answer: {c: v - now[c] for c, v in plain_scores(book, _told(facts, observation, answer)).items()}
            for answer in observation.answers()
        }
        gain = _gain(observation, changes, shares(now)) * _chance_that_it_makes_sense(observation, book, facts)
        value = round(observation.known * gain / (observation.effort_min + FIXED_MINUTES), EVEN)
        if gain >= LEAST_GAIN_BITS and value >= LEAST_BITS_PER_MINUTE:
            worth.append((-value, position, observation))
    return [observation for _, _, observation in sorted(worth, key=lambda item: item[:2])]


def _gain(
    observation: Observation, changes: Mapping[str | float, Mapping[str, float]], belief: Mapping[str, float]
) -> float:
    base = _base_rates(observation)
    joint: dict[str | float, list[float]] = {answer: [] for answer in changes}
    for cause, share in belief.items():
        likely = {a: base[a] * 10 ** (change[cause] / 10) for a, change in changes.items()}
        for answer, value in likely.items():
            joint[answer].append(share * value / sum(likely.values()))
    after = sum(sum(parts) * _entropy([p / sum(parts) for p in parts]) for parts in joint.values() if sum(parts) > 0)
    return _entropy(list(belief.values())) - after


def _chance_that_it_makes_sense(observation: Observation, book: Rulebook, facts: Facts) -> float:
    """A need that was asked about in vain is met as often as it usually is."""
    chance = 1.0
    for need in observation.needs:
        if need.observation in facts.observations and facts.holds(need) is None:
            asked = book.observation_by_id[need.observation]
            if asked.how != "measure" and need.any_of:
                rates = _base_rates(asked)
                chance *= sum(rates[answer] for answer in need.any_of) / sum(rates.values())
    return chance


def _entropy(parts: list[float]) -> float:
    return -sum(p * log2(p) for p in parts if p > 0)


def _base_rates(observation: Observation) -> dict[str | float, float]:
    answers = observation.answers()
    silent = [a for a in answers if a not in observation.share]
    rest = max(1.0 - sum(observation.share.values()), 0.05) / len(silent) if silent else 0.0
    return {a: observation.share.get(str(a), rest) for a in answers}


def _first_of_its_needs(observation: Observation, book: Rulebook, facts: Facts) -> str:
    """What the question rests on comes first, if it is not known and can be asked."""
    can_be_asked = {o.id: o for o in _open(book, facts)}
    put = [observation.id]
    while True:
        needs = [n.observation for n in can_be_asked[put[-1]].needs if n.observation and facts.holds(n) is None]
        waiting = [name for name in needs if name in can_be_asked and name not in put]
        if not waiting:
            return put[-1]
        put.append(waiting[0])
