"""Section 3 of the published values: rates, packet sizes and bursts, and the share that may be reserved."""

import pytest
from builders import controller, device, iso, root, snapshot
from published import Row, numbers, published

from wizard.budget.bus_time import service_ns, transaction_ns
from wizard.budget.ledger import build_ledger
from wizard.budget.link_capacity import CODING, PACKET_SHARE, capacity_mb_s, reserved_mb_s
from wizard.budget.superspeed import PERIODIC_SHARE
from wizard.bus.endpoints import Companion, EndpointFields, read_endpoint
from wizard.bus.model import Endpoint, Speed

ISOCHRONOUS, BULK, INTERRUPT = 1, 2, 3
SPEEDS: dict[str, Speed] = {"ls": "low", "fs": "full", "hs": "high", "ss": "super"}


def read(
    speed: Speed, kind: int, size: int, companion: Companion | None = None, interval: int = 4
) -> tuple[Endpoint, tuple[str, ...]]:
    """An endpoint as the host would use it, and what had to be repaired."""
    if speed == "super" and companion is None:
        companion = Companion(0, 0, size)
    return read_endpoint(EndpointFields(0x81, kind, size, interval), speed, companion)


# --- what a link carries -----------------------------------------------------------------------------------------


@published("ss-raw", "ssp-raw")
def test_payload_after_line_coding(row: Row) -> None:
    carried = capacity_mb_s(10_000.0 if row.id == "ssp-raw" else 5000.0)
    assert carried is not None
    assert int(carried / PACKET_SHARE * 1e6 + 0.5) == row.value


@published("ss-pkt-ovh")
def test_overhead_of_a_full_packet(row: Row) -> None:
    assert pytest.approx(row.value) == 1024 / PACKET_SHARE - 1024


@published("ss-periodic")
def test_the_greater_of_two_published_shares_ends_the_bracket(row: Row) -> None:
    assert PERIODIC_SHARE[1] * 100 == row.value
    parts = (controller(), root(2, "super"), device("2-1", "super", 100, iso(1024, 125)))
    link = next(e for e in build_ledger(snapshot(*parts)) if e.budget == "link_rate")
    assert link.limit is not None
    assert link.periodic is not None
    assert link.periodic.bracket is not None
    assert link.periodic.bracket[1] == pytest.approx(link.limit * row.value / 100)


@published("mtk-ss")
def test_one_hosts_boundaries_lie_in_the_bracket(row: Row) -> None:
    for rate, boundary in zip((5000.0, 10_000.0), row.value, strict=True):
        in_a_microframe = rate * CODING[rate] * 125 / 8
        assert PERIODIC_SHARE[0] <= boundary / in_a_microframe <= PERIODIC_SHARE[1]


# --- packets and bursts --------------------------------------------------------------------------------------------


@published("ss-iso-48k")
def test_the_most_a_stream_reserves(row: Row) -> None:
    endpoint, told = read("super", ISOCHRONOUS, 1024, Companion(15, 2, 65535), interval=1)
    assert (endpoint.bytes_per_interval, len(told)) == (row.value, 1)
    assert reserved_mb_s(endpoint) == row.value / 125


@published("ss-burst")
def test_the_longest_burst(row: Row) -> None:
    endpoint, told = read("super", BULK, 1024, Companion(row.value, 0, 0))
    assert (endpoint.burst, told) == (row.value + 1, ())
    assert read("super", BULK, 1024, Companion(row.value + 1, 0, 0))[1]


@published("ss-mult")
def test_the_most_bursts_of_an_interval(row: Row) -> None:
    mult, bursts = (int(n) for n in numbers(row.value))
    for declared in (mult, mult + 1):
        assert read("super", ISOCHRONOUS, 1024, Companion(0, declared, 1024))[0].transactions == bursts


@published("ls-mps", "fs-mps", "hs-mps", "ss-mps")
def test_the_longest_packet_of_each_transfer_type(row: Row) -> None:
    kinds = (0, INTERRUPT) if row.id == "ls-mps" else (0, BULK, INTERRUPT, ISOCHRONOUS)
    for kind, size in zip(kinds, row.value, strict=True):
        endpoint, told = read(SPEEDS[row.id[:2]], kind, size)
        assert (endpoint.max_packet, told) == (size, ())
        longer, told = read(SPEEDS[row.id[:2]], kind, size + 1)
        assert told
        if (row.id, kind) != ("hs-mps", BULK):  # there Linux lets longer ones pass, and they are used as they are
            assert longer.max_packet == size


@published("hs-hb")
def test_three_packets_in_a_microframe(row: Row) -> None:
    endpoint, told = read("high", ISOCHRONOUS, 1024 | 2 << 11, interval=1)
    size = endpoint.max_packet * endpoint.transactions
    assert ([size, size * 1000 // endpoint.interval_us], told) == (row.value, ())
    assert service_ns("high", endpoint) == row.value[0] // 1024 * transaction_ns("high", True, True, 1024)
