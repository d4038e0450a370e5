"""Answers that are figures reach the ledger."""

import math
from typing import Any

import pytest
from builders import controller, device, hub, root, snapshot

from wizard.budget.ledger import build_ledger
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


@pytest.mark.parametrize(("answer", "age"), [("old_chipset", "old"), ("recent_chipset", "recent")])
def test_the_age_of_the_pc_narrows_what_its_controller_may_keep(answer: str, age: str) -> None:
    told = told_setup(case(controller_kind=answer))
    assert told.controller_age == {"0000:00:14.0": age}
    entry = next(e for e in build_ledger(SEEN, told) if e.budget == "endpoints")
    assert entry.bracket == ((64, 96) if age == "old" else (96, 254))
    assert entry.settles is None


def test_a_card_or_no_answer_leaves_the_bracket_as_it_is() -> None:
    for answers in ({"controller_kind": "card"}, {"controller_kind": "unknown"}, {}):
        assert told_setup(case(**answers)).controller_age == {}


def test_how_the_hub_is_fed_settles_what_its_sockets_give() -> None:
    seen = snapshot(controller(), root(), hub("1-1", self_powered=None), device("1-1.2", "high", 300))
    for answer, limit in (("bus", 100), ("self", 500)):
        one = case(hub_power=answer).model_copy(update={"snapshot": seen})
        entry = next(e for e in build_ledger(seen, told_setup(one)) if (e.budget, e.where) == ("port_current", "1-1.2"))
        assert (entry.limit, entry.state) == (limit, "over" if limit < 300 else "room")


def test_a_hub_that_says_how_it_is_fed_is_believed() -> None:
    entry = next(
        e
        for e in build_ledger(SEEN, told_setup(case(hub_power="bus")))
        if (e.budget, e.where) == ("port_current", "1-1.2")
    )
    assert entry.limit == 500
