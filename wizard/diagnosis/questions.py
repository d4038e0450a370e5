"""Which question to put next: the one that is expected to settle most per minute of the user's effort.

How likely each answer is follows from the rules themselves: a cause makes the answers likely that speak
for it. Gain is the expected fall of entropy in bits, as far as people can tell. A question that cannot
change the leading cause or the first step, or hardly ever would, is not worth a tired person's time and is
never put; nor is a long test that would bring little for its minutes. What a question rests on is asked
before it. That an answer could contradict an earlier one is not foreseen.
"""

from collections.abc import Callable, Iterator, Mapping

from wizard.diagnosis.advice import Question
from wizard.diagnosis.clashes import doubts
from wizard.diagnosis.echoes import heard
from wizard.diagnosis.facts import Facts
from wizard.diagnosis.ranking import added_up, scores_by_answer, shares, weigh
from wizard.diagnosis.rulebook import UNKNOWN, Observation, Rulebook
from wizard.diagnosis.texts import Texts
from wizard.diagnosis.watch import Change, Watch, Watches

FIXED_MINUTES = 0.5
"""Minutes that reading and answering cost by themselves: common practice (no source)."""

LEAST_GAIN_BITS = 0.01
"""Expected gain below which a question is not worth putting: common practice (no source)."""

LEAST_BITS_PER_MINUTE = 0.006
"""Expected gain per minute below which the plan's first step is the better use of the time: 0.12 bits in twenty
minutes. Common practice (no source); tried on 289 situations of our own, where it spared two minutes in five and
changed no outcome but one."""

EVEN = 9
"""Digits of a gain that count: questions closer than that are even, and go by the order of the rulebook."""

ROUNDING = 1e-9
"""Decibans that are only the rounding of sums taken in another order."""

FirstStep = Callable[[Facts, Mapping[str, float]], str | None]
"""Says which step a plan would begin with under these facts and shares of belief."""


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
    weighed = weigh(rulebook, facts)
    now = added_up(rulebook, facts, weighed)
    if not now:
        return None
    useful = _useful(rulebook, facts, now, heard(weighed))
    changing = next((w for w in useful if _can_change_leader(w, now)), None)
    if changing is None and first_step is not None:
        begins = first_step(facts, shares(now))
        changing = next((w for w in useful if _can_change_step(w, now, facts, first_step, begins)), None)
    return None if changing is None else make_question(_asked_before(changing.observation, rulebook, facts), texts)


def _useful(rulebook: Rulebook, facts: Facts, now: Mapping[str, float], told: frozenset[str]) -> list[Watch]:
    """Open questions that are worth putting, the most useful first; `told`: the facts that some rule sees already."""
    belief = shares(now)
    watching = rulebook.once(Watches.of).now(facts, doubts(rulebook, facts))
    weighed = []
    for position, observation in enumerate(open_questions(rulebook, facts)):
        watch = watching[observation.id]
        if watch.echoes or watch.facts & told:
            watch = watch.changed(_changes(observation, rulebook, facts, now))
        gain = watch.gain(belief) * _fits(observation, facts, watching) if watch.chances else 0.0
        worth = round(observation.known * gain / (observation.effort_min + FIXED_MINUTES), EVEN)
        if gain >= LEAST_GAIN_BITS and worth >= LEAST_BITS_PER_MINUTE:
            weighed.append((-worth, position, watch))
    weighed.sort(key=lambda item: item[:2])
    return [watch for _, _, watch in weighed]


def _changes(
    observation: Observation, rulebook: Rulebook, facts: Facts, now: Mapping[str, float]
) -> tuple[Change, ...]:
    """What each answer would bring, weighed out in full: some of it may only echo what is known."""
    after = scores_by_answer(rulebook, facts, observation.id, observation.answers())
    return tuple({c: v - now[c] for c, v in told.items() if abs(v - now[c]) > ROUNDING} for told in after)


def _fits(observation: Observation, facts: Facts, watching: Mapping[str, Watch]) -> float:
    """How likely the question makes sense at all where somebody could not say whether what it rests on is there."""
    chance = 1.0
    for need in observation.needs:
        asked = watching.get(need.observation or "") if need.any_of else None
        if asked is not None and need.observation in facts.observations and facts.holds(need) is None:
            chance *= asked.usual_chance(need.any_of)
    return chance


def _can_change_leader(watch: Watch, now: Mapping[str, float]) -> bool:
    leader = max(now, key=lambda cause: now[cause])
    return any(_leader_after(now, change) != leader for change in watch.changes if change)


def _leader_after(now: Mapping[str, float], change: Change) -> str:
    return max(now, key=lambda cause: now[cause] + change.get(cause, 0.0))


def _can_change_step(
    watch: Watch, now: Mapping[str, float], facts: Facts, first_step: FirstStep, begins: str | None
) -> bool:
    told = zip(watch.observation.answers(), watch.changes, strict=True)
    return any(
        first_step(facts.with_answer(watch.observation.id, answer), shares(_after(now, change))) != begins
        for answer, change in told
    )


def _after(now: Mapping[str, float], change: Change) -> Mapping[str, float]:
    return {cause: value + change.get(cause, 0.0) for cause, value in now.items()} if change else now


def _asked_before(observation: Observation, rulebook: Rulebook, facts: Facts) -> Observation:
    """The open question that this one rests on, or itself: whether there is an extension comes before trying
    without it."""
    open_now = {o.id: o for o in open_questions(rulebook, facts)}
    seen = {observation.id}
    while True:
        first = next((open_now[n] for n in _resting_on(observation, facts) if n in open_now and n not in seen), None)
        if first is None:
            return observation
        seen.add(first.id)
        observation = first


def _resting_on(observation: Observation, facts: Facts) -> Iterator[str]:
    for need in observation.needs:
        if need.observation is not None and facts.holds(need) is None:
            yield need.observation


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
        drawing=observation.drawing,
        drawing_words=texts.get(f"drawing.{observation.drawing}.alt") if observation.drawing else None,
        labels=worded("value"),
        means=worded("means"),
    )
