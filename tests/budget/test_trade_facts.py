"""What the trade goes by, against the ledger. Each test opens with the mark of its fact: where it comes from.

`Arithmetic`, `Field values` and `Published` facts have figures that can be checked; `Common practice (no source)`
is what many do and nobody has written down, so the ledger must be able to show it, or why it does not hold.
"""

from typing import Any

import pytest
from builders import controller, device, hub, interrupt, iso, root, snapshot

from wizard.budget.endpoints import endpoints_greatest
from wizard.budget.entry import Entry
from wizard.budget.fit import Fitted, does_it_fit
from wizard.budget.ledger import build_ledger
from wizard.budget.limits import ENDPOINTS_PER_SLOT, FULL_LOAD_MA, FULL_LOAD_SUPER_MA, SLOT_BRACKET
from wizard.budget.setup import Cable, Setup
from wizard.budget.what_if import Add, Bench, Move
from wizard.bus.model import MBPS, Device, Endpoint, Pci, Snapshot, Socket, Speed

MARKS = ("Arithmetic: ", "Field values: ", "Published: ", "Common practice (no source): ")


def sockets(hub_id: str, prefix: str, ports: int, **more: Any) -> list[Socket]:
    return [Socket(id=f"{prefix}{i}", hub=hub_id, **more) for i in range(1, ports + 1)]


def entry(found: tuple[Entry, ...], budget: str, where: str) -> Entry:
    return next(e for e in found if (e.budget, e.where) == (budget, where))


def ledger(*parts: Any, **told: Any) -> tuple[Entry, ...]:
    return build_ledger(snapshot(controller(), root(), root(2, "super"), *parts), Setup(**told))


def fitting(bench: Bench, one: Device) -> Fitted:
    """How many more fit; no limit is open in these cases, so that both ends agree."""
    found = does_it_fit(bench, lambda socket: Add(one, socket))
    assert found.certain.count == found.perhaps.count
    return found.certain


# --- current -------------------------------------------------------------------------------------------------------

SEVEN_SOCKETS: tuple[Device | Socket, ...] = (hub("1-1", ports=7), *sockets("1-1", "1-1.", 7))
TWO_AMPERES = Setup(supplies_ma={"1-1": 2000})


def test_seven_sockets_on_two_amperes_are_four_at_full_load() -> None:
    """Arithmetic: 2000 / 500."""
    bench = Bench.of(snapshot(controller(), root(), *SEVEN_SOCKETS), TWO_AMPERES)
    found = fitting(bench, device("x", "high", int(FULL_LOAD_MA.value)))
    assert (found.count, [e.budget for e in found.blocked_by]) == (4, ["hub_supply"])


@pytest.mark.parametrize(("each", "state"), [(285, "tight"), (286, "over")])
def test_seven_sockets_on_two_amperes_are_285_milliamperes_each(each: int, state: str) -> None:
    """Arithmetic: 2000 / 7 = 285.7."""
    devices = [device(f"1-1.{i}", "high", each) for i in range(1, 8)]
    assert entry(ledger(*SEVEN_SOCKETS, *devices, supplies_ma={"1-1": 2000}), "hub_supply", "1-1").state == state


def test_a_hub_with_more_sockets_than_its_supply_can_feed_shows_it_while_empty() -> None:
    """Arithmetic: 7 × 500 = 3500, more than 2000."""
    empty = entry(ledger(*SEVEN_SOCKETS, supplies_ma={"1-1": 2000}), "hub_supply", "1-1")
    assert (empty.used, empty.limit, empty.if_full) == (0, 2000, 3500)
    assert empty.finding == (
        "Its 7 sockets may ask for 3500 mA together, and its supply gives 2000 mA: "
        "enough for 4 of them at 500 mA, or 285 mA each"
    )


def test_currents_of_a_group_of_sockets_add_up() -> None:
    """Common practice (no source): small hosts feed all sockets from one feed of 0.6 to 1.2 A."""
    plugged = [device(f"1-{i}", "high", 400) for i in (1, 2, 3)]
    rear = sockets("usb1", "1-", 4, group="rear")
    found = ledger(*rear, *plugged, group_ma={"rear": 1000})
    assert (entry(found, "group_current", "rear").used, entry(found, "group_current", "rear").state) == (1200, "over")
    assert {entry(found, "port_current", d.id).state for d in plugged} == {"tight"}


def test_a_hub_that_calls_itself_bus_powered_gets_500_milliamperes() -> None:
    """Common practice (no source): whatever is plugged in besides, with 100 mA a socket; later ones don't come up."""
    parts: tuple[Device | Socket, ...] = (hub("1-1", self_powered=False), *sockets("1-1", "1-1.", 4))
    bench = Bench.of(snapshot(controller(), root(), *parts))
    assert fitting(bench, device("x", "high", 100)).count == 4
    hungry = fitting(bench, device("x", "high", 200))
    assert (hungry.count, [e.budget for e in hungry.blocked_by]) == (0, ["port_current"])


