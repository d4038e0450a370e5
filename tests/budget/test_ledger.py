"""The ledger by the published rules: current, bus time, endpoints, slots and depth, known and unknown."""

from typing import Any

import pytest
from builders import controller, device, hub, interrupt, iso, root, snapshot
from hypothesis import given
from hypothesis import strategies as st

from wizard.budget.entry import Entry, state_of
from wizard.budget.ledger import build_ledger
from wizard.budget.setup import Setup
from wizard.bus.model import Alternate, Device, Interface, Pci, Snapshot, Unreadable


def entry(found: tuple[Entry, ...], budget: str, where: str) -> Entry:
    return next(e for e in found if e.budget == budget and e.where == where)


def ledger(*parts: Any, **told: Any) -> tuple[Entry, ...]:
    return build_ledger(snapshot(controller(), root(), *parts), Setup(**told))


# --- current: USB 2.0 §7.2.1, USB 3.2 §11.4.5 ---------------------------------------------------------------


def test_a_socket_of_the_pc_feeds_five_unit_loads() -> None:
    found = entry(ledger(device("1-1", "high", 500)), "port_current", "1-1")
    assert (found.used, found.limit, found.state) == (500, 500, "tight")


def test_a_superspeed_socket_feeds_900_ma() -> None:
    found = build_ledger(snapshot(controller(), root(2, "super"), device("2-1", "super", 896)))
    assert entry(found, "port_current", "2-1").limit == 900


def test_a_bus_powered_hub_passes_on_what_hangs_below_it() -> None:
    found = ledger(hub("1-1", self_powered=False), device("1-1.1", "full", 98), device("1-1.2", "full", 98))
    assert entry(found, "port_current", "1-1").used == 100 + 98 + 98


def test_a_self_powered_hub_draws_only_for_itself() -> None:
    found = ledger(hub("1-1", self_powered=True, ma=2), device("1-1.1", "full", 500))
    assert entry(found, "port_current", "1-1").used == 2


def test_a_socket_of_a_bus_powered_hub_feeds_one_unit_load() -> None:
    found = entry(ledger(hub("1-1", self_powered=False), device("1-1.1", "full", 500)), "port_current", "1-1.1")
    assert (found.limit, found.state) == (100, "over")


def test_what_a_bus_powered_hub_declares_beyond_a_unit_load_stands_for_its_sockets() -> None:
    found = ledger(hub("1-1", self_powered=False, ma=500), device("1-1.1", "full", 98))
    assert entry(found, "port_current", "1-1").used == 500


def test_current_is_unknown_where_one_part_of_it_is() -> None:
    found = ledger(hub("1-1", self_powered=False), device("1-1.1", "full", None))
    assert entry(found, "port_current", "1-1").used is None
    assert entry(found, "port_current", "1-1").state == "unknown"


def test_limit_is_bracketed_where_the_hub_above_does_not_say_how_it_is_fed() -> None:
    found = entry(ledger(hub("1-1", self_powered=None), device("1-1.1", "full", 300)), "port_current", "1-1.1")
    assert (found.limit, found.bracket, found.state, found.settles) == (None, (100, 500), "unknown", "hub_power")


def test_hub_supply_of_a_self_powered_hub_is_unknown_until_told() -> None:
    parts = (hub("1-1"), *(device(f"1-1.{i}", "high", 500) for i in range(1, 5)))
    untold = entry(ledger(*parts), "hub_supply", "1-1")
    assert (untold.used, untold.limit, untold.state, untold.settles) == (2000, None, "unknown", "hub_supply_ma")
    told = entry(ledger(*parts, supplies_ma={"1-1": 1000}), "hub_supply", "1-1")
    assert (told.limit, told.state, told.left) == (1000, "over", -1000)


def test_seven_sockets_could_ask_more_than_a_two_ampere_supply_gives() -> None:
    found = entry(ledger(hub("1-1", ports=7), supplies_ma={"1-1": 2000}), "hub_supply", "1-1")
    assert found.if_full == 3500


