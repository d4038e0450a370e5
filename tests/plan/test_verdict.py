"""Whether a fix held: the user's word and the budgets together."""

import pytest

from wizard.budget.entry import State
from wizard.bus.sign import Sign
from wizard.diagnosis.texts import Texts
from wizard.plan.compare import BudgetChange, Comparison, DeviceRef
from wizard.plan.verdict import sentences, verdict


def change(where: str, was: State | None, now: State | None, budget: str = "periodic_time_active") -> BudgetChange:
    return BudgetChange(
        budget=budget, where=where, unit="us/frame", used_now=1043.2, limit_now=900, state_was=was, state_now=now
    )


RELIEVED = Comparison(budgets=(change("1-4/tt", "over", "room"),))
STILL = Comparison(budgets=(change("1-4/tt", "over", "over"),))
FRESH = Comparison(budgets=(change("1-4/tt", "over", "room"), change("1-2/tt", None, "over")))
NOTHING = Comparison()


@pytest.mark.parametrize(
    ("outcome", "comparison", "expected"),
    [
        ("gone", NOTHING, "solved"),
        ("gone", RELIEVED, "solved"),
        ("gone", STILL, "better"),
        ("gone", FRESH, "better"),
        ("better", RELIEVED, "better"),
        ("same", RELIEVED, "same"),
        ("worse", RELIEVED, "worse"),
        (None, RELIEVED, "open"),
        ("later_word", NOTHING, "open"),
    ],
)
def test_both_the_user_and_the_budgets_have_a_say(outcome: str | None, comparison: Comparison, expected: str) -> None:
    assert verdict(outcome, comparison).verdict == expected


def test_a_budget_that_was_not_the_trouble_does_not_spoil_it() -> None:
    both = Comparison(budgets=(change("1-4/tt", "over", "room"), change("2-1/tt", "over", "over")))
    assert verdict("gone", both, trouble=(("periodic_time_active", "1-4/tt"),)).verdict == "solved"
    assert verdict("gone", both).verdict == "better"


def test_lowering_the_rate_solves_though_the_fullest_setting_would_not_fit() -> None:
    lowered = Comparison(
        budgets=(
            change("usb1", "over", "over", "periodic_time"),
            change("usb1", "over", "room", "periodic_time_active"),
        )
    )
    assert verdict("gone", lowered).verdict == "solved"
    idle = Comparison(budgets=(change("usb1", "over", "over", "periodic_time"),))
    assert verdict("gone", idle).verdict == "better"


def test_the_reasons_name_the_budget_that_is_in_the_way(prose: Texts) -> None:
    made = verdict("gone", STILL)
    assert [(r.key, r.where) for r in made.reasons] == [("said_gone", None), ("still_over", "1-4/tt")]
    said, why = sentences(made, prose)
    assert said == "You say the trouble is gone."
    assert "1-4/tt" in why
    assert "1,043 / 900" in why


def test_what_else_was_noticed_is_told_but_does_not_decide(prose: Texts) -> None:
    noticed = Comparison(gone=(DeviceRef(name="Fader bank", was="1-1"),), new_signs=(Sign(kind="reset"),))
    made = verdict("gone", noticed)
    assert made.verdict == "solved"
    assert [r.key for r in made.reasons] == ["said_gone", "new_signs", "devices_gone"]
    assert len(sentences(made, prose)) == 3


def test_before_anybody_said_anything_the_figures_are_told(prose: Texts) -> None:
    made = verdict(None, RELIEVED)
    assert [r.key for r in made.reasons] == ["not_asked", "relieved"]
    assert all(sentences(made, prose))
