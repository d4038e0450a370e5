"""Set-ups described by hand, from the window's side: begun, filled, taken back, and gone on with from a case."""

import pytest

from wizard import wiring
from wizard.bus.errors import BadInputError
from wizard.case.model import Case


@pytest.fixture(scope="module")
def services() -> wiring.Services:
    return wiring.load_services()


def test_a_described_set_up_becomes_a_look_that_says_so(services: wiring.Services) -> None:
    at = wiring.plug_kind(services, wiring.describe([wiring.Host(usb2=1)]), "1-1", "camera_720")
    look = wiring.look_described(at)
    assert look.notes == (
        "This set-up was described by hand. Its devices are typical ones, and all their figures are assumed",
    )
    assert {e.basis for e in look.ledger if e.where == "1-1"} == {"assumed"}
    assert next(d.name for d in look.snapshot.devices if d.id == "1-1") == "Camera, 1280 × 720, compressed"


def test_one_goes_on_with_the_set_up_of_a_case_and_not_with_a_bus_that_was_seen(services: wiring.Services) -> None:
    at = wiring.describe([wiring.Host(usb2=1)], os="windows")
    assert wiring.described_of(Case(symptom="lag", snapshot=at.snapshot, setup=at.setup)) == at
    assert wiring.described_of(Case(symptom="lag")) is None
    demo = wiring.demo_case(wiring.load_demo(wiring.demo_names()[0]))
    assert wiring.described_of(demo) is None


def test_an_own_name_stands_for_the_name_of_the_kind(services: wiring.Services) -> None:
    at = wiring.plug_kind(services, wiring.describe([wiring.Host(usb2=1)]), "1-1", "mouse", "Left mouse")
    assert [d.name for d in at.snapshot.devices if not d.root] == ["Left mouse"]


def test_a_kind_that_is_not_there_is_refused(services: wiring.Services) -> None:
    with pytest.raises(BadInputError, match="no such kind"):
        wiring.plug_kind(services, wiring.describe([wiring.Host(usb2=1)]), "1-1", "teapot")
