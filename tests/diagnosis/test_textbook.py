"""Textbook cases: what the documents of the trade describe, the rulebook must conclude. Half of them are on Windows."""

from __future__ import annotations

import tomllib
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from wizard import wiring
from wizard.case.model import Case

BOOK = Path(__file__).parent.parent / "reference" / "textbook.toml"
CASES: list[dict[str, Any]] = tomllib.loads(BOOK.read_text("utf-8"))["case"]
TITLES = [f"{case['symptom']}: {case['title']}" for case in CASES]
LEAST = 10
"""Cases by main symptom."""


@pytest.fixture(scope="module")
def services() -> wiring.Services:
    return wiring.load_services()


def ranked(services: wiring.Services, case: dict[str, Any], *parts: str) -> list[str]:
    observations = {name: value for part in parts for name, value in case[part].items()}
    advice = wiring.advise(
        services, Case(symptom=case["symptom"], platform=case["platform"], observations=observations)
    )
    return [finding.id for finding in advice.causes]


def test_each_main_symptom_has_its_cases_and_half_of_them_are_on_windows(services: wiring.Services) -> None:
    by_symptom = Counter(case["symptom"] for case in CASES)
    for symptom in services.rulebook.symptoms:
        if symptom.main:
            assert by_symptom[symptom.id] >= LEAST
            here = [case for case in CASES if case["symptom"] == symptom.id]
            assert sum(case["platform"] == "windows" for case in here) * 2 >= len(here)


@pytest.mark.parametrize("case", CASES, ids=TITLES)
def test_a_case_says_what_it_rests_on_in_known_words(services: wiring.Services, case: dict[str, Any]) -> None:
    assert len(case["rests_on"]) > 20
    assert set(case["right"]) <= set(services.rulebook.cause_by_id)
    for name, value in {**case["told"], **case["tested"]}.items():
        observation = services.rulebook.observation_by_id[name]
        if observation.kind != "number":
            assert set(value if isinstance(value, list) else [value]) <= set(observation.values)


@pytest.mark.parametrize("case", CASES, ids=TITLES)
def test_with_the_tests_answered_the_textbooks_conclusion_leads(
    services: wiring.Services, case: dict[str, Any]
) -> None:
    assert ranked(services, case, "told", "tested")[0] in case["right"]


@pytest.mark.parametrize("case", CASES, ids=TITLES)
def test_before_any_test_the_textbooks_conclusion_is_among_the_first_three(
    services: wiring.Services, case: dict[str, Any]
) -> None:
    assert set(ranked(services, case, "told")[:3]) & set(case["right"])


@pytest.mark.parametrize("case", CASES, ids=TITLES)
def test_no_textbook_case_contradicts_itself(services: wiring.Services, case: dict[str, Any]) -> None:
    observations = {**case["told"], **case["tested"]}
    advice = wiring.advise(
        services, Case(symptom=case["symptom"], platform=case["platform"], observations=observations)
    )
    assert advice.contradictions == ()
