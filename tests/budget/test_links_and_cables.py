"""Fast links, shared feeds, cables and the time an input needs, each against published figures."""

from typing import Any

import pytest
from builders import controller, device, hub, interrupt, iso, root, snapshot

from wizard.budget.cable import drop_v
from wizard.budget.entry import Entry
from wizard.budget.ledger import build_ledger
from wizard.budget.link_capacity import capacity_mb_s
from wizard.budget.setup import Cable, Setup
from wizard.bus.model import Endpoint, Interface, Socket


def entry(found: tuple[Entry, ...], budget: str, where: str) -> Entry:
    return next(e for e in found if e.budget == budget and e.where == where)


def ledger(*parts: Any, **told: Any) -> tuple[Entry, ...]:
    return build_ledger(snapshot(controller(), root(), root(2, "super"), *parts), Setup(**told))


def test_a_gen_1_link_carries_485_mb_a_second() -> None:
    """Rows ss-raw (500 MB/s, derived) and ss-pkt-ovh (1024 of 1056 symbols: 484.8 MB/s, from memory)."""
    assert capacity_mb_s(5000) == pytest.approx(500 * 1024 / 1056)


def test_a_gen_2_link_carries_1175_mb_a_second() -> None:
    """Row ssp-raw (1,212,121,212 B/s, derived) with the same packet overhead."""
    assert capacity_mb_s(10000) == pytest.approx(1212.121212 * 1024 / 1056)


def test_a_link_of_a_rate_never_heard_of_has_an_unknown_limit() -> None:
    strange = device("2-1", "super", 100, iso(1024, 125)).model_copy(update={"mbps": 7777.0})
    found = entry(ledger(strange), "link_rate", "2-1")
    assert (found.limit, found.state) == (None, "unknown")


def test_an_uplink_carries_what_hangs_below_its_hub() -> None:
    camera = Endpoint(address=0x82, type="isochronous", max_packet=1024, burst=16, transactions=3, interval_us=125)
    parts = (hub("2-1", "super"), device("2-1.1", "super", 100, camera), device("2-1.2", "super", 100, camera))
    found = entry(ledger(*parts), "link_rate", "2-1")
    assert found.used == pytest.approx(2 * 49152 / 125)  # row ss-iso-48k: 49,152 bytes each 125 us (confirmed)
    assert found.state == "over"
    assert found.periodic is not None
    assert found.periodic.state == "over"


def test_both_directions_have_wires_of_their_own() -> None:
    there = iso(1024, 125, address=0x02, burst=16)
    back = iso(1024, 125, address=0x82, burst=16)
    found = entry(ledger(device("2-1", "super", 100, there, back)), "link_rate", "2-1")
    assert found.used == pytest.approx(16 * 1024 / 125)


def test_what_a_link_may_reserve_is_bracketed_where_sources_disagree() -> None:
    """Row ss-periodic: 80 % in one place of the kernel, 90 % in another; 83 % is over by one and tight by the other."""
    size = int(0.83 * 484.8 * 125)
    stream = iso(1024, 125, burst=16, transactions=3, bytes_per_interval=size)
    share = entry(ledger(device("2-1", "super", 100, stream)), "link_rate", "2-1").periodic
    assert share is not None
    assert share.state == "unknown"


def test_drives_are_told_of_and_not_counted_as_need() -> None:
    bulk = Endpoint(address=0x81, type="bulk", max_packet=1024, burst=16)
    found = entry(ledger(device("2-1", "super", 896, bulk)), "link_rate", "2-1")
    assert found.used == 0
    assert found.note is not None


def test_sockets_of_one_group_share_its_feed() -> None:
    sockets = [Socket(id=f"1-{i}", hub="usb1", group="front") for i in (1, 2)]
    parts = (*sockets, device("1-1", "high", 500), device("1-2", "high", 300))
    found = entry(ledger(*parts, group_ma={"front": 600}), "group_current", "front")
    assert (found.used, found.limit, found.state) == (800, 600, "over")
    assert entry(ledger(*parts), "group_current", "front").state == "unknown"


