"""What the standard and Linux make of one endpoint descriptor."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wizard.bus.endpoints import Companion, EndpointFields, companion_of, read_endpoint

CONTROL, ISO, BULK, INTERRUPT = 0, 1, 2, 3  # bmAttributes bits 1..0: USB 2.0 Table 9-13


def read(attributes, packet, interval, speed, companion=None):
    return read_endpoint(EndpointFields(0x81, attributes, packet, interval), speed, companion)


@pytest.mark.parametrize(
    ("attributes", "interval", "speed", "microseconds"),
    [
        # USB 2.0 Table 9-13, bInterval: 1..255 ms at full and low speed
        (INTERRUPT, 1, "full", 1000),
        (INTERRUPT, 255, "full", 255_000),
        (INTERRUPT, 10, "low", 10_000),
        # the same table: 2^(bInterval-1) frames for full-speed isochronous
        (ISO, 1, "full", 1000),
        (ISO, 4, "full", 8000),
        # the same table: 2^(bInterval-1) microframes of 125 us at high speed
        (INTERRUPT, 1, "high", 125),
        (INTERRUPT, 4, "high", 1000),
        (ISO, 16, "high", 4_096_000),
        # USB 3.2 §9.6.6: as at high speed
        (INTERRUPT, 4, "super", 1000),
        (ISO, 1, "super_plus", 125),
        # no service interval
        (BULK, 7, "high", 0),
        (CONTROL, 0, "full", 0),
    ],
)
def test_interval_is_the_standards(attributes, interval, speed, microseconds):
    endpoint, _ = read(attributes, 8, interval, speed, Companion(0, 0, 8))
    assert endpoint.interval_us == microseconds


@pytest.mark.parametrize(
    ("attributes", "interval", "speed", "microseconds"),
    [
        # What Linux 6.1 puts in place of an illegal bInterval: its log in the capture odd-endpoints
        (INTERRUPT, 0, "full", 10_000),
        (INTERRUPT, 0, "high", 8000),
        (ISO, 0, "full", 8000),
        (ISO, 17, "full", 8000),
        (ISO, 0, "high", 8000),
        (INTERRUPT, 20, "high", 16_000),  # 20 was meant in ms: fls(160) = 8, 2^7 microframes
        (INTERRUPT, 255, "high", 128_000),  # fls(2040) = 11, 2^10 microframes
        (ISO, 0, "super", 1000),
        (ISO, 30, "super", 1000),
        (INTERRUPT, 20, "super", 16_000),
    ],
)
def test_impossible_interval_is_repaired_as_linux_does_and_told(attributes, interval, speed, microseconds):
    endpoint, told = read(attributes, 8, interval, speed, Companion(0, 0, 8))
    assert endpoint.interval_us == microseconds
    assert len(told) == 1
    assert str(interval) in told[0]


def test_high_bandwidth_endpoint_has_its_packets_per_microframe():
    # USB 2.0 Table 9-13, bits 12..11 = 10b: two additional transactions
    endpoint, told = read(ISO, 1024 | 2 << 11, 1, "high")
    assert (endpoint.max_packet, endpoint.transactions, told) == (1024, 3, ())


def test_reserved_number_of_packets_is_held_to_three():
    endpoint, told = read(ISO, 512 | 3 << 11, 1, "high")
    assert endpoint.transactions == 3
    assert told


def test_bits_above_the_packet_size_mean_nothing_for_bulk_or_at_full_speed():
    assert read(BULK, 512 | 1 << 11, 0, "high")[0].transactions == 1
    assert read(ISO, 100 | 1 << 11, 1, "full")[0].transactions == 1


@pytest.mark.parametrize(
    ("attributes", "speed", "largest"),
    [
        # USB 2.0 §5.5.3, §5.6.3, §5.7.3, §5.8.3
        (INTERRUPT, "low", 8),
        (INTERRUPT, "full", 64),
        (ISO, "full", 1023),
        (BULK, "full", 64),
        (BULK, "high", 1024),  # §5.8.3 has 512; Linux lets 1024 pass: its log in the capture odd-endpoints
        (INTERRUPT, "high", 1024),
    ],
)
def test_packet_larger_than_the_speed_allows_is_cut_and_told(attributes, speed, largest):
    endpoint, told = read(attributes, 2000, 1, speed)
    assert endpoint.max_packet == largest
    assert any("2000" in sentence for sentence in told)
    assert len(read(attributes, largest, 1, speed)[1]) == (largest == 1024 and attributes == BULK)


def test_bulk_endpoint_at_low_speed_is_used_as_interrupt_endpoint():
    # Linux 6.1: interval 1, at most 8 bytes; its log in the capture odd-endpoints
    endpoint, told = read(BULK, 64, 0, "low")
    assert (endpoint.type, endpoint.max_packet, endpoint.interval_us) == ("interrupt", 8, 1000)
    assert told


def test_super_speed_isochronous_endpoint_takes_burst_and_mult_from_its_companion():
    # USB 3.2 §9.6.7: bMaxBurst 3 = 4 packets, Mult 2 = 3 bursts
    companion = companion_of(bytes([6, 0x30, 3, 2, 0x00, 0x30]))
    endpoint, told = read(ISO, 1024, 1, "super", companion)
    assert (endpoint.burst, endpoint.transactions, endpoint.bytes_per_interval) == (4, 3, 12288)
    assert told == ()


def test_super_speed_plus_companion_gives_the_bytes_of_an_interval():
    # USB 3.2 §9.6.7 bmAttributes bit 7, §9.6.8 dwBytesPerInterval
    companion = companion_of(bytes([6, 0x30, 15, 0x80, 1, 0, 8, 0x31, 0, 0]) + (98304).to_bytes(4, "little"))
    endpoint, _ = read(ISO, 1024, 1, "super_plus", companion)
    assert endpoint.bytes_per_interval == 98304


def test_super_speed_endpoint_without_companion_gets_the_least():
    endpoint, told = read(INTERRUPT, 64, 4, "super", companion_of(bytes([7, 5, 0x82, 2, 0, 4, 0])))
    assert (endpoint.burst, endpoint.bytes_per_interval) == (1, 64)
    assert told


def test_more_bytes_per_interval_than_packets_carry_are_cut():
    endpoint, told = read(INTERRUPT, 64, 4, "super", Companion(0, 0, 500))
    assert endpoint.bytes_per_interval == 64
    assert told


SPEEDS = st.sampled_from(["low", "full", "high", "super", "super_plus"])
BYTE = st.integers(0, 255)
COMPANIONS = st.none() | st.builds(Companion, BYTE, BYTE, st.integers(0, 2**32 - 1))


@given(BYTE, BYTE, st.integers(0, 65535), BYTE, SPEEDS, COMPANIONS)
def test_any_numbers_give_an_endpoint_within_the_standard(address, attributes, packet, interval, speed, companion):
    endpoint, _ = read_endpoint(EndpointFields(address, attributes, packet, interval), speed, companion)
    assert endpoint.max_packet <= 1024
    assert 1 <= endpoint.transactions <= 3
    assert 1 <= endpoint.burst <= 16
    assert (endpoint.interval_us > 0) == endpoint.is_periodic
    assert endpoint.interval_us <= 4_096_000 or speed in ("low", "full")  # 2^15 microframes; those count in frames


@given(st.binary(max_size=40))
def test_any_bytes_after_an_endpoint_are_survived(following):
    companion = companion_of(following)
    assert companion is None or 0 <= companion.max_burst <= 255
