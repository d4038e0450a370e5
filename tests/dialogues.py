"""Whole dialogues, played against the shipped rulebook and plan: drawn, walked to the end, judged, shrunk.

A dialogue is a value: what is known at the start and what its user would answer to anything. So it can be played
again, split over processes, and made smaller until nothing can be left out. Used by `diagnosis/test_dialogues.py`.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field, replace
from multiprocessing import get_context
from typing import Any

from wizard import wiring
from wizard.bus.sign import KINDS, Sign
from wizard.diagnosis.advice import Question
from wizard.diagnosis.contradictions import contradictions
from wizard.diagnosis.facts import Facts
from wizard.diagnosis.questions import next_question
from wizard.diagnosis.ranking import rank
from wizard.diagnosis.rulebook import UNKNOWN, Observation
from wizard.plan.planning import first_step, make_plan

MOST_QUESTIONS = 12
"""The wizard's own promise (common practice, no source)."""

PLATFORMS = ("windows", "linux", "macos", "other", None)


@dataclass(frozen=True)
class Dialogue:
    """`answers` by observation, whatever is asked (not named: unknown); `second` where an answer is asked again."""

    symptoms: tuple[str, ...]
    platform: str | None = None
    start: Mapping[str, Any] = field(default_factory=dict)
    signs: tuple[str, ...] = ()
    answers: Mapping[str, Any] = field(default_factory=dict)
    second: Mapping[str, Any] = field(default_factory=dict)

    def size(self) -> int:
        return len(self.symptoms) + len(self.start) + len(self.signs) + len(self.answers) + len(self.second)


@dataclass(frozen=True)
class Played:
    """How a dialogue went: the questions in their order, what was answered, and the steps of the plan."""

    asked: tuple[str, ...]
    again: tuple[str, ...]
    known: Mapping[str, Any]
    steps: tuple[str, ...]


class BrokenDialogueError(Exception):
    """A dialogue did what none may do."""


# --- Playing


def play(services: wiring.Services, dialogue: Dialogue) -> Played:
    """Play a dialogue to its plan. Raises BrokenDialogueError."""
    known = dict(dialogue.start)
    asked: list[str] = []
    settled: list[str] = []
    again: list[str] = []
    while len(asked) < MOST_QUESTIONS:
        facts = facts_of(dialogue, known)
        open_ones = [c for c in contradictions(services.rulebook, services.texts, facts, settled) if not c.settled]
        if open_ones:
            settled.append(open_ones[0].id)
            again.append(open_ones[0].question.observation)
            known[again[-1]] = dialogue.second.get(again[-1], UNKNOWN)
            continue
        question = ask(services, dialogue, facts)
        if question is None:
            break
        judge_question(services, question, facts)
        asked.append(question.observation)
        known[question.observation] = dialogue.answers.get(question.observation, UNKNOWN)
    steps = judge_end(services, dialogue, facts_of(dialogue, known))
    return Played(tuple(asked), tuple(again), known, steps)


def facts_of(dialogue: Dialogue, known: Mapping[str, Any]) -> Facts:
    return Facts(
        symptoms=dialogue.symptoms,
        observations=dict(known),
        measured=frozenset(dialogue.start),
        signs=tuple(Sign(kind=kind, where="1-1", count=3) for kind in dialogue.signs),
        signs_known=bool(dialogue.signs),
        platform=dialogue.platform,
    )


def ask(services: wiring.Services, dialogue: Dialogue, facts: Facts) -> Question | None:
    def begins(told: Facts, belief: Mapping[str, float]) -> str | None:
        return first_step(services.remedies, told, belief, dialogue.platform)

    return next_question(services.rulebook, services.texts, facts, begins)


def judge_question(services: wiring.Services, question: Question, facts: Facts) -> None:
    observation = services.rulebook.observation_by_id[question.observation]
    if question.observation in facts.observations:
        raise BrokenDialogueError(f"{question.observation} is asked twice")
    if observation.how == "measure":
        raise BrokenDialogueError(f"{question.observation} is measured and was asked")
    if not question.text or not question.why or len(question.values) < 3 or question.values[-1] != UNKNOWN:
        raise BrokenDialogueError(f"{question.observation} can't be answered")


def judge_end(services: wiring.Services, dialogue: Dialogue, facts: Facts) -> tuple[str, ...]:
    findings = rank(services.rulebook, services.texts, facts)
    if abs(sum(f.share for f in findings) - 1) > 0.001 or len(findings) != len(services.rulebook.causes):
        raise BrokenDialogueError("the shares do not sum to one")
    plan = make_plan(services.remedies, services.texts, facts, findings, dialogue.platform)
    steps = tuple(step.id for step in plan.steps)
    if not steps or not all(step.do and step.check for step in plan.steps):
        raise BrokenDialogueError("a dead end: no plan")
    if first_step(services.remedies, facts, {f.id: f.share for f in findings}, dialogue.platform) != steps[0]:
        raise BrokenDialogueError("the plan begins with another step than the one the questions reckon with")
    return steps


# --- Drawing


