"""A step that is a test by another name leaves its result."""

import pytest

from wizard.diagnosis.rulebook import Rulebook
from wizard.plan.steps import Remedy
from wizard.plan.tried import results_of_marks


@pytest.mark.parametrize(
    ("marks", "outcomes", "expected"),
    [
        ({"other_cable": "helped"}, (), {"other_cable": "cures"}),
        ({"other_cable": "helped"}, ("better",), {"other_cable": "helps"}),
        ({"other_cable": "helped"}, ("better", "gone"), {"other_cable": "cures"}),
        ({"other_cable": "did_not_help"}, ("same",), {"other_cable": "same"}),
        ({"other_cable": "done"}, (), {}),
        ({"other_cable": "skipped", "reseat_plug": "helped", "nothing_of_ours": "helped"}, (), {}),
        ({"right_permission": "helped"}, ("better",), {"as_administrator": "works"}),
        ({"right_permission": "did_not_help"}, (), {"as_administrator": "fails"}),
    ],
)
def test_marks_are_results_where_the_step_is_a_test(
    marks: dict[str, str],
    outcomes: tuple[str, ...],
    expected: dict[str, str],
    remedies: tuple[Remedy, ...],
    rulebook: Rulebook,
) -> None:
    assert results_of_marks(remedies, rulebook, marks, outcomes) == expected


def test_every_test_can_take_both_results(remedies: tuple[Remedy, ...], rulebook: Rulebook) -> None:
    for remedy in remedies:
        if remedy.tried_as is not None:
            for mark in ("helped", "did_not_help"):
                result = results_of_marks(remedies, rulebook, {remedy.id: mark})
                assert result[remedy.tried_as] in rulebook.observation_by_id[remedy.tried_as].values


def test_of_two_steps_of_one_test_the_one_that_helped_counts(remedies: tuple[Remedy, ...], rulebook: Rulebook) -> None:
    twins = [r.id for r in remedies if r.tried_as == "other_controller"]
    assert len(twins) > 1
    for helped in twins:
        marks = {name: "helped" if name == helped else "did_not_help" for name in twins}
        assert results_of_marks(remedies, rulebook, marks) == {"other_controller": "cures"}
