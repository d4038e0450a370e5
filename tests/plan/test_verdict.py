"""Whether a fix held: the user's word and the budgets together."""

import pytest
from builders import controller, root, snapshot

from wizard.budget.entry import State
from wizard.bus.model import Snapshot
from wizard.bus.sign import Sign
from wizard.diagnosis.texts import Texts
from wizard.plan.compare import BudgetChange, Comparison, DeviceRef
from wizard.plan.verdict import Looks, looks_taken, sentences, verdict


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
    assert "the translator of hub 1-4" in why
    assert ": 1,043 of 900 µs a frame." in why


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


MIXER = DeviceRef(name="Mixer", was="1-4.1")


def test_a_device_that_is_merely_unplugged_proves_nothing() -> None:
    """Nothing misbehaves that is not there."""
    made = verdict("gone", Comparison(gone=(MIXER,)), subject=("1-4.1",))
    assert made.verdict == "open"
    assert "subject_gone" in [r.key for r in made.reasons]
    assert verdict("gone", Comparison(gone=(MIXER,)), subject=("1-9",)).verdict == "solved"
    assert verdict("same", Comparison(gone=(MIXER,)), subject=("1-4.1",)).verdict == "same"


def test_a_budget_that_eased_because_its_user_is_missing_was_avoided(prose: Texts) -> None:
    eased = change("1-4/tt", "over", "room").model_copy(update={"users_gone": ("Mixer",)})
    made = verdict("gone", Comparison(budgets=(eased,), gone=(MIXER,)))
    assert made.verdict == "better"
    assert any("Mixer." in said for said in sentences(made, prose))
    other = verdict("gone", Comparison(budgets=(eased,)), trouble=(("hub_supply", "1-4"),))
    assert other.verdict == "solved"


def test_a_look_at_another_computer_says_nothing_of_this_one(prose: Texts) -> None:
    made = verdict("gone", Comparison(two_machines=True, budgets=RELIEVED.budgets))
    assert made.verdict == "open"
    assert [r.key for r in made.reasons] == ["said_gone", "two_machines"]
    assert "another computer" in sentences(made, prose)[1]


@pytest.mark.parametrize(("looks", "word"), [("both", "solved"), ("first", "open"), ("none", "solved")])
def test_the_word_alone_decides_only_where_nothing_was_ever_looked_at(looks: Looks, word: str, prose: Texts) -> None:
    made = verdict("gone", NOTHING, looks=looks)
    assert made.verdict == word
    assert all(sentences(made, prose))
    assert verdict("worse", NOTHING, looks=looks).verdict == "worse"


def test_an_empty_snapshot_is_no_look() -> None:
    bus = snapshot(controller(), root())
    assert looks_taken(bus, bus) == "both"
    assert looks_taken(bus, Snapshot()) == looks_taken(bus, None) == "first"
    assert looks_taken(None, bus) == looks_taken(Snapshot(), Snapshot()) == "none"


def test_a_reason_calls_the_place_by_its_name(prose: Texts) -> None:
    named = change("1-4/tt", "over", "over").model_copy(update={"name_now": "Desk hub"})
    assert (
        "the translator of Desk hub (1-4): 1,043 of 900 µs a frame."
        in sentences(verdict("gone", Comparison(budgets=(named,))), prose)[1]
    )
