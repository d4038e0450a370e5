"""Section 4 of the published values: slots and endpoints of host controllers."""

import re
from typing import Literal

from builders import controller, device, interrupt, iso, root, snapshot
from published import Row, numbers, published

from wizard.budget.endpoints import endpoints_greatest
from wizard.budget.entry import Entry
from wizard.budget.ledger import build_ledger
from wizard.budget.limits import ENDPOINT_BRACKET, ENDPOINTS_PER_SLOT, SLOT_BRACKET
from wizard.budget.setup import Setup
from wizard.bus.model import Alternate, Controller, ControllerKind, Interface, Pci
from wizard.observe.sysfs.controllers import RawController, make_controller


def entry(budget: str, of: Controller, devices: int = 0, setup: Setup | None = None) -> Entry:
    """A budget of a controller with so many devices of two endpoints beside the control endpoint."""
    below = [device(f"1-{i}", "full", 100, interrupt(), interrupt(address=0x02)) for i in range(1, devices + 1)]
    found = build_ledger(snapshot(of, root(ports=99), *below), setup)
    return next(e for e in found if e.budget == budget)


@published("xhci-slots")
def test_the_most_slots_a_controller_can_report(row: Row) -> None:
    bracket = entry("slots", controller()).bracket
    assert bracket is not None
    assert bracket[1] == row.value[1]


@published("xhci-hcs1")
def test_slots_stand_in_their_bits_of_the_register(row: Row) -> None:
    """The layout stands in the name of the row; all other bits are set."""
    found = re.search(r"slots (\d+):(\d+)", row.name)
    assert found is not None
    high, low = int(found[1]), int(found[2])
    others = 0xFFFFFFFF & ~((1 << high + 1) - (1 << low))
    for slots in (1, 32, 255):
        text = f"CAPLENGTH = 0x01000020\nHCSPARAMS1 = 0x{others | slots << low:08x}\n".encode()
        raw = RawController("0000:00:14.0", "", late={"reg-cap": text}, driver="xhci_hcd")
        assert make_controller(raw, "")[0].slot_limit == slots


@published("xhci-eps")
def test_endpoints_of_one_slot(row: Row) -> None:
    """The greatest device the standard allows: fifteen endpoints each way and the control endpoint."""
    every = tuple(interrupt(address=way | n) for way in (0x00, 0x80) for n in range(1, 16))
    greatest = device("1-1", interfaces=(Interface(number=0, alternates=(Alternate(number=0, endpoints=every),)),))
    assert endpoints_greatest(greatest) == ENDPOINTS_PER_SLOT == row.value


@published("xhci-total")
def test_endpoints_of_all_slots(row: Row) -> None:
    assert SLOT_BRACKET[1] * ENDPOINTS_PER_SLOT == row.value


@published("vl805-slots")
def test_slots_of_a_controller_whose_datasheet_says(row: Row) -> None:
    found = re.fullmatch(r"(\w+)h = (\d+)", row.value[0])
    assert found is not None
    assert int(found[1], 16) == int(found[2])
    slots = entry("slots", controller(pci=Pci(vendor="1106", device="3483")))
    assert (slots.limit, slots.limit_basis, SLOT_BRACKET[0]) == (int(found[2]), "declared", int(found[2]))
    (promised,) = numbers(row.value[1])
    full, beyond = (
        entry("slots", controller(pci=Pci(vendor="1106", device="3483")), int(promised) + more) for more in (0, 1)
    )
    assert full.finding is None
    assert beyond.finding is not None
    assert f"{promised + 1:g} of {promised:g}" in beyond.finding


@published("older-ppt-64")
def test_endpoints_of_the_older_chipset_that_linux_caps(row: Row) -> None:
    capped = controller(pci=Pci(vendor="8086", device="1e31"))
    assert entry("endpoints", capped).limit == row.value == ENDPOINT_BRACKET[0]


@published("v254")
def test_endpoints_of_later_controllers(row: Row) -> None:
    bracket = entry("endpoints", controller()).bracket
    assert bracket is not None
    assert bracket[1] == row.value[0]


@published("older-96")
def test_a_value_between_the_ends_is_kept_with_its_source(row: Row) -> None:
    found = entry("endpoints", controller())
    assert found.between == (row.value,)
    assert f"{row.value} on many (a silicon vendor's article, confirmed)" in found.source


@published("older-96", "v254")
def test_what_the_user_tells_of_the_controller_narrows_the_bracket(row: Row) -> None:
    """An older one keeps 64 or 96, a later one 96 to 254."""
    age: Literal["old", "recent"] = "old" if row.id == "older-96" else "recent"
    bracket = entry("endpoints", controller(), setup=Setup(controller_age={"0000:00:14.0": age})).bracket
    assert bracket is not None
    assert bracket[1] == (row.value if age == "old" else row.value[0])


@published("older-96b")
def test_devices_of_three_endpoints_that_fit(row: Row) -> None:
    """32 of them, says the note of the row."""
    fits = int(numbers(row.note)[1])
    full = entry("endpoints", controller(endpoint_limit=row.value), fits)
    assert (full.left, full.state) == (0, "tight")
    assert entry("endpoints", controller(endpoint_limit=row.value), fits + 1).state == "over"


@published("xhci-domains")
def test_a_bus_that_is_overdrawn_tells_what_its_fullest_socket_takes_alone(row: Row) -> None:
    """The rule stands in the name of the row."""
    assert "each HS root port 1" in row.name
    cameras = [device(f"1-{i}", "high", 500, iso(1024, 125, transactions=2)) for i in (1, 2, 3)]

    def bus(kind: ControllerKind) -> Entry:
        seen = snapshot(controller(kind=kind), root(), *cameras)
        return next(e for e in build_ledger(seen) if (e.budget, e.where) == ("periodic_time", "usb1"))

    found = bus("xhci")
    assert found.state == "over"
    assert found.note is not None
    assert f"the fullest is 1-1 with {(found.used or 0) / 3:g} of 100 us/microframe" in found.note
    assert bus("ehci").note is None
