"""Input events as Linux writes them, byte by byte: include/uapi/linux/input.h and input-event-codes.h."""

import struct

from hypothesis import given
from hypothesis import strategies as st

from wizard.observe.pace_events import EVENT, EventDecoder

SYN, KEY, REL, ABS, MSC, LED = 0, 1, 2, 3, 4, 0x11
SYN_REPORT, SYN_DROPPED = 0, 3
REL_X, ABS_X, ABS_Y, BTN_TOUCH, KEY_A = 0, 0, 1, 0x14A, 30


def event(at_us: int, kind: int, code: int, value: int) -> bytes:
    return struct.pack("@llHHi", at_us // 1_000_000, at_us % 1_000_000, kind, code, value)


def packet(at_us: int, *events: tuple[int, int, int]) -> bytes:
    return b"".join(event(at_us, *e) for e in (*events, (SYN, SYN_REPORT, 0)))


def test_a_report_is_what_stands_between_two_syn_report() -> None:
    data = packet(1_000_500, (REL, REL_X, -3), (REL, 1, 2)) + packet(1_001_500, (REL, REL_X, 1))
    assert [(r.at_us, r.way) for r in EventDecoder().feed(data)] == [(1_000_500, 3.0), (1_001_500, 1.0)]


def test_bytes_may_come_in_any_pieces() -> None:
    data = packet(1000, (REL, REL_X, 4)) + packet(2000, (REL, REL_X, 5))
    decoder = EventDecoder()
    found = [report for at in range(0, len(data), 7) for report in decoder.feed(data[at : at + 7])]
    assert [(r.at_us, r.way) for r in found] == [(1000, 4.0), (2000, 5.0)]


def test_an_axis_tells_its_way_in_parts_of_its_range() -> None:
    decoder = EventDecoder({ABS_X: (0, 1000)})
    first, second = decoder.feed(packet(1, (ABS, ABS_X, 100)) + packet(2, (ABS, ABS_X, 350)))
    assert (first.way, second.way) == (None, 0.25)


def test_an_axis_at_the_end_of_its_range_is_held_there() -> None:
    decoder = EventDecoder({ABS_X: (-100, 100), ABS_Y: (-100, 100)})
    data = [packet(1, (ABS, ABS_X, 100)), packet(2, (ABS, ABS_X, 100), (ABS, ABS_Y, 7)), packet(3, (ABS, ABS_X, 99))]
    assert [r.held for r in decoder.feed(b"".join(data))] == [True, False, False]


def test_a_finger_that_lifts_off_has_let_go() -> None:
    (report,) = EventDecoder().feed(packet(1, (KEY, BTN_TOUCH, 0)))
    assert report.held


def test_a_key_the_kernel_repeats_is_no_report_of_the_device() -> None:
    """Value 2 is autorepeat: Documentation/input/event-codes.rst, EV_KEY."""
    data = packet(1, (KEY, KEY_A, 1)) + packet(2, (KEY, KEY_A, 2)) + packet(3, (KEY, KEY_A, 0))
    assert [r.at_us for r in EventDecoder().feed(data)] == [1, 3]


def test_lamps_are_set_by_the_computer_and_are_no_report() -> None:
    assert list(EventDecoder().feed(packet(1, (LED, 0, 1)))) == []


def test_after_lost_events_all_up_to_the_next_report_is_thrown_away() -> None:
    """SYN_DROPPED: Documentation/input/event-codes.rst."""
    decoder = EventDecoder()
    data = packet(1000, (REL, REL_X, 1)) + event(5000, SYN, SYN_DROPPED, 0)
    data += packet(5000, (REL, REL_X, 1)) + packet(6000, (REL, REL_X, 1)) + packet(7000, (REL, REL_X, 1))
    assert [(r.at_us, r.missed) for r in decoder.feed(data)] == [(1000, False), (6000, True), (7000, False)]


def test_what_was_lost_came_after_nothing_was_waiting() -> None:
    decoder = EventDecoder()
    list(decoder.feed(packet(1000, (REL, REL_X, 1))))
    lost = event(9500, SYN, SYN_DROPPED, 0) + packet(9500) + packet(9600, (REL, REL_X, 1))
    (report,) = decoder.feed(lost, empty_us=9000)
    assert (report.missed, report.quiet_us) == (True, 8000)


@given(st.binary(max_size=EVENT.size * 12))
def test_any_bytes_do_no_harm(data: bytes) -> None:
    list(EventDecoder({ABS_X: (0, 255)}).feed(data))
