"""Section 5 of the published values: current, voltage, wire."""

import pytest
from builders import controller, device, hub, root, snapshot
from published import ROWS, Row, numbers, published

from wizard.budget.cable import (
    CONTACT_OHM,
    DROP_SUPER_V,
    DROP_V,
    OHM_PER_M,
    SOCKET_BUS_POWERED_V,
    SOCKET_SUPER_V,
    SOCKET_V,
    drop_v,
)
from wizard.budget.entry import Entry
from wizard.budget.ledger import build_ledger
from wizard.budget.limits import (
    BEHIND_BUS_POWERED_MA,
    FULL_LOAD_MA,
    FULL_LOAD_SUPER_MA,
    UNIT_LOAD_MA,
    UNIT_LOAD_SUPER_MA,
)
from wizard.budget.setup import Cable, Offer, Setup
from wizard.bus.descriptors import parse_descriptors
from wizard.bus.model import Device, Socket, Speed


def entry(budget: str, where: str, *parts: Device | Socket, setup: Setup | None = None) -> Entry:
    """A budget of one controller with a USB 2 and a SuperSpeed bus."""
    found = build_ledger(snapshot(controller(), root(), root(2, "super"), *parts), setup)
    return next(e for e in found if (e.budget, e.where) == (budget, where))


# --- current -----------------------------------------------------------------------------------------------------


@published("p-unit")
def test_unit_loads(row: Row) -> None:
    assert row.value == [UNIT_LOAD_MA, UNIT_LOAD_SUPER_MA]
    behind = (
        entry("port_current", "1-1.1", hub("1-1", self_powered=False), device("1-1.1")),
        entry("port_current", "2-1.1", hub("2-1", "super", self_powered=False), device("2-1.1", "super")),
    )
    assert [e.limit for e in behind] == row.value


@published("p-full")
def test_full_load_of_a_socket(row: Row) -> None:
    sockets = (entry("port_current", "1-1", device("1-1")), entry("port_current", "2-1", device("2-1", "super")))
    assert [e.limit for e in sockets] == row.value


@published("p-bmax")
def test_units_of_the_declared_current(row: Row) -> None:
    for speed, unit in zip(("high", "super"), row.value, strict=True):
        asked: list[Speed] = ["high", "super"]
        head = bytes([18, 1, 0, 2, 0, 0, 0, 64, 1, 0, 1, 0, 0, 1, 0, 0, 0, 1])
        configuration = bytes([9, 2, 9, 0, 0, 1, 0, 0x80, 50])
        found = parse_descriptors(head + configuration, asked[speed == "super"])
        assert found.configurations[0].max_power_ma == 50 * unit


@published("p-icc")
def test_currents_by_the_table_of_the_standard(row: Row) -> None:
    high_socket, low_socket = FULL_LOAD_MA.value, BEHIND_BUS_POWERED_MA.value
    high_device, low_device = FULL_LOAD_MA.value, UNIT_LOAD_MA
    before_it_is_configured = UNIT_LOAD_MA
    assert [high_socket, low_socket, high_device, low_device, before_it_is_configured] == row.value


@published("p-bph")
def test_a_bus_powered_hub_and_its_sockets(row: Row) -> None:
    parts = (hub("1-1", self_powered=False), device("1-1.1"))
    assert [entry("port_current", where, *parts).limit for where in ("1-1", "1-1.1")] == row.value


@published("p-bph4")
def test_unit_loads_a_bus_powered_hub_has_to_give(row: Row) -> None:
    supply = entry("hub_supply", "1-1", hub("1-1", self_powered=False, ma=500, ports=row.value))
    assert supply.limit == supply.if_full == row.value * UNIT_LOAD_MA


@published("p-typec")
def test_a_type_c_socket_feeds_the_default_or_its_level_as_reported_or_told(row: Row) -> None:
    assert numbers(row.value[0]) == [FULL_LOAD_MA.value, FULL_LOAD_SUPER_MA.value]
    words: tuple[Offer, ...] = ("type_c_1500", "type_c_3000")
    for text, word in zip(row.value[1:], words, strict=True):
        offered = numbers(text)[0] * 1000
        socket = Socket(id="1-1", hub="usb1", offers_ma=offered)
        assert entry("port_current", "1-1", device("1-1", "high"), socket).limit == offered
        assert entry("port_current", "1-1", device("1-1", "high"), setup=Setup(offers={"1-1": word})).limit == offered


@published("p-bc12")
def test_a_charging_port_feeds_what_its_kind_may(row: Row) -> None:
    words: tuple[Offer, ...] = ("standard", "standard_usb3", "charging", "charger_only")
    found = [entry("port_current", "1-1", device("1-1", "high"), setup=Setup(offers={"1-1": w})).limit for w in words]
    assert found == [ampere * 1000 for ampere in row.value]


def test_what_was_told_of_either_half_of_a_socket_holds_for_both() -> None:
    parts = (Socket(id="2-1", hub="usb2", peer="1-1"), device("2-1", "super", 896))
    assert entry("port_current", "2-1", *parts, setup=Setup(offers={"1-1": "type_c_3000"})).limit == 3000


@published("p-x2")
def test_a_device_on_two_lanes_may_draw_more(row: Row) -> None:
    two_lanes = device("2-1", "super_plus").model_copy(update={"mbps": 20000.0})
    assert entry("port_current", "2-1", two_lanes).limit == row.value


