"""'Next' in the summary of a report: a step while it is open, none once it is solved."""

from wizard.case.documents import Advice, Look
from wizard.case.model import Case, Recheck
from wizard.diagnosis.texts import Texts
from wizard.plan.steps import Plan, Step
from wizard.report.material import material_of
from wizard.report.text import render_section
from wizard.store import resources

TEXTS = Texts("en", resources.texts("en"))


def summary(outcome: str | None, marks: dict[str, str]) -> str:
    steps = tuple(
        Step(id=name, do="Do.", why="Because.", cures=("cable_fault",), effort_min=1, spend="none", opens_case=False,
             touches=("cable",), risk="low", cautions=(), undo="Undo.", check="Check.")
        for name in ("other_cable", "other_socket")
    )  # fmt: skip
    checks = () if outcome is None else (Recheck.model_validate({"outcome": outcome}),)
    case = Case.model_validate({"symptom": "dropout", "marks": marks, "rechecks": [c.model_dump() for c in checks]})
    section = material_of(case, Look(), Advice(causes=(), plan=Plan(steps=steps)), TEXTS).section("summary")
    assert section is not None
    return " ".join(render_section(section).split())


def test_an_open_trouble_points_to_the_first_step_that_was_not_tried() -> None:
    assert "step 1 under “What to do”" in summary(None, {})
    assert "step 2 under “What to do”" in summary("same", {"other_cable": "did_not_help"})


def test_once_solved_nothing_more_is_to_be_done() -> None:
    told = summary("gone", {"other_cable": "helped"})
    assert "Nothing more to do" in told
    assert "step 1" not in told


def test_where_all_was_tried_it_goes_to_support() -> None:
    marks = {"other_cable": "did_not_help", "other_socket": "did_not_help"}
    assert "hand over to support" in summary("same", marks)
