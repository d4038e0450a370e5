"""The fast choice of questions against the plain one, on the shipped rulebook and plan and on random states."""

from __future__ import annotations

import random
from collections.abc import Mapping

import pytest
from plain_questions import plain_choice, plain_scores

from wizard import wiring
from wizard.bus.sign import Sign
from wizard.diagnosis.facts import Facts
from wizard.diagnosis.questions import next_question
from wizard.diagnosis.ranking import added_up, weigh
from wizard.plan.planning import first_step

FEW, MANY = 12, 150
"""Random states compared; the plain form takes about a tenth of a second each."""


@pytest.fixture(scope="module")
def services() -> wiring.Services:
    return wiring.load_services()


def random_facts(book_of: wiring.Services, chance: random.Random) -> Facts:
    """A case with any number of random answers and some signs from a log. The answers may echo the signs, but do not
    clash (the look ahead foresees no clash)."""
    book = book_of.rulebook
    symptoms = tuple(chance.sample([s.id for s in book.symptoms], chance.choice((1, 1, 1, 2))))
    known: dict[str, object] = {}
    for observation in chance.sample(book.observations, chance.choice((0, 1, 2, 4, 8, 12))):
        values = (*observation.answers(), "unknown") if observation.answers() else (1.0, 20.0, 800.0)
        known[observation.id] = chance.choice(values)
    kinds = chance.sample(
        sorted({kind for rule in book.rules for c in rule.when for kind in c.sign}), chance.choice((0, 1, 3))
    )
    return Facts(
        symptoms=symptoms,
        observations=known,
        signs=tuple(Sign(kind=kind, where="1-2", count=chance.choice((1, 6))) for kind in kinds),
        signs_known=bool(kinds),
        platform=chance.choice(("windows", "linux", "macos", None)),
    )


@pytest.mark.parametrize(("seed", "states"), [(4, FEW), pytest.param(5, MANY, marks=pytest.mark.slow)])
def test_the_fast_choice_is_the_plain_choice(services: wiring.Services, seed: int, states: int) -> None:
    chance = random.Random(seed)
    book = services.rulebook.model_copy(update={"clashes": ()})

    def begins(told: Facts, belief: Mapping[str, float]) -> str | None:
        return first_step(services.remedies, told, belief)

    for _ in range(states):
        facts = random_facts(services, chance)
        put = next_question(book, services.texts, facts, begins)
        assert (put and put.observation) == plain_choice(book, facts, begins), facts


def test_the_fast_sum_of_evidence_is_the_plain_sum(services: wiring.Services) -> None:
    chance = random.Random(5)
    book = services.rulebook.model_copy(update={"clashes": ()})
    for _ in range(300):
        facts = random_facts(services, chance)
        assert added_up(book, facts, weigh(book, facts)) == pytest.approx(plain_scores(book, facts)), facts
