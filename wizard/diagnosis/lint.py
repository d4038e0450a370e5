"""Whether the entries of a rulebook fit together and can all do their work, and whether the prose is complete.

`loading` has already refused unknown words; what is found here is a gap, not a misspelling.
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import combinations

from wizard.budget.entry import BUDGETS
from wizard.bus.sign import KINDS
from wizard.diagnosis.loading import did_you_mean
from wizard.diagnosis.rulebook import Observation, Rulebook
from wizard.diagnosis.texts import Texts


@dataclass(frozen=True)
class Problem:
    """One gap: the entry it concerns and a sentence."""

    place: str
    text: str


def lint_rulebook(rulebook: Rulebook, texts: Texts) -> tuple[Problem, ...]:
    """All gaps, in the order of the rulebook."""
    return (
        *_causes_without_evidence(rulebook),
        *_questions_without_use(rulebook),
        *_questions_out_of_reach(rulebook),
        *_twins(rulebook),
        *_lonely_facts(rulebook),
        *_missing_texts(rulebook, texts),
    )


def _causes_without_evidence(rulebook: Rulebook) -> Iterator[Problem]:
    spoken = {cause for rule in rulebook.rules for cause in rule.speaks_for}
    for cause in rulebook.causes:
        if cause.id not in spoken:
            yield Problem(f"cause {cause.id}", "no rule speaks for it")


def _questions_without_use(rulebook: Rulebook) -> Iterator[Problem]:
    used = {c.observation for rule in rulebook.rules for c in rule.when}
    used |= {c.observation for observation in rulebook.observations for c in observation.needs}
    for observation in rulebook.observations:
        if observation.id not in used:
            yield Problem(f"observation {observation.id}", "no rule looks at it")


def _questions_out_of_reach(rulebook: Rulebook) -> Iterator[Problem]:
    for observation in rulebook.observations:
        wanted = set(observation.symptoms) or {s.id for s in rulebook.symptoms}
        for need in observation.needs:
            if need.symptom and not wanted & set(need.symptom):
                yield Problem(f"observation {observation.id}", "no symptom allows this question to be asked")
            if need.observation == observation.id:
                yield Problem(f"observation {observation.id}", "the question needs its own answer")


def _lonely_facts(rulebook: Rulebook) -> Iterator[Problem]:
    """A fact that one rule alone names is a fact misspelt."""
    named = Counter(rule.fact for rule in rulebook.rules if rule.fact is not None)
    for rule in rulebook.rules:
        if rule.fact is not None and named[rule.fact] == 1:
            others = [fact for fact in named if fact != rule.fact]
            yield Problem(
                f"rule {rule.id}", f"no other rule has the fact {rule.fact!r}{did_you_mean(rule.fact, others)}"
            )


def _twins(rulebook: Rulebook) -> Iterator[Problem]:
    """Two causes are twins if no rule ever tells them apart."""
    profiles: dict[str, tuple[float, ...]] = {}
    weights = [rule.weights() for rule in rulebook.rules]
    for cause in rulebook.causes:
        profiles[cause.id] = tuple(w.get(cause.id, 0.0) for w in weights)
    for one, other in combinations(profiles, 2):
        if profiles[one] == profiles[other] and any(profiles[one]):
            yield Problem(f"causes {one} and {other}", "no question can tell them apart")


def lint_drawings(rulebook: Rulebook, there: Iterable[str]) -> tuple[Problem, ...]:
    """Drawings that a question names and that are not `there`, and those that none names."""
    files = sorted(there)
    wanted = {o.drawing for o in rulebook.observations if o.drawing is not None}
    missing = tuple(
        Problem(f"observation {o.id}", f"there is no drawing {o.drawing!r}{did_you_mean(o.drawing, files)}")
        for o in rulebook.observations
        if o.drawing is not None and o.drawing not in files
    )
    unused = tuple(Problem(f"drawing {name}", "no question shows it") for name in files if name not in wanted)
    return (*missing, *unused)


def _missing_texts(rulebook: Rulebook, texts: Texts) -> Iterator[Problem]:
    wanted: list[str] = []
    for symptom in rulebook.symptoms:
        wanted += [f"symptom.{symptom.id}.title", f"symptom.{symptom.id}.words"]
    for cause in rulebook.causes:
        wanted += [f"cause.{cause.id}.title", f"cause.{cause.id}.words"]
    for observation in rulebook.observations:
        wanted += _observation_keys(observation)
    wanted += [f"rule.{rule.id}.why" for rule in rulebook.rules]
    wanted += [f"clash.{clash.id}.why" for clash in rulebook.clashes]
    wanted += [f"drawing.{name}.alt" for name in sorted({o.drawing for o in rulebook.observations if o.drawing})]
    wanted += ["note.doubted"] if rulebook.clashes else []
    wanted += [f"budget.{budget}.{part}" for budget in sorted(BUDGETS) for part in ("title", "words")]
    wanted += [f"sign.{kind}.words" for kind in sorted(KINDS)]
    for key in wanted:
        if not (texts.get(key) or "").strip():
            yield Problem(f"texts {texts.language}", f"{key} is missing")
    yield from _stale_texts(set(wanted), rulebook, texts)


def _stale_texts(wanted: set[str], rulebook: Rulebook, texts: Texts) -> Iterator[Problem]:
    optional = {f"observation.{o.id}.{part}" for o in rulebook.observations for part in ("help", "how", "why", "text")}
    results = ("cures", "helps", "same", "worse")
    for observation in rulebook.observations:
        values = (*observation.values, *(results if observation.how == "test" else ()))
        optional |= {f"observation.{observation.id}.{p}.{v}" for v in values for p in ("means", "value")}
    ours = ("symptom.", "cause.", "observation.", "rule.", "clash.", "budget.", "sign.", "drawing.")
    open_ended = ("sign.windows_", "sign.macos_")  # what these systems call things, beside the kinds
    for key in sorted(texts.keys()):
        if key.startswith(ours) and not key.startswith(open_ended) and key not in wanted and key not in optional:
            yield Problem(f"texts {texts.language}", f"{key} belongs to nothing in the rulebook")


def _observation_keys(observation: Observation) -> list[str]:
    base = f"observation.{observation.id}"
    keys = [f"{base}.name", *(f"{base}.value.{value}" for value in observation.values)]
    if observation.how != "measure":
        keys += [f"{base}.text", f"{base}.why"]
    if observation.how == "test":
        keys += [f"{base}.how", *(f"{base}.means.{value}" for value in observation.values)]
    return keys
