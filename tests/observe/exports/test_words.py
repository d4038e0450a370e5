"""Every kind that Windows' or macOS' files can give is said in plain words."""

import tomllib
from pathlib import Path

import pytest

from wizard.bus.sign import KINDS
from wizard.observe.macos.log import _RULES
from wizard.observe.windows.event_kinds import EVENTS
from wizard.observe.windows.problems import CONNECTIONS, DELIBERATE, PROBLEMS

SAID = tomllib.loads((Path(__file__).parents[3] / "resources" / "texts" / "en" / "signs.toml").read_text("utf-8"))[
    "sign"
]
LOGGED_BY_DEFAULT = ("kernel-pnp", "disk", "uaspstor", "partition")
"""The channels of the other providers are off unless somebody turns them on: there the plain kind speaks."""


@pytest.mark.parametrize("number", PROBLEMS)
def test_problem_codes_are_said_with_their_number(number):
    assert f"(code {number})" in SAID[f"windows_problem_{number}"]["words"]


@pytest.mark.parametrize("number", set(CONNECTIONS) - DELIBERATE)
def test_connection_states_are_said(number):
    assert SAID[f"windows_connection_{number}"]["words"]


@pytest.mark.parametrize("provider", LOGGED_BY_DEFAULT)
def test_events_are_said_with_their_number(provider):
    for number in EVENTS[provider]:
        assert "event" in SAID[f"windows_event_{number}"]["words"] or provider == "partition"


def test_words_of_the_macos_log_are_said():
    assert {f"macos_{raw}" for _, raw, _ in _RULES} <= set(SAID)


def test_every_meaning_is_a_kind_of_the_contract():
    told = {kind for meaning in (*PROBLEMS.values(), *CONNECTIONS.values()) for kind in meaning.kinds}
    told |= {kind for events in EVENTS.values() for kinds in events.values() for kind in kinds}
    told |= {kind for _, _, kinds in _RULES for kind in kinds}
    assert told <= KINDS