def test_published_rates_and_currents_of_the_two_generations() -> None:
    """Published: 480 Mbit/s against 5 Gbit/s, 500 mA against 900 mA (USB 2.0 and USB 3.2 specifications)."""
    assert (MBPS["high"], MBPS["super"]) == (480, 5000)
    assert (FULL_LOAD_MA.value, FULL_LOAD_SUPER_MA.value) == (500, 900)


# --- endpoints and slots -----------------------------------------------------------------------------------------

CUE_DESK: tuple[Device, ...] = (
    # Invented: four hubs of two endpoints and 24 controls of three, 80 endpoints in all.
    *(hub(f"1-{h}", ports=7, interfaces=device("x", "high", 0, interrupt(1)).interfaces) for h in range(1, 5)),
    *(device(f"1-{h}.{i}", "full", 98, interrupt(), interrupt(address=0x02)) for h in range(1, 5) for i in range(1, 7)),
)


@pytest.mark.parametrize(("limit", "state", "left"), [(64, "over", -16), (96, "tight", 16), (254, "room", 174)])
def test_the_same_devices_are_too_many_or_fit_by_the_controller(limit: int, state: str, left: int) -> None:
    """Field values: 64 on an older chipset, 96 on many controllers, 254 on later ones."""
    found = entry(ledger(*CUE_DESK, endpoint_limit={"0000:00:14.0": limit}), "endpoints", "0000:00:14.0")
    assert (found.used, found.limit, found.state, found.left) == (80, limit, state, left)


def test_without_a_known_limit_the_verdict_is_open_and_one_answer_settles_it() -> None:
    """Field values: over at the lowest, room at the highest, so neither is claimed."""
    found = entry(ledger(*CUE_DESK), "endpoints", "0000:00:14.0")
    assert (found.used, found.limit, found.bracket) == (80, None, (64, 254))
    assert (found.state, found.settles) == ("unknown", "controller_kind")


def test_the_older_chipset_is_known_by_its_pci_code() -> None:
    """Field values: 64, which Linux enforces for it (drivers/usb/host/xhci-pci.c, confirmed)."""
    old = controller(pci=Pci(vendor="8086", device="1e31"))
    found = entry(build_ledger(snapshot(old, root(), *CUE_DESK)), "endpoints", old.id)
    assert (found.limit, found.state) == (64, "over")


def test_hubs_take_endpoints_too() -> None:
    """Common practice (no source): hub chips eat endpoints. Each half of a USB 3 hub takes its own."""
    status = device("x", "high", 0, interrupt(1)).interfaces
    halves = (hub("1-1", interfaces=status), hub("2-1", "super", interfaces=status))
    assert entry(ledger(*halves), "endpoints", "0000:00:14.0").used == 2 * 2


def test_hubs_take_slots_too() -> None:
    """Common practice (no source): 'max number of devices is 32' counts hub chips; only another controller helps."""
    desk = snapshot(
        controller(slot_limit=32),
        root(ports=8),
        *(hub(f"1-{h}", ports=7) for h in range(1, 5)),
        *(device(f"1-{h}.{i}") for h in range(1, 5) for i in range(1, 8)),
        *sockets("usb1", "1-", 8),
    )
    assert entry(build_ledger(desk), "slots", "0000:00:14.0").left == 0
    blocked = fitting(Bench.of(desk), device("x"))
    assert (blocked.count, [e.budget for e in blocked.blocked_by]) == (0, ["slots"])


def test_the_ceiling_of_a_controller_is_7905_and_not_the_quoted_7906() -> None:
    """Arithmetic: 255 slots of 31 endpoints; 7,906 is often quoted, and one too many."""
    quoted = 7906
    assert SLOT_BRACKET[1] * ENDPOINTS_PER_SLOT == 255 * 31 == 7905 == quoted - 1


@pytest.mark.parametrize("speed", ["high", "super"])
@pytest.mark.parametrize("endpoints", [16, 17, 30])
def test_sixteen_and_thirty_two_endpoints_are_no_limit(speed: Speed, endpoints: int) -> None:
    """Common practice (no source): 'a USB 3 socket has 16 endpoints, a USB 2 device 32'.

    The standard has 31 for each device whatever the generation (xHCI, row xhci-eps): with the control endpoint such
    a device has 17, 18 or 31, and no budget speaks against it.
    """
    addresses = [*range(0x81, 0x90), *range(0x01, 0x10)][:endpoints]
    every = [Endpoint(address=a, type="bulk", max_packet=512) for a in addresses]
    where = "1-1" if speed == "high" else "2-1"
    plugged = device(where, speed, 100, *every)
    found = ledger(plugged)
    assert endpoints_greatest(plugged) == endpoints + 1 <= ENDPOINTS_PER_SLOT
    assert {e.state for e in found if e.budget in ("endpoints", "slots", "port_current")} == {"room"}
    limits = {limit for e in found if e.budget == "endpoints" for limit in (e.limit, *(e.bracket or ()))}
    assert limits == {None, 64, 254}


