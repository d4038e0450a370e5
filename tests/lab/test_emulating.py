"""Portmend against a real kernel and emulated devices: paces as planted, and devices that can't be brought up."""

from __future__ import annotations

from typing import Any

import pytest
from lab import boots
from lab.conftest import Booted
from lab.machine import Results

from wizard import wiring
from wizard.bus.watching import WatchSummary
from wizard.case.documents import Look
from wizard.case.model import Case

pytestmark = [pytest.mark.lab, pytest.mark.slow]

PLANTED_MS = (20, 200, 3000)
LOOK_S = 3.0
"""A look has to end within this (wizard/observe/patience.py)."""


@pytest.fixture(scope="module")
def results(booted: Booted) -> Results:
    return booted("emulating", boots.emulating)


@pytest.fixture(scope="module")
def services() -> wiring.Services:
    return wiring.load_services()


def test_a_steady_1_khz_is_called_steady(results: Results) -> None:
    found = results.json("steady.json")
    assert found["verdict"] == "steady"
    assert found["gaps"] == []
    assert found["reports"] == pytest.approx(4000, rel=0.02)
    assert found["promised_ms"] == 1.0
    assert results.json("steady.how")["code"] == 0


def test_planted_gaps_are_found_with_their_lengths_and_no_others(results: Results) -> None:
    found = results.json("gaps.json")
    assert found["verdict"] == "gaps"
    lengths = [gap["ms"] for gap in found["gaps"]]
    # A gap lasts from the report before it to the one after: the planted silence and one period.
    assert lengths == pytest.approx([ms + 1 for ms in PLANTED_MS], abs=2.0)
    begins = [gap["at_s"] for gap in found["gaps"]]
    assert [late - begins[0] for late in begins] == pytest.approx([0.0, 1.0, 2.0], abs=0.05)
    assert results.json("gaps.how")["code"] == 1


def test_a_device_slower_than_it_promised_is_called_slow(results: Results) -> None:
    found = results.json("slow.json")
    assert found["verdict"] == "slow"
    assert found["observations"]["report_rate"] == "lower"


def test_refused_current_is_a_sign_and_the_first_cause(results: Results, services: wiring.Services) -> None:
    look = Look.model_validate(results.json("look-hungry.json"))
    where = results.text("hungry")
    case = Case(
        symptom="device_missing",
        subject=(where,),
        platform="linux",
        log=results.text("log-hungry.txt"),
        snapshot=look.snapshot,
    )
    assert any(s.kind == "no_bus_power" and s.where == where for s in wiring.look_of(case).signs)
    assert wiring.advise(services, case).causes[0].id == "port_power"


def test_a_device_that_never_answers_delays_no_look(results: Results) -> None:
    how = results.json("look-mute.how")
    assert how["seconds"] < LOOK_S
    assert how["code"] in (0, 1)


def test_watch_tells_what_the_kernel_tries_with_a_device_that_never_answers(results: Results) -> None:
    summary = WatchSummary.model_validate(results.json("watch.json"))
    where = results.text("hungry")  # the same socket
    order = list(dict.fromkeys(e.kind for e in summary.events if e.where == where))
    assert order.index("no_bus_power") < order.index("descriptor_read_failed") < order.index("enumeration_failed")
    assert summary.by_kind["descriptor_read_failed"] >= 4
    assert summary.stands_out


def test_the_signs_of_a_watch_count_in_a_case_as_those_of_a_log_do(results: Results, services: wiring.Services) -> None:
    summary = WatchSummary.model_validate(results.json("watch.json"))
    look = Look.model_validate(results.json("look-mute.json"))
    case = Case(symptom="device_missing", platform="linux", snapshot=look.snapshot)
    watched = wiring.with_watch(case, summary)
    kinds = {sign.kind for sign in wiring.look_of(watched).signs}
    assert {"descriptor_read_failed", "enumeration_failed", "no_bus_power"} <= kinds
    assert _shares(services, watched) != _shares(services, case)


def _shares(services: wiring.Services, case: Case) -> dict[str, Any]:
    return {cause.id: cause.share for cause in wiring.advise(services, case).causes}