def test_a_bus_powered_hub_supplies_its_allowance_less_its_own_draw() -> None:
    found = entry(ledger(hub("1-1", self_powered=False), device("1-1.1", "full", 98)), "hub_supply", "1-1")
    assert (found.used, found.limit) == (98, 400)


# --- bus time: USB 2.0 §5.11.3, §11.18 ------------------------------------------------------------------------


def test_full_speed_devices_below_a_single_translator_hub_share_one_frame() -> None:
    """Two 1023-byte streams: 806,166 ns each (row bt-lx-fs-in-iso-1023), so twice that in every frame."""
    parts = (hub("1-1"), device("1-1.1", "full", 100, iso(1023)), device("1-1.2", "full", 100, iso(1023)))
    found = entry(ledger(*parts), "periodic_time", "1-1/tt")
    assert (found.used, found.limit, found.state) == (2 * 806.166, 900, "over")


def test_each_socket_of_a_multi_translator_hub_has_a_frame_of_its_own() -> None:
    parts = (
        hub("1-1", translator="multi"),
        device("1-1.1", "full", 100, iso(1023)),
        device("1-1.2", "full", 100, iso(1023)),
    )
    found = ledger(*parts)
    assert entry(found, "periodic_time", "1-1/tt1").used == 806.166
    assert entry(found, "periodic_time", "1-1/tt2").used == 806.166


def test_a_full_speed_device_straight_on_an_xhci_socket_has_a_translator_of_its_own() -> None:
    found = ledger(device("1-3", "full", 100, interrupt(64, 1000)))
    assert entry(found, "periodic_time", "usb1/tt3").used == 60.239  # row bt-lx-fs-in-non-64
    assert entry(found, "periodic_time", "usb1").used == 0


def test_a_translated_endpoint_also_costs_splits_on_the_high_speed_bus() -> None:
    found = entry(ledger(hub("1-1"), device("1-1.1", "full", 100, interrupt(64, 1000))), "periodic_time", "usb1")
    assert found.unit == "us/microframe"
    assert found.used is not None
    assert 0 < found.used < 100


def test_high_speed_time_is_counted_per_microframe_against_eighty_per_cent() -> None:
    found = entry(ledger(device("1-1", "high", 100, iso(1024, 125, transactions=3))), "periodic_time", "usb1")
    assert (found.used, found.limit) == (pytest.approx(3 * 20.552), 100)  # row bt-lx-hs-in-iso-1024, paid three times


def test_full_and_low_speed_share_the_frame_of_a_uhci_bus() -> None:
    parts = (
        controller("0000:00:1d.0", "uhci"),
        root(1, "full", "0000:00:1d.0"),
        device("1-1", "low", 100, interrupt(8, 10_000)),
        device("1-2", "full", 100, interrupt(64, 1000)),
    )
    found = entry(build_ledger(snapshot(*parts)), "periodic_time_active", "usb1")
    assert found.used == 117.897 + 60.239  # rows bt-lx-ls-in-non-8 and bt-lx-fs-in-non-64
    assert found.mean_frame_us == 118 / 8 + 61  # booked as floor + 1; 10 ms is polled every 8


def test_greatest_settings_are_told_from_those_in_use() -> None:
    silent = Alternate(number=0)
    loud = Alternate(number=1, endpoints=(iso(192),))
    camera = device("1-1", "full", interfaces=(Interface(number=1, active_alternate=0, alternates=(silent, loud)),))
    found = ledger(camera)
    assert entry(found, "periodic_time", "usb1/tt1").used == 158.23  # row bt-lx-fs-in-iso-192
    assert entry(found, "periodic_time_active", "usb1/tt1").used == 0


def test_a_device_with_unreadable_descriptors_makes_its_bus_unknown() -> None:
    mute = Device(
        id="1-1",
        parent="usb1",
        speed="high",
        unreadable=(Unreadable(where="1-1/descriptors", reason="garbled"),),
    )
    assert entry(ledger(mute), "periodic_time", "usb1").state == "unknown"