# --- voltage -----------------------------------------------------------------------------------------------------


def at_device(*parts: Device, where: str, ma: float, dropped: float) -> float:
    """Volts the ledger leaves a device that draws so much over a cable that loses so many volts."""
    contacts = drop_v(0.0, 28, ma)
    assert contacts is not None
    metres = (dropped - contacts) / (2 * OHM_PER_M[28] * ma / 1000)
    setup = Setup(cables={where: Cable(m=metres, awg=28)}, measured_ma={where: ma})
    left = entry("voltage", where, *parts, setup=setup).at_device
    assert left is not None
    return left


@published("p-v-hp")
def test_least_voltage_of_a_high_power_socket(row: Row) -> None:
    assert row.value[0] == SOCKET_V.value


@published("p-v-lp")
def test_least_voltage_of_a_socket_of_a_bus_powered_hub(row: Row) -> None:
    assert row.value[0] == SOCKET_BUS_POWERED_V.value


@published("p-v-bphdrop")
def test_what_a_bus_powered_hub_may_lose(row: Row) -> None:
    assert SOCKET_V.value - SOCKET_BUS_POWERED_V.value == pytest.approx(row.value)


@published("p-v-cabledrop", "p-v-gnddrop")
def test_what_each_wire_of_a_cable_may_lose(row: Row) -> None:
    assert DROP_V.value / 2 == row.value


@published("p-chain1")
def test_what_is_left_at_a_socket_of_a_bus_powered_hub(row: Row) -> None:
    parts = (hub("1-1", self_powered=False), device("1-1.1"))
    assert at_device(*parts, where="1-1.1", ma=100, dropped=0.05) == pytest.approx(row.value - 0.05)


@published("p-chain2")
def test_what_is_left_at_the_end_of_the_worst_cable_allowed(row: Row) -> None:
    assert at_device(device("1-1"), where="1-1", ma=500, dropped=DROP_V.value) == pytest.approx(row.value)


@published("p-v-enum")
def test_less_than_a_device_can_be_set_up_with_is_a_finding(row: Row) -> None:
    """From the least a full-power socket gives (row p-v-hp), with a meter's 500 mA on a cable that loses so much."""
    for lost, told in ((SOCKET_V.value - row.value - 0.01, False), (SOCKET_V.value - row.value + 0.01, True)):
        contacts = drop_v(0.0, 28, 500) or 0.0
        metres = (lost - contacts) / (2 * OHM_PER_M[28] * 0.5)
        setup = Setup(cables={"1-1": Cable(m=metres, awg=28)}, measured_ma={"1-1": 500})
        found = entry("voltage", "1-1", device("1-1"), setup=setup)
        assert (found.finding is not None) == told
        if told:
            assert f"from {row.value:g} V on" in (found.finding or "")


@published("p-chain3")
def test_what_is_left_of_a_bus_powered_hubs_voltage_at_one_unit_load(row: Row) -> None:
    parts = (hub("1-1", self_powered=False), device("1-1.1"))
    lost = DROP_V.value * UNIT_LOAD_MA / FULL_LOAD_MA.value  # the same cable, a fifth of the current
    assert at_device(*parts, where="1-1.1", ma=UNIT_LOAD_MA, dropped=lost) == pytest.approx(row.value)


@published("p-445")
def test_least_superspeed_voltages(row: Row) -> None:
    assert [SOCKET_SUPER_V.value, SOCKET_SUPER_V.value - DROP_SUPER_V.value] == pytest.approx(row.value)


# --- wire --------------------------------------------------------------------------------------------------------


@published("usb-awg-*")
def test_resistance_of_stranded_wire(row: Row) -> None:
    assert OHM_PER_M[int(row.id.removeprefix("usb-awg-"))] * 100 == pytest.approx(row.value)


@published("awg-*")
def test_stranded_wire_is_a_little_worse_than_solid_copper(row: Row) -> None:
    assert 1.0 < OHM_PER_M[int(row.id.removeprefix("awg-"))] * 1000 / row.value < 1.1


def test_the_finest_wire_is_above_solid_copper_as_the_next_ones_are() -> None:
    """No table of stranded wire has AWG 30: the ratio of rows usb-awg-28 and usb-awg-26 to awg-28 and awg-26."""
    ratios = [OHM_PER_M[awg] * 1000 / ROWS[f"awg-{awg}"].value for awg in (30, 28, 26)]
    assert ratios == [pytest.approx(1.09, abs=0.001)] * 3


@published("drop-*")
def test_voltage_lost_on_a_cable(row: Row) -> None:
    """Length, gauge, current and mated pairs stand in the name of the row."""
    awg, metres, amperes, pairs = (float(n) for n in row.id.split("-")[1:])
    found = drop_v(metres, int(awg), amperes * 1000)
    bare = drop_v(0.0, int(awg), amperes * 1000)
    assert found is not None
    assert bare is not None
    assert (found if pairs else found - bare) == pytest.approx(row.value, abs=5e-5)


@published("usb-contact")
def test_resistance_of_a_new_contact(row: Row) -> None:
    assert row.value[0] == CONTACT_OHM * 1000
    assert (drop_v(0.0, 28, 1000) or 0) * 1000 == pytest.approx(4 * row.value[0])  # two plugs, VBUS and GND in each


def test_the_wire_table_has_no_gauge_that_no_row_speaks_of() -> None:
    assert {f"awg-{awg}" for awg in OHM_PER_M} <= set(ROWS)