# --- bus time ------------------------------------------------------------------------------------------------------


def camera(identifier: str, size: int = 1024, packets: int = 3) -> Device:
    return device(identifier, "high", 400, iso(size, 125, transactions=packets))


def pier(*plugged: Device) -> Snapshot:
    """Two controllers with four USB 3 sockets each."""
    halves: list[Socket] = []
    for slow, fast in ((1, 2), (3, 4)):
        for port in range(1, 5):
            halves.append(Socket(id=f"{slow}-{port}", hub=f"usb{slow}", peer=f"{fast}-{port}"))
            halves.append(Socket(id=f"{fast}-{port}", hub=f"usb{fast}", peer=f"{slow}-{port}"))
    second = "0000:03:00.0"
    roots = (root(1), root(2, "super"), root(3, parent=second), root(4, "super", parent=second))
    return snapshot(controller(), controller(second), *roots, *halves, *plugged)


def test_each_works_alone_and_whichever_comes_second_fails() -> None:
    """Common practice (no source): a reservation that does not fit."""
    bench = Bench.of(pier())
    for first, second in (("1-1", "1-2"), ("1-2", "1-1")):
        one = bench.tried(Add(camera("x"), first))
        both = one.tried(Add(camera("x"), second))
        assert entry(one.ledger, "periodic_time", "usb1").state == "room"
        assert entry(both.ledger, "periodic_time", "usb1").state == "over"


def test_usb_3_sockets_do_not_help_usb_2_devices() -> None:
    """Common practice (no source): a USB 3 socket's 480 Mbit/s side is still the same bus."""
    after = Bench.of(pier(camera("1-1"))).tried(Add(camera("x"), "2-2"))
    assert entry(after.ledger, "periodic_time", "usb1").state == "over"
    assert "1-2" in after.tree.devices
    assert not [e for e in after.ledger if e.budget == "link_rate"]


def test_cameras_are_spread_over_controllers_and_not_over_sockets() -> None:
    """Common practice (no source): another socket of the same controller changes nothing."""
    both = Bench.of(pier(camera("1-1"), camera("1-2")))
    another_socket, another_controller = both.tried(Move("1-2", "1-4")), both.tried(Move("1-2", "3-1"))
    over = entry(both.ledger, "periodic_time", "usb1")
    assert entry(another_socket.ledger, "periodic_time", "usb1").used == over.used
    assert entry(another_controller.ledger, "periodic_time", "usb1").state == "room"
    assert entry(another_controller.ledger, "periodic_time", "usb3").state == "room"


def test_a_smaller_picture_makes_room() -> None:
    """Common practice (no source): lower the rate, the size or the format."""
    smaller = Bench.of(pier(camera("1-1", packets=1), camera("1-2", packets=1)))
    assert entry(smaller.ledger, "periodic_time", "usb1").state == "room"


@pytest.mark.parametrize(("mode", "state"), [("single", "over"), ("multi", "room")])
def test_sound_interfaces_on_one_hub_share_a_single_translator(mode: str, state: str) -> None:
    """Common practice (no source): 12 Mbit/s for all, or for each socket."""
    sound = [device(f"1-1.{i}", "full", 100, iso(388)) for i in (1, 2, 3)]
    found = ledger(hub("1-1", translator=mode), *sound)
    assert {e.state for e in found if e.budget == "periodic_time" and "/" in e.where} == {state}


# --- reach -----------------------------------------------------------------------------------------------------------


def test_a_hub_of_seven_sockets_counts_as_two() -> None:
    """Common practice (no source): it is a chain of chips with four sockets; count tiers by chips."""
    big = (hub("1-1"), hub("1-1.4"), hub("1-1.4.4"), hub("1-1.4.4.4"))
    assert entry(ledger(*big), "hub_depth", "1-1").used == 2 * 2


@pytest.mark.parametrize(("metres", "state"), [(2.0, "room"), (3.0, "tight"), (3.5, "over")])
def test_three_metres_are_the_end_for_superspeed(metres: float, state: str) -> None:
    """Common practice (no source): about 3 m, extensions included, is already too long for SuperSpeed cameras."""
    found = ledger(device("2-1", "super", 300), cables={"2-1": Cable(m=metres)})
    assert entry(found, "cable", "2-1").state == state


def test_every_fact_has_its_mark() -> None:
    facts = {name: test for name, test in globals().items() if name.startswith("test_") and name != MARKED}
    assert [name for name, test in facts.items() if not (test.__doc__ or "").startswith(MARKS)] == []


MARKED = test_every_fact_has_its_mark.__name__
