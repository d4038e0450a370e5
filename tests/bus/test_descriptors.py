"""Reading descriptors: what well-formed ones say, and that nothing else does harm."""

import time

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from sysfs_builder import KEYBOARD, configuration, device, endpoint, interface

from wizard.bus.descriptors import LARGEST_BLOB, parse_descriptors

VENDOR = (0xFF, 0, 0)


def sentences(described):
    return " / ".join(problem.detail for problem in described.problems)


def test_device_descriptor_is_read_by_table_9_8():
    blob = device((0xEF, 2, 1), configuration(1, 0x80, 50, interface(0, 0, VENDOR)), version=0x0210, ids=(0x1D6B, 0xAB))
    told = parse_descriptors(blob, "high").device
    assert (told.usb_version, told.vid, told.pid, told.release) == ("2.10", "1d6b", "00ab", "1.23")
    assert (told.class_code, told.subclass, told.protocol, told.max_packet_0) == (0xEF, 2, 1, 64)
    assert (told.manufacturer_index, told.product_index, told.serial_index, told.configurations) == (1, 2, 3, 1)


def test_a_well_formed_keyboard_gives_no_problem():
    described = parse_descriptors(KEYBOARD, "full")
    assert described.problems == ()
    (only,) = described.configurations
    assert (only.value, only.self_powered, only.remote_wakeup, only.total_length) == (1, False, True, 25)
    (keys,) = only.interfaces
    assert (keys.number, keys.class_code, keys.subclass, keys.protocol) == (0, 3, 1, 1)
    (reports,) = keys.alternates[0].endpoints
    assert (reports.address, reports.type, reports.max_packet, reports.interval_us) == (0x81, "interrupt", 8, 10_000)


@pytest.mark.parametrize(
    ("speed", "milliamperes"),
    # USB 2.0 Table 9-10: 2 mA units; USB 3.2 §9.6.3: 8 mA units at Gen X speed
    [("low", 100), ("full", 100), ("high", 100), ("super", 400), ("super_plus", 400)],
)
def test_declared_current_is_counted_in_the_units_of_the_speed(speed, milliamperes):
    assert parse_descriptors(KEYBOARD, speed).configurations[0].max_power_ma == milliamperes


def test_without_a_speed_the_size_of_packet_0_decides():
    # USB 3.2 §9.6.1: bMaxPacketSize0 is 9, meaning 2^9, at SuperSpeed
    fast = device((0, 0, 0), configuration(1, 0x80, 10, interface(0, 0, VENDOR)), packet_0=9)
    assert parse_descriptors(fast, None).configurations[0].max_power_ma == 80
    assert parse_descriptors(KEYBOARD, None).speed == "full"


def test_every_alternate_setting_is_kept_with_its_own_protocol():
    hub = device(
        (9, 0, 2),
        configuration(
            1,
            0xE0,
            0,
            interface(0, 0, (9, 0, 1), endpoint(0x81, 3, 1, 12)),
            interface(0, 1, (9, 0, 2), endpoint(0x81, 3, 1, 12)),
        ),
    )
    (only,) = parse_descriptors(hub, "high").configurations[0].interfaces
    assert [(a.number, a.protocol, len(a.endpoints)) for a in only.alternates] == [(0, 1, 1), (1, 2, 1)]


def test_endpoint_that_two_interfaces_claim_belongs_to_the_first():
    blob = device(
        (0, 0, 0),
        configuration(
            1,
            0x80,
            50,
            interface(0, 0, VENDOR, endpoint(0x81, 2, 64, 0)),
            interface(1, 0, VENDOR, endpoint(0x81, 2, 64, 0), endpoint(0x02, 2, 64, 0)),
        ),
    )
    described = parse_descriptors(blob, "full")
    first, second = described.configurations[0].interfaces
    assert [e.address for e in first.alternates[0].endpoints] == [0x81]
    assert [e.address for e in second.alternates[0].endpoints] == [0x02]
    assert "0x81 a second time" in sentences(described)


def test_second_configuration_is_found_behind_one_that_linux_cut_short():
    # Linux keeps the bytes up to the broken descriptor and leaves wTotalLength as it was.
    first = bytearray(configuration(1, 0x80, 50, interface(0, 0, VENDOR, endpoint(0x81, 2, 64, 0))))
    first[2] = 200
    blob = device((0, 0, 0), bytes(first), configuration(2, 0xC0, 0, interface(0, 0, VENDOR)))
    described = parse_descriptors(blob, "full")
    assert [c.value for c in described.configurations] == [1, 2]
    assert described.configuration(2).self_powered


def test_more_endpoints_than_announced_are_left_out():
    body = bytearray(interface(0, 0, VENDOR, endpoint(0x81, 2, 64, 0), endpoint(0x02, 2, 64, 0)))
    body[4] = 1
    described = parse_descriptors(device((0, 0, 0), configuration(1, 0x80, 50, bytes(body))), "full")
    assert [e.address for e in described.configurations[0].interfaces[0].alternates[0].endpoints] == [0x81]
    assert "2 endpoints instead of 1" in sentences(described)


