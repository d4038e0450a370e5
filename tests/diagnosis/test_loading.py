"""Loading a rulebook: all problems at once, each with file, entry and the nearest right word."""

import tomllib
from pathlib import Path

import pytest

from wizard.bus.errors import RulebookError
from wizard.diagnosis.loading import load_rulebook

RULEBOOKS = Path(__file__).parent.parent / "rulebooks"


def load(name: str) -> object:
    return load_rulebook({name: tomllib.loads((RULEBOOKS / name).read_text())})


def test_the_tiny_rulebook_loads() -> None:
    load("tiny.toml")


def test_a_broken_rulebook_gives_exactly_its_messages() -> None:
    with pytest.raises(RulebookError) as caught:
        load("broken.toml")
    assert caught.value.problems == (
        "broken.toml: unknown list 'cuase' (did you mean 'cause'?)",
        "broken.toml, cause cable_fault: the id is taken already, by broken.toml, cause cable_fault",
        "broken.toml, observation delay_ms, a number has a unit and no values",
        "broken.toml, rule no_such_word, wen: unknown word 'wen' (did you mean 'when'?)",
        "broken.toml, rule says_nothing, a rule speaks for or against at least one cause",
        "broken.toml, rule no_source, source: Field required",
        "broken.toml, clash asks_elsewhere, a clash asks again for one of its own observations",
        "broken.toml, clash no_answers, a clash looks at observations only",
        "broken.toml, cause cable_fault, prior: unknown symptom 'lagg' (did you mean 'lag'?)",
        "broken.toml, rule misspelt: unknown cause 'cable_falt' (did you mean 'cable_fault'?)",
        "broken.toml, rule misspelt, when.0: unknown observation 'other_cabel' (did you mean 'other_cable'?)",
        "broken.toml, rule no_such_value, when.0: 'other_cable' has no value 'curse' (did you mean 'cures'?)",
        "broken.toml, rule no_such_sign, when.0: unknown kind of sign 'no_bandwith' (did you mean 'no_bandwidth'?)",
        "broken.toml, rule no_such_sign, when.1: unknown budget 'port_curent' (did you mean 'port_current'?)",
        "broken.toml, clash misspelt_clash, when.0: 'other_cable' has no value 'curse' (did you mean 'cures'?)",
        "broken.toml, clash misspelt_clash, unless.0: unknown symptom 'lagg' (did you mean 'lag'?)",
    )


@pytest.mark.parametrize(
    ("condition", "message"),
    [
        ({}, "exactly one of observation, ledger, sign, symptom, platform"),
        ({"observation": "when", "ledger": "slots", "state": ["over"]}, "exactly one of"),
        ({"observation": "when"}, "needs any_of, at_least or at_most"),
        ({"observation": "when", "any_of": ["a"], "at_least": 1}, "either any_of or bounds"),
        ({"ledger": "slots"}, "needs state or beyond"),
        ({"ledger": "slots", "state": ["over"], "beyond": "peak"}, "needs state or beyond, one of them"),
        ({"sign": ["reset"], "state": ["over"]}, "state, beyond and place go with ledger only"),
        ({"platform": ["plan9"]}, "Input should be 'windows', 'linux', 'macos' or 'other'"),
        ({"symptom": ["lag"], "at_least": 2}, "at_least and at_most go with observation or sign"),
    ],
)
def test_a_condition_that_makes_no_sense_is_refused(condition: dict[str, object], message: str) -> None:
    rule = {"id": "r", "when": [condition], "speaks_for": {"c": "fair"}, "source": "s"}
    with pytest.raises(RulebookError, match=message):
        load_rulebook({"x.toml": {"rule": [rule]}})


def test_a_list_that_is_no_list_is_refused() -> None:
    with pytest.raises(RulebookError, match=r"write \[\[rule\]\]"):
        load_rulebook({"x.toml": {"rule": {"id": "r"}}})


def test_a_clash_can_only_ask_what_can_be_asked() -> None:
    seen = {"id": "seen", "kind": "choice", "values": ["a", "b"], "how": "measure", "effort_min": 1}
    when = [{"observation": "seen", "any_of": [value]} for value in ("a", "b")]
    clash = {"id": "c", "when": when, "ask": "seen", "source": "s"}
    with pytest.raises(RulebookError, match="clash c, ask: 'seen' is measured and can't be asked again"):
        load_rulebook({"x.toml": {"observation": [seen], "clash": [clash]}})
