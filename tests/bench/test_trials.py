"""How often the rulebook is right on situations that were written to score it: the floor it must not fall through.

The figures are those of a seasoned technician's blind score on real troubles (78 % first and 94 % among the first three
before any test, 88 % and 98 % with the tests' results). Each file says at its head how far it may be trusted.
"""

from __future__ import annotations

import statistics
import tomllib
from pathlib import Path
from typing import Any

import pytest

from wizard import wiring
from wizard.case.model import Case
from wizard.diagnosis.ranking import rank
from wizard.diagnosis.rulebook import UNKNOWN

FILES = ("trials.toml", "forum.toml", "looks.toml", "tracker.toml", "callers.toml")
SITUATIONS: list[dict[str, Any]] = [
    situation
    for name in FILES
    for situation in tomllib.loads(Path(__file__).with_name(name).read_text("utf-8"))["situation"]
]
PARTS = {"told": ("told",), "tested": ("told", "tested")}
MOST_QUESTIONS = 12
NEVER = 13


@pytest.fixture(scope="module")
def services() -> wiring.Services:
    return wiring.load_services()


def case(situation: dict[str, Any], *parts: str) -> Case:
    observations = {name: value for part in parts for name, value in situation.get(part, {}).items()}
    return Case(
        symptom=situation["symptom"],
        platform=situation.get("platform"),
        log=situation.get("log"),
        observations=observations,
    )


def places(services: wiring.Services, part: str) -> list[int]:
    """Where the first right cause stands in each situation, from 1."""
    found = []
    for situation in SITUATIONS:
        facts = wiring.facts_of(case(situation, *PARTS[part]))
        ranked = [finding.id for finding in rank(services.rulebook, services.texts, facts)]
        found.append(1 + min(ranked.index(cause) for cause in situation["right"]))
    return found


@pytest.mark.parametrize("situation", SITUATIONS, ids=range(len(SITUATIONS)))
def test_a_situation_uses_only_known_words(services: wiring.Services, situation: dict[str, Any]) -> None:
    assert set(situation["right"]) <= set(services.rulebook.cause_by_id)
    assert situation["symptom"] in {s.id for s in services.rulebook.symptoms}
    for name, value in {**situation["told"], **situation.get("tested", {})}.items():
        observation = services.rulebook.observation_by_id[name]
        if observation.kind != "number":
            assert set(value if isinstance(value, list) else [value]) <= set(observation.values)


@pytest.mark.parametrize(("part", "first", "three"), [("told", 0.78, 0.94), ("tested", 0.88, 0.98)])
def test_the_rulebook_is_no_worse_than_a_seasoned_technician(
    services: wiring.Services, part: str, first: float, three: float
) -> None:
    found = places(services, part)
    assert sum(place == 1 for place in found) / len(found) >= first
    assert sum(place <= 3 for place in found) / len(found) >= three


@pytest.mark.slow
def test_half_of_all_dialogues_have_the_right_cause_first_after_four_questions(services: wiring.Services) -> None:
    assert statistics.median(figure(services, situation) for situation in SITUATIONS) <= 4


def figure(services: wiring.Services, situation: dict[str, Any]) -> int:
    """The first number of questions after which the right cause is first and stays first; `NEVER` if it never is."""
    known = {**situation["told"], **situation.get("tested", {})}
    told = case(situation)
    since: int | None = None
    for put in range(MOST_QUESTIONS + 1):
        advice = wiring.advise(services, told)
        if advice.causes[0].id not in situation["right"]:
            since = None
        elif since is None:
            since = put
        question = advice.next_question
        if question is None:
            break
        told = told.answered(question.observation, known.get(question.observation, UNKNOWN))
    return NEVER if since is None else since