def test_unknown_descriptors_between_the_known_ones_are_passed_over():
    hid = bytes([9, 0x21, 0x11, 1, 0, 1, 0x22, 63, 0])  # HID 1.11 §6.2.1
    audio_endpoint = bytes([9, 5, 0x82, 1, 100, 0, 1, 0, 0])  # 9 bytes: USB Audio 1.0 §4.6.1.1
    setting = interface(0, 0, VENDOR) + hid + audio_endpoint
    setting = setting[:4] + b"\x01" + setting[5:]
    described = parse_descriptors(device((0, 0, 0), configuration(1, 0x80, 50, setting)), "full")
    assert [e.address for e in described.configurations[0].interfaces[0].alternates[0].endpoints] == [0x82]
    assert described.problems == ()


@pytest.mark.parametrize("length", [0, 1, 200])
def test_descriptor_of_impossible_length_ends_its_configuration(length):
    broken = interface(0, 0, VENDOR) + bytes([length, 5, 0x81, 3, 8, 0, 10])
    described = parse_descriptors(device((0, 0, 0), configuration(1, 0x80, 50, broken)), "full")
    assert len(described.configurations[0].interfaces) == 1
    assert f"impossible length {length}" in sentences(described)


def test_a_blob_cut_anywhere_still_gives_what_came_before():
    for length in range(len(KEYBOARD)):
        described = parse_descriptors(KEYBOARD[:length], "full")
        assert (described.device is not None) == (length >= 18)
        assert described.problems, length


def test_problems_name_the_place_they_were_given():
    (problem, *_) = parse_descriptors(b"", "full", "1-4/descriptors").problems
    assert (problem.where, problem.reason) == ("1-4/descriptors", "garbled")


def test_what_lies_beyond_the_largest_possible_blob_is_not_read():
    described = parse_descriptors(KEYBOARD + bytes(LARGEST_BLOB), "full")
    assert described.device is not None
    assert "more than one device" in sentences(described)


@pytest.mark.parametrize(
    "filler",
    [
        interface(0, 0, VENDOR),
        endpoint(0x81, 3, 8, 10),
        interface(1, 1, VENDOR) + endpoint(0x81, 3, 8, 0),
        bytes([2, 0xFF]),
        bytes([9, 2, 255, 255, 1, 1, 0, 0, 0]),
    ],
)
def test_the_largest_hostile_blob_is_read_in_a_moment(filler):
    body = (filler * (65535 // len(filler)))[: 65535 - 9]
    head = b"\x09\x02\xff\xff\xff\x01\x00\x80\x32"
    started = time.perf_counter()
    described = parse_descriptors(device((0, 0, 0), head + body), "high")
    assert time.perf_counter() - started < 2  # seconds; a tenth of that is usual
    assert len(described.problems) <= 20


@given(st.binary(max_size=600), st.sampled_from([None, "low", "full", "high", "super", "super_plus"]))
@example(b"\x12\x01" + bytes(14) + b"\xff\xff" + b"\x09\x02\x09\x00\x00\x01\x00\x80\x00" * 20, "high")
def test_any_bytes_are_survived(blob, speed):
    described = parse_descriptors(blob, speed)
    assert len(described.configurations) <= 8
    assert all(problem.reason == "garbled" for problem in described.problems)


@given(st.lists(st.tuples(st.integers(0, len(KEYBOARD) - 1), st.integers(0, 255)), max_size=6))
def test_a_keyboard_with_any_bytes_changed_is_survived(changes):
    blob = bytearray(KEYBOARD)
    for at, value in changes:
        blob[at] = value
    parse_descriptors(bytes(blob), "full")


ENDPOINTS = st.lists(
    st.tuples(st.integers(1, 15), st.booleans(), st.integers(1, 8)), max_size=4, unique_by=lambda e: e[:2]
)


@st.composite
def well_formed(draw):
    """Bytes, and what they say: configurations of interfaces of alternate settings of interrupt endpoints."""
    configurations, expected = [], []
    for value in range(1, draw(st.integers(1, 3)) + 1):
        interfaces, told, taken = [], [], set()
        for number in range(draw(st.integers(0, 4))):
            settings_told, own = [], set()
            for alternate in range(draw(st.integers(1, 3))):
                chosen = [e for e in draw(ENDPOINTS) if e[:2] not in taken]
                own |= {e[:2] for e in chosen}
                parts = [endpoint(n | (0x80 if inward else 0), 3, 8, interval) for n, inward, interval in chosen]
                interfaces.append(interface(number, alternate, (0xFF, number, alternate), *parts))
                addresses = [n | (0x80 if inward else 0) for n, inward, _ in chosen]
                intervals = [125 * 2 ** (interval - 1) for *_, interval in chosen]
                settings_told.append((alternate, alternate, addresses, intervals))
            taken |= own
            told.append((number, settings_told))
        power = draw(st.integers(0, 250))
        configurations.append(configuration(value, 0xC0, power, *interfaces))
        expected.append((value, power * 2, told))
    return device((0, 0, 0), *configurations), expected


@given(well_formed())
@settings(max_examples=60)
def test_what_was_written_is_what_is_read(case):
    blob, expected = case
    described = parse_descriptors(blob, "high")
    assert described.problems == ()
    assert [
        (
            c.value,
            c.max_power_ma,
            [
                (
                    i.number,
                    [
                        (a.number, a.protocol, [e.address for e in a.endpoints], [e.interval_us for e in a.endpoints])
                        for a in i.alternates
                    ],
                )
                for i in c.interfaces
            ],
        )
        for c in described.configurations
    ] == expected
