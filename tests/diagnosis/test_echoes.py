"""An answer and the log line it was read from are one fact: it counts once."""

from __future__ import annotations

from typing import Any

import pytest

from wizard import wiring
from wizard.bus.sign import Sign
from wizard.diagnosis.echoes import counted, heard
from wizard.diagnosis.facts import Facts, gather_facts
from wizard.diagnosis.lint import lint_rulebook
from wizard.diagnosis.ranking import added_up, rank, weigh
from wizard.diagnosis.rulebook import Rule, Rulebook
from wizard.diagnosis.texts import Texts

SAYS: list[dict[str, Any]] = [{"observation": "x", "any_of": ["y"]}]


def rule(name: str, fact: str | None, speaks_for: dict[str, str], speaks_against: dict[str, str]) -> Rule:
    return Rule.model_validate(
        {
            "id": name,
            "fact": fact,
            "when": SAYS,
            "speaks_for": speaks_for,
            "speaks_against": speaks_against,
            "source": "made up for tests",
        }
    )


def added(*weighed: tuple[Rule, float]) -> dict[str, float]:
    totals: dict[str, float] = {}
    for _, weights in counted(weighed):
        for cause, weight in weights.items():
            totals[cause] = totals.get(cause, 0.0) + weight
    return totals


def scores(book: Rulebook, facts: Facts) -> dict[str, float]:
    return added_up(book, facts, weigh(book, facts))


def test_of_rules_that_see_one_fact_the_weightiest_counts_for_each_cause() -> None:
    told = rule("told", "f", {"a": "strong", "b": "hint"}, {"c": "fair"})
    logged = rule("logged", "f", {"a": "fair", "b": "fair"}, {"c": "fair"})
    assert added((told, 1.0), (logged, 1.0)) == {"a": 10, "b": 5, "c": -5}


def test_rules_without_a_fact_in_common_add_up() -> None:
    one, other = rule("one", None, {"a": "strong"}, {}), rule("other", "f", {"a": "fair"}, {})
    assert added((one, 1.0), (other, 1.0)) == {"a": 15}


def test_a_doubted_rule_gives_way_to_one_that_is_trusted() -> None:
    told, logged = rule("told", "f", {"a": "strong"}, {}), rule("logged", "f", {"a": "strong"}, {})
    assert added((told, 0.5), (logged, 1.0)) == {"a": 10}


def test_only_rules_with_a_fact_are_heard() -> None:
    assert heard([(rule("one", None, {"a": "hint"}, {}), 1.0), (rule("other", "f", {"a": "hint"}, {}), 1.0)]) == {"f"}


@pytest.fixture(scope="module")
def services() -> wiring.Services:
    return wiring.load_services()


def known(message: str | None, kind: str | None) -> Facts:
    signs = () if kind is None else (Sign(kind=kind, where="1-2", count=1),)
    return gather_facts(("dropout",), {} if message is None else {"message": message}, signs=signs)


@pytest.mark.parametrize(
    ("message", "kind", "cause"),
    [
        ("no_space", "stream_no_space", "periodic_bandwidth"),
        ("no_bandwidth", "no_bandwidth", "periodic_bandwidth"),
        ("no_resources", "no_controller_resources", "endpoint_limit"),
        ("power_surge", "over_current", "over_current"),
        ("under_voltage", "under_voltage", "port_power"),
        ("descriptor_failed", "descriptor_read_failed", "cable_fault"),
        ("access_denied", "access_refused", "access_denied"),
        ("slower_than_could", "slower_than_could", "speed_mismatch"),
        ("io_error", "storage_io_error", "device_fault"),
    ],
)
def test_a_message_and_its_own_line_in_the_log_count_once(
    services: wiring.Services, message: str, kind: str, cause: str
) -> None:
    book = services.rulebook
    both = scores(book, known(message, kind))[cause]
    assert both == pytest.approx(max(scores(book, known(message, None))[cause], scores(book, known(None, kind))[cause]))


def test_the_reasons_shown_still_sum_to_what_counted(services: wiring.Services) -> None:
    book, facts = services.rulebook, known("no_space", "stream_no_space")
    prior = scores(book, known(None, None))
    for finding in rank(book, services.texts, facts):
        shown = sum(e.weight for e in finding.for_) - sum(e.weight for e in finding.against)
        assert shown == pytest.approx(scores(book, facts)[finding.id] - prior[finding.id])


def test_a_fact_that_one_rule_alone_names_is_a_gap(tiny: Rulebook, tiny_texts: Texts) -> None:
    lonely = tiny.rules[0].model_copy(update={"fact": "misspelt"})
    book = tiny.model_copy(update={"rules": (lonely, *tiny.rules[1:])})
    assert f"rule {lonely.id}" in [problem.place for problem in lint_rulebook(book, tiny_texts)]
