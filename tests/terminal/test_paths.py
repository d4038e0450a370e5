"""The decision tree for review: whole, and short enough to be read."""

from __future__ import annotations

from typing import Any

import pytest

from wizard import wiring
from wizard.case.model import Case
from wizard.diagnosis.advice import Question
from wizard.terminal.paths import Branch, Fork, fold, grow

REVIEWABLE = 60
"""Lines of one symptom at depth 1 that a person still reads in one go: common practice (no source)."""


def branch(answer: str, cause: str, share: float, then: Fork | None = None) -> Branch:
    return Branch((answer,), cause, (share, share), then)


def fork(*branches: Branch) -> Fork:
    question = Question(
        id="ask_x", observation="x", text="?", why="", kind="ask", values=("a", "b", "unknown"), effort_min=1
    )
    return Fork(question, branches)


def test_answers_that_lead_to_the_same_share_a_line() -> None:
    folded = fold([branch("a", "cable_fault", 0.4), branch("b", "hub_fault", 0.5), branch("c", "cable_fault", 0.2)])
    assert [(b.answers, b.cause, b.shares) for b in folded] == [
        (("a", "c"), "cable_fault", (0.2, 0.4)),
        (("b",), "hub_fault", (0.5, 0.5)),
    ]


def test_answers_after_which_something_else_is_asked_stay_apart() -> None:
    then = fork(branch("yes", "hub_fault", 0.9))
    assert len(fold([branch("a", "cable_fault", 0.4, then), branch("b", "cable_fault", 0.4)])) == 2


def test_what_follows_is_folded_with_its_answers() -> None:
    one, other = fork(branch("yes", "hub_fault", 0.9)), fork(branch("yes", "hub_fault", 0.7))
    (both,) = fold([branch("a", "cable_fault", 0.4, one), branch("b", "cable_fault", 0.4, other)])
    assert both.then is not None
    assert [(b.answers, b.shares) for b in both.then.branches] == [(("yes",), (0.7, 0.9))]


def test_no_answer_is_lost_by_folding() -> None:
    services = wiring.load_services()
    for symptom in services.rulebook.symptoms:
        tree = grow(services, Case(symptom=symptom.id), 1)
        assert tree is not None
        assert sum(len(b.answers) for b in tree.branches) == len(tree.question.values)


@pytest.mark.parametrize("symptom", ["dropout", "other"])
def test_one_symptom_is_printed_alone(call: Any, symptom: str) -> None:
    code, screen = call("paths", "--depth", "1", "--symptom", symptom)
    tree, clashes = screen.text.split("Answers that can’t agree")
    assert code == 0
    assert clashes.strip()
    assert tree.count("(ask, ") + tree.count("(test, ") == 1
    assert len(tree.splitlines()) <= REVIEWABLE


def test_an_unknown_symptom_is_refused_with_the_known_ones(call: Any, capsys: pytest.CaptureFixture[str]) -> None:
    code, screen = call("paths", "--symptom", "lagg")
    said = screen.err.getvalue() + capsys.readouterr().err
    assert code == 2
    assert "'lagg'" in said
    assert "drive_missing" in said
