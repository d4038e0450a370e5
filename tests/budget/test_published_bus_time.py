"""Section 1 of the published values: how long transfers take, how many fit a frame, and what may be reserved."""

import re
from math import floor

import pytest
from builders import controller, device, iso, root, snapshot
from published import ROWS, Row, numbers, per_bit_ns, published

from wizard.budget.bus_time import (
    HOST_DELAY_HIGH_NS,
    HOST_DELAY_NS,
    HUB_LS_SETUP_NS,
    BusSpeed,
    service_ns,
    transaction_ns,
)
from wizard.budget.entry import Entry
from wizard.budget.ledger import build_ledger
from wizard.budget.limits import FRAME_US, MICROFRAME_US, TRANSLATOR_US
from wizard.bus.model import MBPS

SPEEDS: dict[str, BusSpeed] = {"ls": "low", "fs": "full", "hs": "high"}
FRAME_BYTES = MBPS["full"] * 1000 / 8
MICROFRAME_BYTES = MBPS["high"] * 125 / 8
MANY = 6000
"""Bytes of a transaction so long that the whole-number roundings don't show in its slope."""


def fixed_ns(speed: BusSpeed, is_in: bool, isochronous: bool) -> float:
    """What the engine charges for a transaction besides its bytes, the host's delay and the formula's rounding term."""
    delay = HOST_DELAY_HIGH_NS if speed == "high" else HOST_DELAY_NS
    rounding = 3.0 if speed == "high" else 3.1  # as the note of row bt-3167 says of Linux
    rest = transaction_ns(speed, is_in, isochronous, 0) - delay - rounding * bit_ns(speed, is_in)
    return rest - 2 * HUB_LS_SETUP_NS if speed == "low" else rest


def bit_ns(speed: BusSpeed, is_in: bool = True) -> float:
    """Length of a bit in the published formula."""
    if speed == "low":
        return per_bit_ns("bt-ls-in-const" if is_in else "bt-ls-out-const")
    return per_bit_ns("bt-fs-nonisoc-const" if speed == "full" else "bt-hs-nonisoc-const")


def stuffed_bits_per_byte(speed: BusSpeed, is_in: bool = True) -> float:
    """Bits a payload byte takes on the wires, by the engine."""
    slope = transaction_ns(speed, is_in, False, MANY) - transaction_ns(speed, is_in, False, 0)
    return slope / MANY / bit_ns(speed, is_in)


def overhead_bytes(speed: BusSpeed, isochronous: bool) -> int:
    """Whole bytes in what the engine charges besides the payload; at full speed some bits of turn-around remain.

    Isochronous: of the way out, which has no turn-around of its own.
    """
    inexact = fixed_ns(speed, False, isochronous) / 8 / bit_ns(speed)
    return round(inexact) if speed == "high" else floor(inexact)


