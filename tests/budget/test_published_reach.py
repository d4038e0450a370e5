"""Section 6 of the published values: tiers, addresses, delays, cable lengths."""

import pytest
from builders import controller, hub, root, snapshot
from published import ROWS, Row, numbers, published

from wizard.budget.cable import LONGEST_M
from wizard.budget.latency import HUB_MS
from wizard.budget.ledger import build_ledger
from wizard.budget.limits import ADDRESSES, HUBS_IN_SERIES
from wizard.bus.model import MBPS


def cable_ns(metres: float) -> float:
    """Delay of a cable: 5.2 ns/m by row t-cable."""
    return metres * numbers(ROWS["t-cable"].value[1])[0]


def high_speed_round_trip_ns(hubs: float, host_and_device_ns: float, response_bits: float) -> float:
    """There and back through so many hubs, with a longest cable before and behind each, and the device's answer."""
    there = hubs * HUB_MS["high"] * 1e6 + (hubs + 1) * cable_ns(LONGEST_M["high"].value) + host_and_device_ns
    return 2 * there + response_bits * 1000 / MBPS["high"]


def full_speed_round_trip_ns(hubs: float, host_and_device_ns: float, response_bits: float) -> float:
    """The same; at full speed the delay of a hub holds the cable above it, and one more cable ends the chain."""
    there = hubs * HUB_MS["full"] * 1e6 + cable_ns(LONGEST_M["full"].value) + host_and_device_ns
    return 2 * there + response_bits * 1000 / MBPS["full"]


HOST_AND_DEVICE_NS = sum(ROWS["t-host"].value)
_, FULL_SPEED_RESPONSE, HIGH_SPEED_RESPONSE = ROWS["t-devresp"].value


@published("t-tiers")
def test_tiers_hubs_and_cables_of_the_longest_chain(row: Row) -> None:
    hubs = HUBS_IN_SERIES.value
    assert [hubs + 2, hubs, hubs + 1] == row.value


@published("t-lxdepth")
def test_the_first_hub_that_linux_refuses_is_over(row: Row) -> None:
    for hubs, over in ((row.value - 1, False), (row.value, True)):
        chain = [hub("1-1" + ".1" * i) for i in range(hubs)]
        found = build_ledger(snapshot(controller(), root(), *chain))
        assert (next(e.state for e in found if e.budget == "hub_depth") == "over") is over


@published("t-addr")
def test_addresses_of_a_bus(row: Row) -> None:
    assert row.value == ADDRESSES.value


@published("t-cable")
def test_longest_cable_at_full_and_high_speed(row: Row) -> None:
    delay, per_m, metres = (numbers(text)[0] for text in row.value)
    assert LONGEST_M["full"].value == LONGEST_M["high"].value == metres == pytest.approx(delay / per_m)


@published("t-lscable")
def test_longest_cable_at_low_speed(row: Row) -> None:
    delay, metres = (numbers(text)[0] for text in row.value)
    assert LONGEST_M["low"].value == metres
    assert LONGEST_M["low"].value < delay / numbers(ROWS["t-cable"].value[1])[0] < LONGEST_M["low"].value + 1


@published("t-hshub")
def test_delay_of_a_hub_at_high_speed(row: Row) -> None:
    bits, more_ns = numbers(row.value)
    assert HUB_MS["high"] * 1e6 == pytest.approx(bits * 1000 / MBPS["high"] + more_ns)


@published("t-fshub")
def test_delay_of_a_hub_at_full_speed(row: Row) -> None:
    """The delay with its cable, and without: the difference is a longest cable."""
    assert HUB_MS["full"] * 1e6 == pytest.approx(row.value[0])
    assert HUB_MS["full"] * 1e6 - cable_ns(LONGEST_M["full"].value) == pytest.approx(row.value[1])


@published("t-hsrt")
def test_answer_over_the_longest_high_speed_chain(row: Row) -> None:
    longest = high_speed_round_trip_ns(HUBS_IN_SERIES.value, HOST_AND_DEVICE_NS, HIGH_SPEED_RESPONSE)
    assert longest == pytest.approx(row.value)


@published("t-fsrt")
def test_answer_over_the_longest_full_speed_chain(row: Row) -> None:
    longest = full_speed_round_trip_ns(HUBS_IN_SERIES.value, HOST_AND_DEVICE_NS, FULL_SPEED_RESPONSE)
    assert longest == pytest.approx(row.value)


@published("t-host")
def test_delays_in_host_and_device_make_up_the_round_trip(row: Row) -> None:
    longest = high_speed_round_trip_ns(HUBS_IN_SERIES.value, sum(row.value), HIGH_SPEED_RESPONSE)
    assert longest == pytest.approx(ROWS["t-hsrt"].value)


@published("t-devresp")
def test_the_devices_time_to_answer_makes_up_the_round_trip(row: Row) -> None:
    hubs = HUBS_IN_SERIES.value
    longest = (
        full_speed_round_trip_ns(hubs, HOST_AND_DEVICE_NS, row.value[1]),
        high_speed_round_trip_ns(hubs, HOST_AND_DEVICE_NS, row.value[2]),
    )
    assert longest == pytest.approx((ROWS["t-fsrt"].value, ROWS["t-hsrt"].value))


@published("t-hsto")
def test_as_many_hubs_as_answer_in_time_at_high_speed(row: Row) -> None:
    """A host waits at least the first number of bit times and gives up before the second."""
    least_ns, most_ns = (bits * 1000 / MBPS["high"] for bits in row.value)
    hubs = HUBS_IN_SERIES.value
    assert high_speed_round_trip_ns(hubs, HOST_AND_DEVICE_NS, HIGH_SPEED_RESPONSE) <= least_ns
    assert high_speed_round_trip_ns(hubs + 1, HOST_AND_DEVICE_NS, HIGH_SPEED_RESPONSE) > most_ns
    assert least_ns < high_speed_round_trip_ns(hubs + 1, HOST_AND_DEVICE_NS, HIGH_SPEED_RESPONSE)


@published("t-fsto")
def test_as_many_hubs_as_answer_in_time_at_full_speed(row: Row) -> None:
    most_ns = row.value[1] * 1000 / MBPS["full"]
    longest, too_long = (
        full_speed_round_trip_ns(hubs, HOST_AND_DEVICE_NS, FULL_SPEED_RESPONSE)
        for hubs in (HUBS_IN_SERIES.value, HUBS_IN_SERIES.value + 1)
    )
    assert longest <= most_ns < too_long


@published("t-c-gen1")
def test_a_cable_with_two_c_plugs_is_shorter_and_the_source_says_so(row: Row) -> None:
    assert f"Type-C to Type-C {row.value} m" in LONGEST_M["super"].source


@published("t-usb3-legacy")
def test_longest_superspeed_cable_in_practice(row: Row) -> None:
    assert LONGEST_M["super"].value == row.value


@published("t-c-tab")
def test_longest_cable_at_ten_gigabit(row: Row) -> None:
    assert LONGEST_M["super_plus"].value == row.value[2]


@published("t-c-nom")
def test_nominal_cable_at_ten_gigabit(row: Row) -> None:
    assert LONGEST_M["super_plus"].value == row.value[0]
