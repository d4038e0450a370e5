"""Answers that are figures reach the ledger."""

import math
from typing import Any

import pytest
from builders import controller, device, hub, root, snapshot

from wizard.budget.setup import Setup
from wizard.case.model import Case
from wizard.case.told import told_setup

SEEN = snapshot(controller(), root(), hub("1-1"), device("1-1.2"), device("1-2"))


def case(subject: str | None = "1-1.2", setup: Setup | None = None, **answers: Any) -> Case:
    return Case(
        symptom="dropout",
        subject=() if subject is None else (subject,),
        snapshot=SEEN,
        setup=setup or Setup(),
        observations=answers,
    )


def test_the_rating_of_a_supply_belongs_to_the_subjects_hub() -> None:
    assert told_setup(case(hub_supply_ma=2000)).supplies_ma == {"1-1": 2000}


def test_without_a_subject_it_belongs_to_the_only_hub_there_is() -> None:
    assert told_setup(case(None, hub_supply_ma=2000)).supplies_ma == {"1-1": 2000}


def test_a_device_straight_on_the_pc_has_no_hub_to_speak_of() -> None:
    assert told_setup(case("1-2", hub_supply_ma=2000)).supplies_ma == {}


def test_what_was_told_of_a_hub_by_name_stands() -> None:
    assert told_setup(case(setup=Setup(supplies_ma={"1-1": 500}), hub_supply_ma=2000)).supplies_ma == {"1-1": 500}


def test_the_length_of_a_run_belongs_to_the_subject() -> None:
    assert told_setup(case(cable_m=7.5)).cables["1-1.2"].m == 7.5


@pytest.mark.parametrize("answer", ["unknown", "2000", True, None, math.nan, -1, [2000]])
def test_what_is_no_figure_tells_nothing(answer: Any) -> None:
    assert told_setup(case(hub_supply_ma=answer)) == Setup()
