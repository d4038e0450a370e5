"""A history ends in 'solved by …' or in handing over; until then it names the next step."""

import pytest

from wizard.diagnosis.texts import Texts
from wizard.plan.ending import Ending, ending
from wizard.plan.steps import Plan, Step


def step(name: str, *cures: str) -> Step:
    plain = {"do": name, "why": "", "effort_min": 1.0, "spend": "none", "opens_case": False, "undo": "", "check": ""}
    return Step.model_validate({"id": name, "cures": cures, "touches": (), "risk": "none", "cautions": (), **plain})


PLAN = Plan(steps=(step("a", "x"), step("b", "y"), step("report")))


@pytest.mark.parametrize(
    ("verdict", "marks", "expected"),
    [
        ("solved", {"a": "did_not_help", "b": "helped"}, Ending(kind="solved", step="b")),
        ("solved", {"b": "done", "a": "skipped"}, Ending(kind="solved", step="b")),
        ("solved", {"b": "helped", "a": "done"}, Ending(kind="solved", step="b")),
        ("solved", {}, Ending(kind="solved")),
        ("better", {"a": "helped"}, Ending(kind="open", step="b")),
        ("open", {}, Ending(kind="open", step="a")),
        ("same", {"a": "did_not_help", "b": "skipped"}, Ending(kind="hand_over")),
    ],
)
def test_how_a_history_ends(verdict: str, marks: dict[str, str], expected: Ending) -> None:
    assert ending(verdict, marks, PLAN) == expected  # type: ignore[arg-type]  # words of the verdict


def test_handing_over_names_the_report(prose: Texts) -> None:
    assert "hand over to support with this report" in prose["ending.hand_over"]
    assert "{step}" in prose["ending.solved"]
