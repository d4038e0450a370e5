"""Every dialogue comes to a plan: no dead end, no question twice, at most twelve questions.

The quick part runs always. The whole walk (every path to depth 4 and 20,000 random dialogues) takes some minutes:

    python -m pytest tests/diagnosis/test_dialogues.py -m slow
"""

from __future__ import annotations

import os
import random
from dataclasses import replace

import pytest
from dialogues import (
    MOST_QUESTIONS,
    Dialogue,
    broken,
    drawn,
    every_path,
    first_answers,
    on_all_cores,
    play,
    random_walk,
    shrunk,
)

from wizard import wiring

CORES = min(os.cpu_count() or 1, 4)
DIALOGUES, PORTION = 20_000, 500
SEED = 20


@pytest.fixture(scope="module")
def services() -> wiring.Services:
    return wiring.load_services()


def symptoms() -> list[str]:
    return [s.id for s in wiring.load_services().rulebook.symptoms]


def main_symptoms() -> list[str]:
    return [s.id for s in wiring.load_services().rulebook.symptoms if s.main]


# --- The quick part


@pytest.mark.parametrize("symptom", symptoms())
def test_a_user_who_knows_nothing_comes_to_a_plan(services: wiring.Services, symptom: str) -> None:
    played = play(services, Dialogue((symptom,)))
    assert len(played.asked) == len(set(played.asked)) <= MOST_QUESTIONS
    assert played.steps


@pytest.mark.parametrize("symptom", main_symptoms())
def test_every_path_of_two_questions_comes_to_a_plan(symptom: str) -> None:
    problems, paths = every_path(symptom, depth=2)
    assert not problems, "\n\n".join(problems)
    assert paths > 10


def test_random_dialogues_come_to_a_plan() -> None:
    problems, again, questions = random_walk(SEED, 300)
    assert not problems, "\n\n".join(problems[:3])
    assert again > 5, "hardly any dialogue contradicts itself: the walk does not test that"
    assert questions > 300


def test_a_dialogue_that_breaks_is_made_as_small_as_it_goes(services: wiring.Services) -> None:
    """A plan without remedies is a dead end, whatever was said: nothing but the symptom may be left."""
    empty = wiring.Services(services.rulebook, (), services.kinds, services.texts)
    said = broken(empty, drawn(services, random.Random(SEED)))
    assert said is not None
    assert said.startswith("a dead end: no plan\nThe smallest dialogue that shows it: ")
    assert "start={}, signs=(), answers={}, second={}" in said


def test_what_is_needed_to_break_a_dialogue_stays(services: wiring.Services) -> None:
    """Say that no dialogue may come to hear of a hub that lives from the PC: what leads there is left, nothing else."""

    def breaks(dialogue: Dialogue) -> bool:
        return play(services, dialogue).known.get("hub_power") == "bus"

    chance = random.Random(SEED)
    found = next(d for d in iter(lambda: drawn(services, chance), None) if breaks(d))
    smallest = shrunk(found, breaks)
    assert breaks(smallest)
    assert smallest.answers["hub_power"] == "bus"
    assert smallest.size() < found.size() / 4
    assert not any(
        breaks(replace(smallest, answers={k: v for k, v in smallest.answers.items() if k != name}))
        for name in smallest.answers
    )


# --- The whole walk


@pytest.mark.slow
@pytest.mark.parametrize("symptom", main_symptoms())
def test_every_path_of_four_questions_comes_to_a_plan(services: wiring.Services, symptom: str) -> None:
    firsts = first_answers(services, symptom)
    with on_all_cores(CORES) as processes:
        found = list(processes.map(every_path, [symptom] * len(firsts), [4] * len(firsts), firsts))
    problems = [problem for some, _ in found for problem in some]
    assert not problems, "\n\n".join(problems[:3])
    assert sum(paths for _, paths in found) > 1000


@pytest.mark.slow
@pytest.mark.parametrize("quarter", range(4))
def test_twenty_thousand_random_dialogues_come_to_a_plan(quarter: int) -> None:
    """A quarter each, so that a hanging test is told from a long one."""
    portions = DIALOGUES // PORTION // 4
    seeds = range(quarter * portions, (quarter + 1) * portions)
    with on_all_cores(CORES) as processes:
        found = list(processes.map(random_walk, seeds, [PORTION] * portions))
    problems = [problem for some, _, _ in found for problem in some]
    assert not problems, "\n\n".join(problems[:3])
    assert sum(again for _, again, _ in found) > PORTION * portions // 100
