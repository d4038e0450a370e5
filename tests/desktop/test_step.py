"""A step of the plan: cautions come before the action, and the dangerous ones have to be read first."""

import pytest
from PySide6.QtWidgets import QPushButton, QToolButton

from wizard.desktop.widgets.card import Caution
from wizard.desktop.widgets.step import StepCard
from wizard.desktop.widgets.text import Text
from wizard.plan.steps import Caution as CautionText
from wizard.plan.steps import Step


def step(risk="low", opens_case=False):
    return Step(
        id="do_it", do="Do it.", why="It helps.", cures=("hub_supply",), effort_min=5, spend="low",
        opens_case=opens_case, touches=("cable",), risk=risk,
        cautions=(CautionText(id="save_work", text="Save your work."),), undo="Undo it.", check="Look again.",
    )  # fmt: skip


@pytest.fixture
def card(shown):
    def make(step, mark=None, was_read=False, to_check=False, briefs=None):
        return shown(StepCard(1, step, mark, "a cause", True, was_read, to_check, briefs or {}))

    return make


def seen(card):
    return [t.text() for t in card.findChildren(Text) if t.isVisible()]


def press(card, words):
    next(b for b in card.findChildren(QPushButton) if b.isVisible() and b.text() == words).click()


def test_the_cautions_stand_above_the_action(card):
    one = card(step())
    warning = one.findChild(Caution)
    action = next(t for t in one.findChildren(Text) if t.text() == "Do it.")
    assert warning.mapTo(one, warning.rect().bottomLeft()).y() <= action.mapTo(one, action.rect().topLeft()).y()


def test_a_caution_told_in_full_before_is_told_in_short_and_opens_to_its_full_text(card):
    one = card(step(), briefs={"save_work": "Save."})
    assert "Save." in seen(one)
    assert "Save your work." not in seen(one)
    next(b for b in one.findChildren(QToolButton) if b.text() == "In full").click()
    assert "Save your work." in seen(one)


@pytest.mark.parametrize("risk", ["data", "injury"])
def test_where_harm_can_come_of_it_the_action_shows_only_once_the_cautions_were_read(card, qtbot, risk):
    one = card(step(risk))
    assert "Save your work." in seen(one)
    assert "Do it." not in seen(one)
    with qtbot.waitSignal(one.read, timeout=500):
        press(one, "I have read this: show what to do")
    assert "Do it." in seen(one)


def test_cautions_read_once_need_not_be_read_again(card):
    assert "Do it." in seen(card(step("injury"), was_read=True))


def test_time_spend_and_an_open_case_are_told_before_anything_else(card):
    told = seen(card(step(opens_case=True)))
    assert [t for t in told if t in told[1:4]] == ["about 5 min", "costs little", "open the case"]


@pytest.mark.parametrize(("mark", "told"), [(None, "helped"), ("helped", None), ("done", "helped")])
def test_pressing_a_mark_says_it_and_pressing_it_again_takes_it_back(card, qtbot, mark, told):
    one = card(step(), mark)
    if mark is not None:
        press(one, "Show it again")
    with qtbot.waitSignal(one.marked, timeout=500) as said:
        press(one, "It helped")
    assert said.args == [told]


def test_a_step_that_was_dealt_with_takes_one_line_until_it_is_wanted_again(card):
    one = card(step(), "did_not_help")
    assert "Do it." not in seen(one)
    assert "Step 1: done, and it did not help" in "\n".join(seen(card(step(), "did_not_help")))
    press(one, "Show it again")
    assert "Do it." in seen(one)
