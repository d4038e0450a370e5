"""Evidence added up by hand on the tiny rulebook."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wizard import wiring
from wizard.bus.sign import Sign
from wizard.diagnosis.advice import Finding
from wizard.diagnosis.facts import Facts, gather_facts
from wizard.diagnosis.ranking import both_at_work, rank
from wizard.diagnosis.rulebook import Rulebook
from wizard.diagnosis.texts import Texts


def ranked(tiny: Rulebook, texts: Texts, facts: Facts) -> dict[str, Finding]:
    return {f.id: f for f in rank(tiny, texts, facts)}


def test_without_evidence_shares_follow_the_priors(tiny: Rulebook, tiny_texts: Texts) -> None:
    """5 decibans against 0 and 0: odds of 10 ** 0.5 to 1 to 1 (I. J. Good 1950)."""
    found = ranked(tiny, tiny_texts, gather_facts(("lag",), {}))
    assert found["translator_bandwidth"].share == pytest.approx(10**0.5 / (10**0.5 + 2))


def test_weights_add_and_are_shown_for_and_against(tiny: Rulebook, tiny_texts: Texts) -> None:
    facts = gather_facts(("lag",), {"other_cable": "cures", "when": ["touched_or_moved"]})
    found = ranked(tiny, tiny_texts, facts)
    assert [(e.on, e.weight) for e in found["cable_fault"].for_] == [("other_cable", 18), ("when", 10)]
    assert [(e.on, e.weight) for e in found["translator_bandwidth"].against] == [("other_cable", 5)]
    odds = [10**2.8, 1.0, 10**0.0]
    assert found["cable_fault"].share == pytest.approx(odds[0] / sum(odds))


def test_the_worst_symptom_counts_twice(tiny: Rulebook, tiny_texts: Texts) -> None:
    """cable_fault: (0 + 0 + 5) / 3 decibans; translator: (5 + 5 + 0) / 3."""
    found = ranked(tiny, tiny_texts, gather_facts(("lag", "dropout"), {}))
    cable, translator = 10 ** (5 / 30), 10 ** (10 / 30)
    assert found["cable_fault"].share == pytest.approx(cable / (cable + translator + 1))


def test_an_unknown_answer_changes_nothing(tiny: Rulebook, tiny_texts: Texts) -> None:
    silent = rank(tiny, tiny_texts, gather_facts(("lag",), {}))
    assert rank(tiny, tiny_texts, gather_facts(("lag",), {"other_cable": "unknown", "when": "unknown"})) == silent


def test_a_sign_names_its_place_and_count(tiny: Rulebook, tiny_texts: Texts) -> None:
    signs = (Sign(kind="no_bandwidth", where="1-3.1", count=2),)
    found = ranked(tiny, tiny_texts, gather_facts(("lag",), {}, signs=signs))
    reason = found["translator_bandwidth"].for_[0]
    assert reason.on == "no_bandwidth@1-3.1"
    assert reason.why == "because refused (2 × in the log, at 1-3.1)"


def test_two_troubles_show_when_each_stands_on_its_own_evidence(tiny: Rulebook, tiny_texts: Texts) -> None:
    facts = gather_facts(("lag",), {"when": ["touched_or_moved"], "hub_supply_ma": 500})
    assert both_at_work(rank(tiny, tiny_texts, facts)) == (("cable_fault", "hub_supply"),)
    alone = gather_facts(("lag",), {"when": ["touched_or_moved"]})
    assert both_at_work(rank(tiny, tiny_texts, alone)) == ()


answers = st.fixed_dictionaries(
    {},
    optional={
        "other_cable": st.sampled_from(["cures", "helps", "same", "worse", "unknown", "odd"]),
        "when": st.lists(st.sampled_from(["stream_start", "touched_or_moved", "unknown"]), max_size=3),
        "hub_supply_ma": st.one_of(st.floats(), st.text(), st.integers()),
    },
)


@given(answers, st.lists(st.sampled_from(["lag", "dropout", "never heard of"]), min_size=1, max_size=3))
def test_shares_always_sum_to_one_and_are_in_order(
    tiny: Rulebook, tiny_texts: Texts, told: dict[str, object], symptoms: list[str]
) -> None:
    found = rank(tiny, tiny_texts, gather_facts(tuple(symptoms), told))
    shares = [f.share for f in found]
    assert sum(shares) == pytest.approx(1, abs=1e-9)
    assert shares == sorted(shares, reverse=True)
    assert {f.id for f in found} == {c.id for c in tiny.causes}


@pytest.mark.parametrize(
    ("numbered", "stands_for", "cause"),
    [
        ("windows_problem_28", "driver_failed", "driver_missing"),
        ("windows_problem_22", "not_authorised", "access_denied"),
    ],
)
def test_a_windows_number_says_at_least_as_much_as_the_kind_it_stands_for(
    numbered: str, stands_for: str, cause: str
) -> None:
    """Microsoft, Error codes in Device Manager: 28 'drivers not installed', 22 'device is disabled'."""
    services = wiring.load_services()

    def place(*kinds: str) -> int:
        signs = tuple(Sign(kind=kind, where="1-2") for kind in kinds)
        facts = gather_facts(("device_missing",), {}, signs=signs, platform="windows")
        return [f.id for f in rank(services.rulebook, services.texts, facts)].index(cause)

    assert place(numbered, stands_for) == 0
    assert place(numbered, stands_for) <= place(stands_for)
