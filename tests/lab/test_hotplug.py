"""Watch against a real kernel: nothing that is plugged or pulled is missed, and it is told at once and in order."""

from __future__ import annotations

from typing import Any

import pytest
from lab import boots
from lab.conftest import Booted
from lab.machine import Results

from wizard.observe.watch_linux import RAN_OVER

pytestmark = [pytest.mark.lab, pytest.mark.slow]

SOCKET = "1-1"
AT_ONCE_S = 1.0


@pytest.fixture(scope="module")
def results(booted: Booted) -> Results:
    return booted("hotplug", boots.hotplug)


def told(results: Results, name: str) -> tuple[list[tuple[float, str]], dict[str, Any], int]:
    """Comings and goings at the socket with the time they were told, the summary, the exit code."""
    *lines, end = results.lines(f"{name}.jsonl")
    events = [(line["at"], line["said"]["kind"]) for line in lines[:-1] if line["said"]["where"] == SOCKET]
    return events, lines[-1]["said"], end["code"]


def test_no_plugging_in_500_is_lost_and_each_is_told_in_order_within_a_second(results: Results) -> None:
    done = results.json("plugged.json")
    events, _, _ = told(results, "few")
    assert len(done) == 2 * boots.CYCLES
    assert [kind for _, kind in events[: len(done)]] == [kind for _, kind in done]
    late = [heard - at for (heard, _), (at, _) in zip(events, done, strict=False)]
    assert max(late[: len(done)]) < AT_ONCE_S
    assert min(late) > 0


@pytest.mark.parametrize("name", ["few", "full"])
def test_what_came_too_fast_is_made_up_for_by_looking_again(results: Results, name: str) -> None:
    events, summary, _ = told(results, name)
    kinds = [kind for _, kind in events]
    assert RAN_OVER in summary["notes"]
    assert kinds[-1] == "connect"  # it was plugged in at last, and that was never told by an event that arrived


def test_the_summary_counts_what_was_told_and_a_device_that_comes_and_goes_stands_out(results: Results) -> None:
    events, summary, code = told(results, "few")
    assert summary["schema"] == "portmend/watch/1"
    signs = [sign["count"] for sign in summary["signs"] if sign["where"] == SOCKET]
    listed = [event["count"] for event in summary["events"] if event["where"] == SOCKET]
    assert sum(signs) == sum(listed) >= len(events) > 2 * boots.CYCLES
    assert summary["observations"]["seen_by_system"] == "comes_and_goes"
    assert code == 1


def test_who_may_not_read_the_log_is_told_how_to_open_it_and_who_may_is_not(results: Results) -> None:
    assert any("sysctl kernel.dmesg_restrict" in note for note in told(results, "few")[1]["notes"])
    assert not any("may not be read" in note for note in told(results, "full")[1]["notes"])


def test_the_log_tells_what_the_events_do_not(results: Results) -> None:
    *lines, _ = results.lines("full.jsonl")
    assert any(line["said"].get("by") == "log" for line in lines[:-1])
