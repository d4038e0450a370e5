"""Portmend against a real kernel whose controller has run out of slots."""

from __future__ import annotations

import pytest
from lab import boots
from lab.conftest import Booted
from lab.machine import Results

from wizard import wiring
from wizard.case.documents import Look
from wizard.case.model import Case

pytestmark = [pytest.mark.lab, pytest.mark.slow]


@pytest.fixture(scope="module")
def results(booted: Booted) -> Results:
    return booted("crowd", boots.crowd())


def test_every_slot_is_counted_and_so_are_the_refusals(results: Results) -> None:
    look = Look.model_validate(results.json("look.json"))
    (entry,) = [e for e in look.ledger if e.budget == "slots"]
    assert (entry.used, entry.limit, entry.basis, entry.limit_basis) == (
        boots.SLOTS,
        boots.SLOTS,
        "measured",
        "measured",
    )
    signs = wiring.read_signs(results.text("log.txt"), look.snapshot)
    refused = sum(sign.count for sign in signs if sign.kind == "no_slots")
    assert refused >= boots.REFUSED


def test_the_first_cause_is_the_controllers_limit(results: Results) -> None:
    look = Look.model_validate(results.json("look.json"))
    case = Case(symptom="device_missing", platform="linux", log=results.text("log.txt"), snapshot=look.snapshot)
    assert wiring.advise(wiring.load_services(), case).causes[0].id == "controller_limit"