def test_a_measured_current_beats_the_declared_one() -> None:
    found = entry(ledger(device("1-1", "high", 500), measured_ma={"1-1": 620}), "port_current", "1-1")
    assert (found.used, found.state, found.basis) == (620, "over", "measured")


def test_a_socket_that_offers_more_is_believed() -> None:
    """USB Type-C current levels: row p-typec (confirmed)."""
    socket = Socket(id="1-1", hub="usb1", shape="usb_c", offers_ma=1500)
    found = entry(ledger(socket, device("1-1", "high", 500), measured_ma={"1-1": 1200}), "port_current", "1-1")
    assert (found.limit, found.state) == (1500, "tight")


@pytest.mark.parametrize(
    ("metres", "awg", "milliamps", "row", "volts"),
    [
        (1.0, 28, 500, "drop-28-1.0-0.5-2", 0.292),
        (1.8, 28, 900, "drop-28-1.8-0.9-2", 0.8597),
        (1.8, 24, 900, "drop-24-1.8-0.9-2", 0.4025),
        (3.0, 20, 3000, "drop-20-3.0-3.0-2", 1.0044),
    ],
)
def test_voltage_lost_on_a_cable_with_a_plug_at_each_end(
    metres: float, awg: int, milliamps: float, row: str, volts: float
) -> None:
    assert drop_v(metres, awg, milliamps) == pytest.approx(volts, abs=1e-4), row  # derived rows


def test_a_thin_long_cable_leaves_too_little_for_a_drive() -> None:
    cables = {"2-1": Cable(m=1.8, awg=28)}
    found = entry(ledger(device("2-1", "super", 900), cables=cables), "voltage", "2-1")
    assert found.state == "over"
    assert found.at_device == pytest.approx(4.45 - 0.8597, abs=1e-4)  # rows p-445 and drop-28-1.8-0.9-2
    assert found.finding is not None
    assert found.finding.startswith("Only 3.59 V may be left at the device, and it can count on working from 4 V on")


def test_a_gauge_in_no_table_leaves_the_drop_unknown() -> None:
    found = entry(ledger(device("1-1", "high", 500), cables={"1-1": Cable(m=1, awg=27)}), "voltage", "1-1")
    assert (found.used, found.state) == (None, "unknown")


@pytest.mark.parametrize(("speed", "metres", "state"), [("high", 3, "room"), ("high", 6, "over"), ("low", 4, "over")])
def test_a_cable_run_is_held_against_what_its_speed_allows(speed: Any, metres: float, state: str) -> None:
    """Rows t-cable (5 m, confirmed) and t-lscable (3 m, second-hand)."""
    assert entry(ledger(device("1-1", speed), cables={"1-1": Cable(m=metres)}), "cable", "1-1").state == state


def inputs(identifier: str, speed: Any, interval_us: int) -> Any:
    plain = device(identifier, speed, 100, interrupt(8, interval_us))
    interface = plain.interfaces[0].model_copy(update={"class_code": 3})
    return plain.model_copy(update={"interfaces": (Interface.model_validate(interface.model_dump()),)})


def test_an_input_waits_for_its_poll_and_for_its_translator() -> None:
    """10 ms is polled every 8 ms (row bi-xhci-10); a translated report comes up to a frame later (§11.18)."""
    found = ledger(hub("1-1"), inputs("1-1.1", "full", 10_000), inputs("1-2", "full", 10_000))
    straight, translated = entry(found, "latency", "1-2"), entry(found, "latency", "1-1.1")
    assert straight.used == pytest.approx(8.0165, abs=1e-3)  # 8 ms and 16,547 ns (row bt-lx-fs-in-non-8)
    assert translated.used == pytest.approx(9.0166, abs=1e-3)
    assert straight.limit is None
    assert straight.typical is not None
    assert straight.typical < straight.used


def test_a_device_that_is_no_input_has_no_latency() -> None:
    found = ledger(device("1-1", "full", 100, interrupt()))
    assert not [e for e in found if e.budget == "latency"]
