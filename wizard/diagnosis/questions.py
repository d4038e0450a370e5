"""Which question to put next: the one that is expected to settle most per minute of the user's effort.

How likely each answer is follows from the rules themselves: a cause makes the answers likely that speak
for it. Gain is the expected fall of entropy in bits. A question that cannot change the leading cause or
the first step, or hardly ever would, is not worth a tired person's time and is never put. What a question
rests on is asked before it.
"""

from collections.abc import Callable, Iterator, Mapping
from math import log2

from wizard.diagnosis.advice import Question
from wizard.diagnosis.facts import Facts
from wizard.diagnosis.ranking import applies, scores, shares
from wizard.diagnosis.rulebook import UNKNOWN, Observation, Rule, Rulebook
from wizard.diagnosis.texts import Texts

FIXED_MINUTES = 0.5
"""Minutes that reading and answering cost by themselves: common practice (no source)."""

LEAST_GAIN_BITS = 0.01
"""Expected gain below which a question is not worth putting: common practice (no source)."""

FirstStep = Callable[[Facts], str | None]
"""Says which step a plan would begin with under these facts."""


def open_questions(rulebook: Rulebook, facts: Facts) -> tuple[Observation, ...]:
    """Questions that make sense now: not answered, not measured, meant for the symptom, their needs not refuted."""
    return tuple(
        o
        for o in rulebook.observations
        if o.how != "measure"
        and o.id not in facts.observations
        and (not o.symptoms or any(s in o.symptoms for s in facts.symptoms))
        and all(facts.holds(need) is not False for need in o.needs)
    )


def next_question(
    rulebook: Rulebook, texts: Texts, facts: Facts, first_step: FirstStep | None = None
) -> Question | None:
    """The most useful open question, or None when no open question can change the first cause or the first step."""
    now = scores(rulebook, facts)
    belief = shares(now)
    watching = _rules_by_observation(rulebook)
    weighed = []
    for position, observation in enumerate(open_questions(rulebook, facts)):
        changes = dict(_changes(observation, watching.get(observation.id, ()), facts))
        if any(changes.values()):
            gain = expected_gain(observation, changes, belief)
            if gain >= LEAST_GAIN_BITS:
                weighed.append((-gain / (observation.effort_min + FIXED_MINUTES), position, observation, changes))
    weighed.sort(key=lambda item: item[:2])
    leader = max(now, key=lambda cause: now[cause], default=None)
    for _, _, observation, changes in weighed:
        if any(_leader_after(now, change) != leader for change in changes.values()):
            return make_question(_asked_before(observation, rulebook, facts), texts)
    if first_step is not None:
        begins = first_step(facts)
        for _, _, observation, changes in weighed:
            if any(first_step(facts.with_answer(observation.id, answer)) != begins for answer in changes):
                return make_question(_asked_before(observation, rulebook, facts), texts)
    return None


def _asked_before(observation: Observation, rulebook: Rulebook, facts: Facts) -> Observation:
    """The open question that this one rests on, or itself: whether there is an extension comes before trying
    without it."""
    open_now = {o.id: o for o in open_questions(rulebook, facts)}
    seen = {observation.id}
    while True:
        resting = (n.observation for n in observation.needs if n.observation is not None and facts.holds(n) is None)
        first = next((open_now[name] for name in resting if name in open_now and name not in seen), None)
        if first is None:
            return observation
        seen.add(first.id)
        observation = first


def _rules_by_observation(rulebook: Rulebook) -> Mapping[str, tuple[Rule, ...]]:
    watching: dict[str, tuple[Rule, ...]] = {}
    for rule in rulebook.rules:
        for name in {c.observation for c in rule.when if c.observation is not None}:
            watching[name] = (*watching.get(name, ()), rule)
    return watching


def _changes(
    observation: Observation, rules: tuple[Rule, ...], facts: Facts
) -> Iterator[tuple[str | float, dict[str, float]]]:
    """For each answer, the decibans every cause would gain or lose by it."""
    for answer in observation.answers():
        told = facts.with_answer(observation.id, answer)
        change: dict[str, float] = {}
        for rule in rules:
            if applies(rule, told):
                for cause, weight in rule.weights().items():
                    change[cause] = change.get(cause, 0.0) + weight
        yield answer, change


def _leader_after(now: Mapping[str, float], change: Mapping[str, float]) -> str | None:
    return max(now, key=lambda cause: now[cause] + change.get(cause, 0.0), default=None)


def expected_gain(
    observation: Observation,
    changes: Mapping[str | float, Mapping[str, float]],
    belief: Mapping[str, float],
) -> float:
    """Expected fall of entropy, in bits, of the belief over causes."""
    base = _base_rates(observation)
    joint: dict[str | float, dict[str, float]] = {answer: {} for answer in changes}
    for cause, share in belief.items():
        likely = {a: base[a] * 10 ** (change.get(cause, 0.0) / 10) for a, change in changes.items()}
        whole = sum(likely.values())
        for answer, value in likely.items():
            joint[answer][cause] = share * value / whole
    expected = 0.0
    for parts in joint.values():
        chance = sum(parts.values())
        if chance > 0:
            expected += chance * _entropy([p / chance for p in parts.values()])
    return _entropy(list(belief.values())) - expected


def _entropy(parts: list[float]) -> float:
    return -sum(p * log2(p) for p in parts if p > 0)


def _base_rates(observation: Observation) -> dict[str | float, float]:
    """How often each answer is met when nothing is known; answers without a share divide the rest."""
    answers = observation.answers()
    told = sum(observation.share.values())
    silent = [a for a in answers if a not in observation.share]
    rest = max(1.0 - told, 0.05) / len(silent) if silent else 0.0
    return {a: observation.share.get(str(a), rest) for a in answers}


def make_question(observation: Observation, texts: Texts) -> Question:
    """The question in prose, with labels for its values."""
    base = f"observation.{observation.id}"

    def worded(part: str) -> dict[str, str]:
        return {v: text for v in observation.values if (text := texts.get(f"{base}.{part}.{v}"))}

    return Question(
        id=f"ask_{observation.id}",
        observation=observation.id,
        text=texts[f"{base}.text"],
        why=texts[f"{base}.why"],
        kind="test" if observation.how == "test" else "ask",
        values=(*observation.answers(), UNKNOWN),
        effort_min=observation.effort_min,
        many=observation.kind == "list",
        unit=observation.unit,
        help=texts.get(f"{base}.help"),
        how=texts.get(f"{base}.how"),
        labels=worded("value"),
        means=worded("means"),
    )
