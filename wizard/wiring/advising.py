"""From a case to advice: facts, ranked causes, the next question, the plan, arrangements."""

from collections.abc import Callable, Mapping
from time import monotonic

from wizard.case.documents import Advice, Look
from wizard.case.model import Case
from wizard.case.told import told_setup
from wizard.diagnosis.contradictions import contradictions
from wizard.diagnosis.facts import Facts, gather_facts
from wizard.diagnosis.questions import next_question
from wizard.diagnosis.ranking import both_at_work, rank
from wizard.diagnosis.rulebook import TEST_RESULTS, UNKNOWN, Observation
from wizard.plan.arrange.clock import Clock
from wizard.plan.arrange.options import Arrangements, arrange
from wizard.plan.compare import named
from wizard.plan.planning import first_step, make_plan
from wizard.plan.present import may_hang
from wizard.plan.tried import results_of_marks
from wizard.wiring.looking import look_of
from wizard.wiring.services import Services


def facts_of(case: Case, look: Look | None = None, services: Services | None = None) -> Facts:
    """What is known of a case, in the words of the rulebook. `look` spares working it out again; with `services`, what
    became of steps counts as the result of the tests that they are, where the user gave none."""
    seen = look or look_of(case)
    return gather_facts(
        symptoms=(case.symptom, *(s for s in case.also if s != case.symptom)),
        observations={**case.observations, **(_tried(services, case) if services is not None else {})},
        subject=case.subject,
        snapshot=case.snapshot,
        ledger=seen.ledger,
        signs=seen.signs,
        signs_known=case.log is not None,
        setup=told_setup(case),
        platform=case.platform,
    )


def _tried(services: Services, case: Case) -> dict[str, str]:
    outcomes = [recheck.outcome for recheck in case.rechecks]
    results = results_of_marks(services.remedies, services.rulebook, case.marks, outcomes)
    return {name: result for name, result in results.items() if case.observations.get(name, UNKNOWN) == UNKNOWN}


def arrangements(case: Case, seconds: float = 20.0, stop: Callable[[], bool] = lambda: False) -> Arrangements:
    """The best ways to plug what hangs on a case's bus, found within so many seconds; none if nothing is overdrawn
    or there is no look. Slow: the search is exact."""
    if case.snapshot is None:
        return Arrangements()
    ends = monotonic() + seconds
    return arrange(case.snapshot, told_setup(case), Clock(lambda: ends - monotonic(), stop))


def with_arrangements(advice: Advice, found: Arrangements) -> Advice:
    """Advice with the planner's options in its plan."""
    plan = advice.plan.model_copy(update={"options": found.options, "clash": found.clash, "unlisted": found.unlisted})
    return advice.model_copy(update={"plan": plan})


def advise(services: Services, case: Case) -> Advice:
    """Ranked causes with their reasons, the next useful question, and the plan; quick, so without arrangements."""
    facts = facts_of(case, services=services)
    findings = rank(services.rulebook, services.texts, facts)
    names = {} if case.snapshot is None else named(case.snapshot)

    def begins_with(told: Facts, belief: Mapping[str, float]) -> str | None:
        return first_step(services.remedies, told, belief, case.platform, case.marks)

    return Advice(
        causes=findings,
        together=both_at_work(findings),
        next_question=next_question(services.rulebook, services.texts, facts, begins_with),
        contradictions=contradictions(services.rulebook, services.texts, facts, case.settled),
        plan=make_plan(
            services.remedies,
            services.texts,
            facts,
            findings,
            case.platform,
            case.marks,
            names,
            may_hang(case.snapshot),
        ),
        notes=_advice_notes(services, case),
    )


def _advice_notes(services: Services, case: Case) -> tuple[str, ...]:
    """What the reader did not know, said instead of dropped."""
    book = services.rulebook
    strange = [o for o in case.observations if o not in book.observation_by_id]
    notes = [f"This version does not know the observation {name!r}; it is kept and not weighed." for name in strange]
    notes += [
        f"{value!r} is no answer to {name!r}; it is kept and not weighed."
        for name, value in case.observations.items()
        if name in book.observation_by_id and not _means_something(book.observation_by_id[name], value)
    ]
    symptoms = {s.id for s in book.symptoms}
    notes += [f"This version does not know the symptom {s!r}." for s in (case.symptom, *case.also) if s not in symptoms]
    if case.snapshot is not None:
        known = {d.id for d in case.snapshot.devices}
        notes += [f"The subject {s!r} is not in the snapshot." for s in case.subject if s not in known]
    return tuple(notes)


def _means_something(observation: Observation, value: object) -> bool:
    """Whether an answer is one that rules could look at; 'unknown' is one, too."""
    if value is None or value == UNKNOWN:
        return True
    told = Facts(symptoms=(), observations={observation.id: value})
    if observation.kind == "number":
        return told.number(observation.id) is not None
    allowed = {*observation.values, *(TEST_RESULTS if observation.how == "test" else ())}
    words = told.words(observation.id)
    return bool(words) and allowed.issuperset(words)
