"""Answers that contradict each other: noticed, asked about once, and counted less until they agree."""

from __future__ import annotations

import pytest

from wizard import wiring
from wizard.case.model import Case
from wizard.diagnosis.clashes import DOUBTED, clashing, doubts
from wizard.diagnosis.contradictions import contradictions
from wizard.diagnosis.facts import Facts
from wizard.diagnosis.ranking import added_up, weigh
from wizard.diagnosis.rulebook import UNKNOWN, Clash, Condition, Rulebook
from wizard.diagnosis.texts import Texts


def scores(book: Rulebook, told: Facts) -> dict[str, float]:
    return added_up(book, told, weigh(book, told))


@pytest.fixture(scope="module")
def services() -> wiring.Services:
    return wiring.load_services()


@pytest.fixture
def book(tiny: Rulebook) -> Rulebook:
    """The tiny rulebook with one clash: a hub supply, and no hub."""
    clash = Clash(
        id="a_supply_without_a_hub",
        when=(
            Condition(observation="hub_supply_ma", at_least=1),
            Condition(observation="when", any_of=("touched_or_moved",)),
        ),
        unless=(Condition(observation="other_cable", any_of=("cures",)),),
        ask="when",
        source="made up for tests",
    )
    return tiny.model_copy(update={"clashes": (clash,)})


@pytest.fixture
def texts(tiny_texts: Texts) -> Texts:
    known = {key: tiny_texts[key] for key in sorted(tiny_texts.keys())}
    return Texts("en", known | {"clash.a_supply_without_a_hub.why": "These two do not agree."})


def facts(measured: tuple[str, ...] = (), **observations: object) -> Facts:
    return Facts(symptoms=("lag",), observations=observations, measured=frozenset(measured))


def test_two_answers_that_agree_do_not_clash(book: Rulebook) -> None:
    assert clashing(book, facts(hub_supply_ma=500, when="stream_start")) == ()


def test_an_answer_that_is_not_known_clashes_with_nothing(book: Rulebook) -> None:
    assert clashing(book, facts(hub_supply_ma=500, when=UNKNOWN)) == ()
    assert clashing(book, facts(when="touched_or_moved")) == ()


def test_answers_in_doubt_count_half(book: Rulebook) -> None:
    alone = scores(book, facts(when="touched_or_moved"))["cable_fault"] - scores(book, facts())["cable_fault"]
    told = facts(hub_supply_ma=500, when="touched_or_moved")
    assert alone == 10.0  # the rule `moves` speaks strongly
    assert scores(book, told)["cable_fault"] - scores(book, facts())["cable_fault"] == DOUBTED * alone
    assert doubts(book, told) == {"hub_supply_ma", "when"}


def test_what_else_is_known_keeps_its_full_weight(book: Rulebook) -> None:
    quiet = facts(other_cable="same", hub_supply_ma=500, when="touched_or_moved")
    assert "other_cable" not in doubts(book, quiet)


def test_where_both_can_be_true_after_all_nothing_clashes(book: Rulebook) -> None:
    assert clashing(book, facts(hub_supply_ma=500, when="touched_or_moved", other_cable="cures")) == ()


def test_what_was_measured_is_not_doubted_but_the_answer_against_it_is(book: Rulebook) -> None:
    told = facts(("hub_supply_ma",), hub_supply_ma=500, when="touched_or_moved")
    assert doubts(book, told) == {"when"}


def test_two_measurements_are_nobodys_contradiction(book: Rulebook) -> None:
    assert clashing(book, facts(("hub_supply_ma", "when"), hub_supply_ma=500, when="touched_or_moved")) == ()


def test_the_question_put_again_names_the_contradiction(book: Rulebook, texts: Texts) -> None:
    (found,) = contradictions(book, texts, facts(hub_supply_ma=500, when="touched_or_moved"))
    assert found.observations == ("hub_supply_ma", "when")
    assert found.question.observation == "when"
    assert found.question.why == "These two do not agree."
    assert found.question.values == ("stream_start", "touched_or_moved", UNKNOWN)
    assert not found.settled


def test_if_the_doubtful_one_was_measured_the_other_is_asked_again(book: Rulebook, texts: Texts) -> None:
    (found,) = contradictions(book, texts, facts(("when",), hub_supply_ma=500, when="touched_or_moved"))
    assert found.question.observation == "hub_supply_ma"


# --- The shipped rulebook


def test_a_case_is_asked_once_about_what_does_not_agree(services: wiring.Services) -> None:
    case = Case(symptom="dropout", observations={"hub_between": "none", "without_hub": "cures"})
    advice = wiring.advise(services, case)
    assert [c.id for c in advice.contradictions] == ["no_hub_to_leave_out"]
    assert advice.next_question is None or advice.next_question.observation not in case.observations
    again = advice.contradictions[0].question
    kept = case.reconsidered("no_hub_to_leave_out", again.observation, "none")
    assert [c.settled for c in wiring.advise(services, kept).contradictions] == [True]
    changed = case.reconsidered("no_hub_to_leave_out", again.observation, "one")
    assert wiring.advise(services, changed).contradictions == ()


def test_evidence_that_counts_half_says_so(services: wiring.Services) -> None:
    case = Case(symptom="dropout", observations={"hub_between": "none", "without_hub": "cures"})
    reasons = {e.why: e.weight for f in wiring.advise(services, case).causes for e in (*f.for_, *f.against)}
    assert any("does not agree" in why for why in reasons)


def test_the_hub_itself_may_be_the_device(services: wiring.Services) -> None:
    told = {"device_kind": "hub", "hub_between": "none", "affected": "one_hub", "other_hub": "cures"}
    assert wiring.advise(services, Case(symptom="dropout", observations=told)).contradictions == ()


@pytest.mark.parametrize("clash", wiring.load_services().rulebook.clashes, ids=lambda clash: str(clash.id))
def test_every_shipped_clash_can_come_up_and_be_mended(services: wiring.Services, clash: Clash) -> None:
    told: dict[str, object] = {}
    for condition in clash.when:
        value = condition.any_of[0]
        name = condition.observation or ""
        told[name] = (told[name], value) if name in told else value
    symptom = services.rulebook.symptoms[0].id
    (found,) = (
        c for c in wiring.advise(services, Case(symptom=symptom, observations=told)).contradictions if c.id == clash.id
    )
    mended = Case(symptom=symptom, observations=told).reconsidered(clash.id, found.question.observation, UNKNOWN)
    assert clash.id not in [c.id for c in wiring.advise(services, mended).contradictions]


def test_clashes_come_up_only_together_with_what_they_are_about(services: wiring.Services) -> None:
    for observation in services.rulebook.observations:
        for value in observation.values:
            told = Facts(symptoms=("dropout",), observations={observation.id: value})
            assert clashing(services.rulebook, told) == (), (observation.id, value)