def table_row(payload: int, overhead: int, frame_bytes: float, frames_per_s: int) -> dict[str, int]:
    """A row of the tables of USB 2.0 §5.5.4 to §5.8.4 for a payload."""
    each = payload + overhead
    fits = int(frame_bytes // each)
    return {
        "payload": payload,
        "max_bandwidth_Bps": fits * payload * frames_per_s,
        "pct_per_transfer": round(100 * each / frame_bytes),
        "max_transfers": fits,
        "bytes_remaining": int(frame_bytes - fits * each),
        "useful_bytes": fits * payload,
    }


def streams(count: int, *, size: int = 1024, packets: int = 1) -> Entry:
    """The bus of so many high-speed streams that send in every microframe."""
    parts = [device(f"1-{i}", "high", 100, iso(size, 125, transactions=packets)) for i in range(1, count + 1)]
    found = build_ledger(snapshot(controller(), root(), *parts))
    return next(e for e in found if (e.budget, e.where) == ("periodic_time", "usb1"))


# --- overhead, and what fits a frame by the standard's own tables ------------------------------------------------


@published("hs-iso-ovh", "hs-int-ovh", "hs-bulk-ovh", "fs-iso-ovh", "fs-int-ovh", "fs-bulk-ovh")
def test_overhead_of_a_transaction(row: Row) -> None:
    speed = SPEEDS[row.id[:2]]
    assert overhead_bytes(speed, "-iso-" in row.id) == row.value


@published("hs-ctl-ovh")
def test_overhead_of_a_high_speed_control_transfer(row: Row) -> None:
    """Three transactions: set-up with its eight bytes (USB 2.0 §9.3), data, status."""
    assert 3 * overhead_bytes("high", False) + 8 == row.value


@published("hs-iso-[0-9]*", "hs-int-[0-9]*", "hs-bulk-[0-9]*", but_not="hs-iso-80")
def test_high_speed_transfers_in_a_microframe(row: Row) -> None:
    overhead = overhead_bytes("high", "-iso-" in row.id)
    assert row.value == table_row(row.value["payload"], overhead, MICROFRAME_BYTES, 8000)


@published("hs-ctl-[0-9]*")
def test_high_speed_control_transfers_in_a_microframe(row: Row) -> None:
    overhead = 3 * overhead_bytes("high", False) + 8
    assert row.value == table_row(row.value["payload"], overhead, MICROFRAME_BYTES, 8000)


@published("fs-iso-[0-9]*", "fs-int-[0-9]*", "fs-bulk-[0-9]*")
def test_full_speed_transfers_in_a_frame(row: Row) -> None:
    overhead = overhead_bytes("full", "-iso-" in row.id)
    assert row.value == table_row(row.value["payload"], overhead, FRAME_BYTES, 1000)


# --- what may be reserved --------------------------------------------------------------------------------------


@published("periodic-fs")
def test_share_of_a_frame(row: Row) -> None:
    assert FRAME_US.value == TRANSLATOR_US.value == 1000 * row.value / 100


@published("periodic-hs")
def test_share_of_a_microframe(row: Row) -> None:
    assert MICROFRAME_US.value == 125 * row.value / 100


@published("hs-iso-80")
def test_streams_in_the_share_of_a_microframe(row: Row) -> None:
    """Five by bytes, as the row has it. With the worst case of bit stuffing, which it leaves out, only four."""
    share = MICROFRAME_US.value / 125
    assert share * MICROFRAME_BYTES // (1024 + overhead_bytes("high", True)) == row.value
    unstuffed = 1024 * 8 / stuffed_bits_per_byte("high")  # so many bytes take with stuffing what 1024 take without
    assert streams(row.value, size=int(unstuffed)).state == "tight"
    assert streams(row.value + 1, size=int(unstuffed)).state == "over"
    assert [streams(n).state for n in (4, 5)] == ["tight", "over"]


@published("table-no-cap")
def test_what_the_tables_let_in_is_over_the_share(row: Row) -> None:
    size, count, used_bytes, of_bytes, per_cent = numbers(row.value)
    assert count * (size + overhead_bytes("high", True)) == used_bytes
    assert of_bytes == MICROFRAME_BYTES
    assert round(100 * used_bytes / MICROFRAME_BYTES) == per_cent
    assert streams(int(count), size=int(size)).state == "over"


@published("table-hb-single")
def test_each_packet_pays_where_the_tables_count_one(row: Row) -> None:
    size, count, again, overhead, used_bytes, left = numbers(row.value)
    assert (size, overhead) == (again, overhead_bytes("high", False))
    assert (count * (size + overhead), MICROFRAME_BYTES - used_bytes) == (used_bytes, left)
    packets = iso(1024, 125, transactions=3)
    one_long = transaction_ns("high", True, True, int(size))
    two_more = 2 * (fixed_ns("high", True, True) + 3 * bit_ns("high") + HOST_DELAY_HIGH_NS)
    assert service_ns("high", packets) == pytest.approx(one_long + two_more, abs=3)  # three whole-number roundings


# --- the formula of USB 2.0 §5.11.3 -----------------------------------------------------------------------------


@published("bt-?s-*const")
def test_constants_of_the_formula(row: Row) -> None:
    found = re.fullmatch(r"bt-(ls|fs|hs)-(nonisoc|iso)?-?(in|out)?-?const", row.id)
    assert found is not None
    speed, kind, way = found.groups()
    assert fixed_ns(SPEEDS[speed], way != "out", kind == "iso") == pytest.approx(row.value, abs=1)


@published("bt-bitstuff")
def test_bits_of_a_byte_at_the_worst_case_of_stuffing(row: Row) -> None:
    seven, six, eight, ratio, again = numbers(row.value)
    for speed in SPEEDS.values():
        for is_in in (True, False):
            assert stuffed_bits_per_byte(speed, is_in) == pytest.approx(seven / six * eight, rel=1e-4)
            assert stuffed_bits_per_byte(speed, is_in) == pytest.approx(ratio * again, rel=1e-4)


@published("bt-3167")
def test_rounding_term(row: Row) -> None:
    """The kernel's whole-number arithmetic has 3.1, and 3 at high speed: less than a fifth of a bit apart."""
    for speed in SPEEDS.values():
        constant = {"low": "bt-ls-in-const", "full": "bt-fs-nonisoc-const", "high": "bt-hs-nonisoc-const"}[speed]
        delay = HOST_DELAY_HIGH_NS if speed == "high" else HOST_DELAY_NS + (speed == "low") * 2 * HUB_LS_SETUP_NS
        bits = (transaction_ns(speed, True, False, 0) - delay - ROWS[constant].value) / bit_ns(speed)
        cut_off = 1 / bit_ns(speed)  # by whole nanoseconds
        assert row.value - 0.2 - cut_off < bits <= row.value


@published("bt-hostdelay-linux")
def test_delays_that_the_standard_leaves_to_the_host(row: Row) -> None:
    assert numbers(row.value) == [HOST_DELAY_NS, HOST_DELAY_HIGH_NS, HUB_LS_SETUP_NS]


@published("bt-lx-*")
def test_bus_times_of_the_linux_kernel(row: Row) -> None:
    found = re.fullmatch(r"bt-lx-(ls|fs|hs)-(in|out)-(non|iso)-(\d+)", row.id)
    assert found is not None
    speed, way, kind, size = found.groups()
    ours = transaction_ns(SPEEDS[speed], way == "in", kind == "iso", int(size))
    # At high speed the kernel cuts off what is below a nanosecond, and the engine rounds it.
    assert ours == row.value or (speed == "hs" and ours == row.value + 1)
