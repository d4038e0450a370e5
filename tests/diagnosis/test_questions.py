"""The next question: useful, cheap, never twice, never one that can't change anything."""

from collections.abc import Mapping

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wizard import wiring
from wizard.case.model import Case
from wizard.diagnosis.facts import Facts, gather_facts
from wizard.diagnosis.questions import next_question, open_questions
from wizard.diagnosis.rulebook import Rulebook
from wizard.diagnosis.texts import Texts


def test_a_cheap_question_that_settles_comes_before_a_dear_test(tiny: Rulebook, tiny_texts: Texts) -> None:
    question = next_question(tiny, tiny_texts, gather_facts(("lag",), {}))
    assert question is not None
    assert question.observation == "when"
    assert question.values == ("stream_start", "touched_or_moved", "unknown")
    assert question.many


def test_an_answered_question_is_not_put_again_even_if_unknown(tiny: Rulebook, tiny_texts: Texts) -> None:
    question = next_question(tiny, tiny_texts, gather_facts(("lag",), {"when": "unknown"}))
    assert question is not None
    assert question.observation != "when"


def test_a_question_waits_until_its_need_is_not_refuted(tiny: Rulebook) -> None:
    without_hub = gather_facts(("lag",), {"hub_between": "none"})
    assert "hub_supply_ma" not in [o.id for o in open_questions(tiny, without_hub)]
    not_known = gather_facts(("lag",), {})
    assert "hub_supply_ma" in [o.id for o in open_questions(tiny, not_known)]


def test_what_is_measured_is_never_asked(tiny: Rulebook) -> None:
    assert "hub_between" not in [o.id for o in open_questions(tiny, gather_facts(("lag",), {}))]


def test_no_question_is_left_when_none_can_change_the_leader(tiny: Rulebook, tiny_texts: Texts) -> None:
    told = {"other_cable": "cures", "when": "touched_or_moved"}
    assert next_question(tiny, tiny_texts, gather_facts(("dropout",), told)) is None


def test_a_question_that_changes_only_the_first_step_is_still_put(tiny: Rulebook, tiny_texts: Texts) -> None:
    told = gather_facts(("lag",), {"other_cable": "same", "when": "stream_start"})

    def first_step(facts: Facts, belief: Mapping[str, float]) -> str:
        return "buy a supply" if facts.number("hub_supply_ma") == 500 else "spread the devices"

    assert next_question(tiny, tiny_texts, told) is None
    question = next_question(tiny, tiny_texts, told, first_step)
    assert question is not None
    assert question.observation == "hub_supply_ma"


def test_a_question_that_hardly_ever_changes_anything_is_not_put(tiny: Rulebook, tiny_texts: Texts) -> None:
    told = gather_facts(("dropout",), {"other_cable": "cures", "when": "touched_or_moved"})
    assert next_question(tiny, tiny_texts, told, lambda facts, belief: str(facts.number("hub_supply_ma"))) is None


def test_what_a_question_rests_on_is_asked_first(tiny: Rulebook, tiny_texts: Texts) -> None:
    """Here whether there is a hub at all can be asked, so it comes before the rating of its supply."""
    asked = tuple(o.model_copy(update={"how": "ask"}) if o.id == "hub_between" else o for o in tiny.observations)
    book = tiny.model_copy(update={"observations": asked})
    told = {"other_cable": "same", "when": "unknown"}
    question = next_question(book, tiny_texts, gather_facts(("dropout",), told))
    assert question is not None
    assert question.observation == "hub_between"


@given(st.data())
def test_every_dialogue_ends_and_puts_no_question_twice(tiny: Rulebook, tiny_texts: Texts, data: st.DataObject) -> None:
    told: dict[str, object] = {}
    for _ in range(len(tiny.observations) + 1):
        question = next_question(tiny, tiny_texts, gather_facts(("lag",), told))
        if question is None:
            return
        assert question.observation not in told
        told[question.observation] = data.draw(st.sampled_from(question.values))
    raise AssertionError(f"more questions than observations: {told}")


@pytest.mark.parametrize(
    "told",
    [
        {"other_cable": "cures", "when": "touched_or_moved"},
        {"power_saving_off": "cures", "when": "idle_or_resume"},
        {"hub_power": "bus", "hub_between": "one", "works_until_n": "yes", "powered_hub": "cures"},
    ],
)
def test_no_long_test_is_asked_for_once_a_cause_leads_clearly(told: dict[str, str]) -> None:
    """Ten minutes for a leader of nine in ten are better spent on the first step of the plan: own choice."""
    services = wiring.load_services()
    case = Case(symptom="dropout", observations=told)
    while (question := (advice := wiring.advise(services, case)).next_question) is not None:
        assert advice.causes[0].share > 0.9
        assert question.effort_min < 10
        case = case.answered(question.observation, "unknown")