def drawn(services: wiring.Services, chance: random.Random) -> Dialogue:
    """A random dialogue. Now and then its user knows next to nothing, or contradicts what was said."""
    book = services.rulebook
    silence = chance.choice((0.0, 0.1, 0.3, 0.6, 0.95))
    answers = {o.id: value(o, chance) for o in book.observations if chance.random() >= silence}
    if chance.random() < 0.25:
        answers |= contradicting(services, chance)
    measured = [o for o in book.observations if o.how == "measure"]
    start = {o.id: value(o, chance) for o in chance.sample(measured, chance.choice((0, 0, 1, 3)))}
    return Dialogue(
        symptoms=tuple(chance.sample([s.id for s in book.symptoms], chance.choice((1, 1, 1, 2)))),
        platform=chance.choice(PLATFORMS),
        start=start,
        signs=tuple(chance.sample(sorted(KINDS), chance.choice((0, 0, 0, 1, 3)))),
        answers=answers,
        second={o.id: value(o, chance) for o in book.observations if chance.random() >= 0.3},
    )


def value(observation: Observation, chance: random.Random) -> str | float | tuple[str, ...]:
    """One of its answers; of a list now and then several, however little they agree."""
    if observation.kind == "number":
        return chance.choice(observation.choices or (0.0, 2.0, 30.0, 1500.0))
    if observation.kind == "list" and chance.random() < 0.3:
        return tuple(chance.sample(observation.values, 2))
    return chance.choice(observation.values)


def contradicting(services: wiring.Services, chance: random.Random) -> dict[str, Any]:
    """Answers that can't all be true."""
    told: dict[str, Any] = {}
    for condition in chance.choice(services.rulebook.clashes).when:
        name = condition.observation or ""
        one = chance.choice(condition.any_of)
        told[name] = (told[name], one) if name in told else one
    return told


# --- Shrinking


def shrunk(dialogue: Dialogue, breaks: Callable[[Dialogue], bool]) -> Dialogue:
    """The same with everything left out that is not needed to break it."""
    smaller = next((d for d in _one_less(dialogue) if breaks(d)), None)
    return dialogue if smaller is None else shrunk(smaller, breaks)


def _one_less(dialogue: Dialogue) -> Iterator[Dialogue]:
    for part in ("second", "answers", "start"):
        known: Mapping[str, Any] = getattr(dialogue, part)
        for half in (list(known)[: len(known) // 2], list(known)[len(known) // 2 :]):
            if len(known) > 3:
                yield replace(dialogue, **{part: {k: v for k, v in known.items() if k not in half}})
        for name in known:
            yield replace(dialogue, **{part: {k: v for k, v in known.items() if k != name}})
    for part in ("signs", "symptoms"):
        kept: tuple[str, ...] = getattr(dialogue, part)
        for one in kept if part == "signs" or len(kept) > 1 else ():
            yield replace(dialogue, **{part: tuple(k for k in kept if k != one)})
    if dialogue.platform is not None:
        yield replace(dialogue, platform=None)


def broken(services: wiring.Services, dialogue: Dialogue) -> str | None:
    """What went wrong with the dialogue made as small as it goes, to be read; None if nothing did."""
    try:
        play(services, dialogue)
    except BrokenDialogueError as problem:
        return _told(services, dialogue, str(problem))
    return None


def _told(services: wiring.Services, dialogue: Dialogue, problem: str) -> str:
    def breaks(smaller: Dialogue) -> bool:
        try:
            play(services, smaller)
        except BrokenDialogueError as found:
            return str(found) == problem
        return False

    return f"{problem}\nThe smallest dialogue that shows it: {shrunk(dialogue, breaks)}"


# --- Walking


def random_walk(seed: int, dialogues: int) -> tuple[list[str], int, int]:
    """Play that many random dialogues: what broke, how many were put a question again, the questions in all."""
    services = wiring.load_services()
    chance = random.Random(seed)
    problems: list[str] = []
    again = questions = 0
    for _ in range(dialogues):
        dialogue = drawn(services, chance)
        try:
            played = play(services, dialogue)
        except BrokenDialogueError as problem:
            problems.append(_told(services, dialogue, str(problem)))
            continue
        again += bool(played.again)
        questions += len(played.asked)
    return problems, again, questions


def every_path(symptom: str, depth: int, first: str | float | None = None) -> tuple[list[str], int]:
    """Follow every answer to every question down to a depth, each path to a plan: what broke, and the paths.

    `first` keeps to one answer of the first question, so that the tree can be split.
    """
    services = wiring.load_services()
    problems: list[str] = []
    paths = 0
    waiting: list[tuple[Dialogue, int]] = [(Dialogue((symptom,)), depth)]
    while waiting:
        dialogue, left = waiting.pop()
        facts = facts_of(dialogue, dialogue.answers)
        question = ask(services, dialogue, facts) if left else None
        try:
            if question is not None:
                judge_question(services, question, facts)
            else:
                paths += 1
                judge_end(services, dialogue, facts)
        except BrokenDialogueError as problem:
            problems.append(_told(services, dialogue, str(problem)))
            continue
        for one in question.values if question is not None else ():
            if left < depth or first in (None, one):
                answers = {**dialogue.answers, question.observation: one} if question is not None else {}
                waiting.append((replace(dialogue, answers=answers), left - 1))
    return problems, paths


def first_answers(services: wiring.Services, symptom: str) -> tuple[str | float, ...]:
    """What may be answered to the first question of a symptom."""
    dialogue = Dialogue((symptom,))
    question = ask(services, dialogue, facts_of(dialogue, {}))
    return question.values if question is not None else ()


def on_all_cores(cores: int) -> ProcessPoolExecutor:
    """Processes of their own: fresh ones, since a copy of a process with Qt in it is no good."""
    return ProcessPoolExecutor(cores, mp_context=get_context("spawn"))