@pytest.mark.parametrize("speed", ["super", None])
def test_a_root_hub_that_stands_for_both_sides_of_a_controller_has_a_usb_2_bus(speed: Any) -> None:
    """So some systems list them: one root hub, at SuperSpeed, with slower devices on it."""
    both = root(1, "super").model_copy(update={"speed": speed})
    stream = device("1-4.1", "full", 100, iso(1023))
    found = build_ledger(snapshot(controller(), both, hub("1-4"), stream, device("1-5", "full", 100, iso(1023))))
    assert entry(found, "periodic_time", "1-4/tt").used == 806.166  # row bt-lx-fs-in-iso-1023
    assert entry(found, "periodic_time", "usb1/tt5").used == 806.166
    assert (entry(found, "periodic_time", "usb1").used or 0) > 0


def test_what_could_not_be_read_never_shows_as_room() -> None:
    lost = Device(id="1-1", parent="usb1", speed="full")
    found = ledger(lost)
    for budget, where in (("periodic_time", "usb1/tt1"), ("endpoints", "0000:00:14.0")):
        assert (entry(found, budget, where).used, entry(found, budget, where).state) == (None, "unknown")
    fast = build_ledger(snapshot(controller(), root(2, "super"), Device(id="2-1", parent="usb2", speed="super")))
    assert entry(fast, "link_rate", "2-1").state == "unknown"


def test_a_setting_nobody_tells_is_not_taken_for_silence() -> None:
    """Setting 0 of a sound interface is silent; whether it is the one in use is not told on every system."""
    settings = (Alternate(number=0), Alternate(number=1, endpoints=(iso(1023),)))
    player = device("1-1", "full", interfaces=(Interface(number=1, alternates=settings),))
    found = entry(ledger(player), "periodic_time_active", "usb1/tt1")
    assert (found.used, found.state, found.basis) == (None, "unknown", "assumed")
    assert found.note is not None
    assert "at most 806.166" in found.note  # row bt-lx-fs-in-iso-1023


def test_superspeed_devices_take_no_time_of_the_usb_2_bus() -> None:
    found = build_ledger(snapshot(controller(), root(1), root(2, "super"), device("2-1", "super", 100, iso(1024, 125))))
    assert entry(found, "periodic_time", "usb1").used == 0
    assert not [e for e in found if e.budget == "periodic_time" and e.where == "usb2"]


# --- endpoints, slots, depth ----------------------------------------------------------------------------------


def test_hubs_count_endpoints_and_root_hubs_do_not() -> None:
    parts = (hub("1-1"), device("1-1.1", "full", 100, interrupt(), iso(100)))
    found = entry(ledger(*parts), "endpoints", "0000:00:14.0")
    assert found.used == 1 + 1 + 2


def test_an_unknown_endpoint_limit_is_bracketed_by_field_values() -> None:
    many = [device(f"1-{i}", "full", 100, interrupt(), interrupt(address=0x02)) for i in range(1, 26)]
    found = entry(ledger(*many), "endpoints", "0000:00:14.0")
    assert (found.used, found.limit, found.bracket) == (75, None, (64, 254))
    assert (found.state, found.settles) == ("unknown", "controller_kind")


def test_the_older_chipset_whose_limit_the_kernel_enforces_is_known() -> None:
    old = controller(pci=Pci(vendor="8086", device="1e31"))
    found = entry(build_ledger(snapshot(old, root())), "endpoints", "0000:00:14.0")
    assert found.limit == 64  # row older-ppt-64


def test_slots_reported_by_the_host_count_devices_without_root_hubs() -> None:
    parts = (controller(slot_limit=64), root(), hub("1-1"), device("1-1.1"))
    found = entry(build_ledger(snapshot(*parts)), "slots", "0000:00:14.0")
    assert (found.used, found.limit, found.limit_basis) == (2, 64, "measured")


def test_other_controllers_have_127_addresses_a_bus_with_the_root_hub() -> None:
    parts = (controller(kind="ehci"), root(), device("1-1", "high"))
    found = entry(build_ledger(snapshot(*parts)), "slots", "0000:00:14.0")
    assert (found.used, found.limit) == (2, 127)


