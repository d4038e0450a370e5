"""A demo played through: its user's answers given to the wizard's questions, down to the verdict."""

from dataclasses import dataclass

from wizard import wiring
from wizard.case.documents import Advice, CompareDocument, Look
from wizard.case.model import Case, Recheck
from wizard.diagnosis.advice import Question
from wizard.diagnosis.rulebook import UNKNOWN
from wizard.plan.verdict import Verdict
from wizard.store.demos import Demo

MOST_QUESTIONS = 12
"""A dialogue ends in a plan within this many questions."""


@dataclass(frozen=True)
class Played:
    """What came of a demo. `turns` are the questions in order, with what its user answered."""

    case: Case
    before: Look
    after: Look
    turns: tuple[tuple[Question, object], ...]
    advice: Advice
    comparison: CompareDocument
    verdict: Verdict


def play(services: wiring.Services, demo: Demo) -> Played:
    """Ask until there is nothing useful to ask, take the fix as done, look again and judge."""
    case = wiring.demo_case(demo)
    before, after = wiring.look_demo(demo, "before"), wiring.look_demo(demo, "after")
    advice = wiring.advise(services, case)
    turns: list[tuple[Question, object]] = []
    while advice.next_question is not None and len(turns) < MOST_QUESTIONS:
        question = advice.next_question
        answer = demo.answers.get(question.observation, UNKNOWN)
        turns.append((question, answer))
        case = case.answered(question.observation, answer)
        advice = wiring.advise(services, case)
    advice = wiring.with_arrangements(advice, wiring.arrangements(case))
    recheck = Recheck(snapshot=after.snapshot, signs=after.signs, outcome=demo.outcome)
    fixes = (demo.model_extra or {}).get("remedies", ())
    fix = next((step.id for step in advice.plan.steps if step.id in fixes), None)
    case = case if fix is None else case.marked(fix, "helped")
    case = case.model_copy(update={"rechecks": (recheck,)})
    return Played(
        case, before, after, tuple(turns), advice, wiring.compare(before, after), wiring.verdict(case, before, after)
    )