@pytest.mark.parametrize(("depth", "state"), [(3, "room"), (4, "tight"), (5, "tight"), (6, "over")])
def test_at_most_five_hubs_stand_in_series(depth: int, state: str) -> None:
    chain = [hub("1-1" + ".1" * i) for i in range(depth)]
    found = entry(ledger(*chain), "hub_depth", "1-1")
    assert (found.used, found.limit, found.state) == (depth, 5, state)


# --- promises of every ledger ---------------------------------------------------------------------------------


@st.composite
def buses(draw: st.DrawFn) -> Snapshot:
    parts: list[Any] = [controller(), root(1, ports=8)]
    for port in range(1, draw(st.integers(0, 4)) + 1):
        parts.append(
            hub(f"1-{port}", self_powered=draw(st.booleans()), translator=draw(st.sampled_from(["single", "multi"])))
        )
        for child in range(1, draw(st.integers(0, 4)) + 1):
            speed = draw(st.sampled_from(["low", "full", "high"]))
            size = draw(st.integers(1, 8 if speed == "low" else 64))
            interval = draw(st.sampled_from([1000, 4000, 8000, 10_000]))
            ma = draw(st.integers(0, 500))
            parts.append(device(f"1-{port}.{child}", speed, ma, interrupt(size, interval)))
    return snapshot(*parts)


@given(buses())
def test_parts_sum_to_used(seen: Snapshot) -> None:
    for e in build_ledger(seen):
        if e.used is not None:
            assert sum(p.used for p in e.parts) == pytest.approx(e.used, abs=1e-6), e


@given(buses(), st.randoms())
def test_the_order_of_devices_changes_nothing(seen: Snapshot, shuffler: Any) -> None:
    mixed = list(seen.devices)
    shuffler.shuffle(mixed)
    assert build_ledger(seen.model_copy(update={"devices": tuple(mixed)})) == build_ledger(seen)


@given(buses(), st.data())
def test_removing_a_device_never_raises_any_use(seen: Snapshot, data: st.DataObject) -> None:
    leaves = [d for d in seen.devices if d.hub is None]
    if not leaves:
        return
    gone = data.draw(st.sampled_from(leaves))
    left = seen.model_copy(update={"devices": tuple(d for d in seen.devices if d != gone)})
    before = {(e.budget, e.where): e.used for e in build_ledger(seen)}
    for e in build_ledger(left):
        if (e.budget, e.where) in before:
            assert (e.used or 0) <= (before[e.budget, e.where] or 0) + 1e-9


@given(buses(), st.integers(2, 5))
def test_devices_that_draw_so_many_times_as_much_make_a_supply_so_many_times_as_full(
    seen: Snapshot, times: int
) -> None:
    """Of hubs with a supply of their own, and devices: a bus-powered hub's own draw is capped at one unit load."""
    firm = [d.model_copy(update={"self_powered": True}) if d.hub is not None else d for d in seen.devices]
    more = [
        d if d.hub is not None else d.model_copy(update={"max_power_ma": times * (d.max_power_ma or 0)}) for d in firm
    ]
    before, after = (build_ledger(seen.model_copy(update={"devices": tuple(devices)})) for devices in (firm, more))
    used = {e.where: e.used or 0.0 for e in before if e.budget == "hub_supply"}
    assert {e.where: e.used for e in after if e.budget == "hub_supply"} == {w: times * ma for w, ma in used.items()}


@given(st.floats(0, 1e6), st.floats(0, 1e6))
def test_a_bracket_gives_a_verdict_only_if_both_ends_agree(used: float, low: float) -> None:
    high = low * 2 + 1
    ends = {state_of(used, low), state_of(used, high)}
    assert state_of(used, None, (low, high)) == (ends.pop() if len(ends) == 1 else "unknown")


def test_a_ring_of_hubs_is_survived() -> None:
    ring = [
        Device(id="1-1", parent="1-2", hub={}, speed="high", self_powered=False, max_power_ma=10),
        Device(id="1-2", parent="1-1", hub={}, speed="high", self_powered=False, max_power_ma=10),
    ]
    found = entry(build_ledger(snapshot(*ring)), "port_current", "1-1")
    assert found.used is None
