"""Reading kernel logs: what a user pastes or pipes in must give the right signs, whatever the form of the log."""

import json
import os
import tracemalloc
from collections.abc import Iterable, Iterator
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from wizard.bus.model import Snapshot
from wizard.bus.sign import Sign
from wizard.observe.kernel_log import as_chunks, read_signs
from wizard.observe.kernel_log_fold import MOST_LINES, MOST_SIGNS, MOST_TEXT
from wizard.observe.kernel_log_reading import Reading
from wizard.observe.kernel_log_text import plain
from wizard.observe.kernel_log_window import AROUND, windows

LOGS = Path(__file__).parents[1] / "reference" / "logs"
EXPECTED = json.loads((LOGS / "expected.json").read_text("utf-8"))


def signs_of(log: bytes, drive_case: bool = False, snapshot: Snapshot | None = None) -> dict[str, Sign]:
    """The signs by `kind@where`."""
    return {f"{sign.kind}@{sign.where}": sign for sign in read_signs([log], snapshot, drive_case)}


def lines_of(log: bytes) -> dict[str, list[int]]:
    """The line numbers by `kind@where`."""
    return {name: list(sign.lines) for name, sign in signs_of(log).items()}


@pytest.mark.parametrize("name", sorted(EXPECTED))
def test_a_whole_log_gives_exactly_its_signs_on_exactly_their_lines(name: str) -> None:
    log = (LOGS / name).read_bytes()
    assert lines_of(log) == EXPECTED[name]["signs"]


@pytest.mark.parametrize("name", sorted(EXPECTED))
def test_a_log_saved_on_windows_gives_the_same_signs(name: str) -> None:
    log = (LOGS / name).read_bytes()
    assert read_signs([log.replace(b"\n", b"\r\n")]) == read_signs([log])


@pytest.mark.parametrize("name", sorted(EXPECTED))
def test_a_count_is_the_lines_and_what_the_log_says_was_repeated(name: str) -> None:
    log = (LOGS / name).read_bytes()
    said = EXPECTED[name].get("counts", {})
    for key, sign in signs_of(log).items():
        assert sign.count == said.get(key, len(sign.lines)), key


@pytest.mark.parametrize(
    ("line", "stamp"),
    [
        (b"[   12.345678] %s", "12.345678"),
        (b"[Fri Jan 15 05:59:51 2021] %s", "Fri Jan 15 05:59:51 2021"),
        (b"[   12.345678][  T130] %s", "12.345678"),
        (b"<6>[   12.345678][    C0] %s", "12.345678"),
        (b"kern  :info  : [   12.345678] %s", "12.345678"),
        (b"[Nov16 12:54] %s", "Nov16 12:54"),
        (b"[  +0.000012] %s", "+0.000012"),
        (b"Dec 16 12:54:10 host kernel: %s", "Dec 16 12:54:10"),
        (b"Feb 17 12:35:03.780542 host kernel: %s", "Feb 17 12:35:03.780542"),
        (b"2023-11-21T18:49:17+0100 host kernel: %s", "2023-11-21T18:49:17+0100"),
        (b"2024-08-26T10:33:49.123456+02:00 host kernel: %s", "2024-08-26T10:33:49.123456+02:00"),
        (b"Apr 29 23:03:18 host kernel: [   68.358454] %s", "Apr 29 23:03:18"),
        ("déc. 16 12:54:10 host kernel: %s".encode(), "déc. 16 12:54:10"),
        (b"Feb 6 15:43:23 host %s", "Feb 6 15:43:23"),
        (b"[    1.357089]%s", "1.357089"),
        (b"** 68 printk messages dropped ** [    1.357089] %s", "1.357089"),
        (b"> [   12.345678] %s", "12.345678"),
        (b"%s", None),
    ],
)
def test_every_way_of_stamping_a_line_is_read(line: bytes, stamp: str | None) -> None:
    (sign,) = read_signs([line.replace(b"%s", b"usb 1-4.2: device descriptor read/64, error -71")])
    assert (sign.kind, sign.where) == ("descriptor_read_failed", "1-4.2")
    assert (sign.first, sign.last) == (stamp, stamp)
    assert sign.text == "usb 1-4.2: device descriptor read/64, error -71"


def test_first_and_last_are_the_outermost_stamps() -> None:
    (sign,) = read_signs([b"[ 1.5] usb 1-1: USB disconnect\n[ 2.5] x\n[ 9.5] usb 1-1: USB disconnect\n"])
    assert (sign.first, sign.last, sign.count, sign.lines) == ("1.5", "9.5", 2, (1, 3))


@pytest.mark.parametrize(
    ("line", "text"),
    [
        ("kernel: usb 1-1: USB disconnect, device number 2", "usb 1-1: USB disconnect, device number 2"),
        ("kernel: [   12.500000] Under-voltage detected!", "Under-voltage detected!"),
        (
            "kernel: [   12.500000] scsi host4: uas_eh_device_reset_handler start",
            "scsi host4: uas_eh_device_reset_handler start",
        ),
        ("kernel: usbhid: probe of 1-1:1.0 failed with error -71", "usbhid: probe of 1-1:1.0 failed with error -71"),
        ("tool[12]: VIDIOC_STREAMON: No space left on device", "tool[12]: VIDIOC_STREAMON: No space left on device"),
        ("usb 1-1: USB disconnect", "usb 1-1: USB disconnect"),
    ],
)
@pytest.mark.parametrize("date", ["Dec 16 12:54:10", "2024-08-26T10:33:49.123456+02:00"])
def test_the_host_name_of_a_log_stays_out_of_the_sample(date: str, line: str, text: str) -> None:
    (sign,) = read_signs([f"{date} private-name {line}".encode()])
    assert sign.text == text


def test_signs_come_in_the_order_of_the_log() -> None:
    log = b"usb 2-1: USB disconnect\nscsi host6: uas_eh_device_reset_handler start\nusb 1-1: USB disconnect"
    assert [sign.where for sign in read_signs([log])] == ["2-1", "host6", "1-1"]


def test_a_repeat_that_follows_another_line_counts_for_no_sign() -> None:
    lines = (b"kernel: usb 1-1: USB disconnect", b"cron: nothing", b"last message repeated 3 times")
    log = b"".join(b"Nov  2 01:00:00 host %b\n" % line for line in lines)
    assert signs_of(log)["disconnect@1-1"].count == 1


def test_lines_kept_are_at_most_the_first_thousand_but_the_count_goes_on() -> None:
    (sign,) = read_signs([b"usb 1-1: USB disconnect, device number 2\n" * 1_500])
    assert sign.count == 1_500
    assert sign.lines == tuple(range(1, MOST_LINES + 1))


def test_a_sample_is_cut_and_shows_nothing_that_could_trick_a_screen() -> None:
    (sign,) = read_signs(["usb 1-1: USB disconnect \x1b[31m\u202e".encode() + b"\xff\x00" + b"a" * 900])
    assert len(sign.text) == MOST_TEXT
    assert sign.text.isprintable()


def test_a_log_made_to_have_endless_places_stays_small() -> None:
    log = b"".join(b"usb %d-%d.%d: USB disconnect\n" % (i % 200, 1 + i // 200 % 200, i // 40_000) for i in range(6_000))
    signs = read_signs([log])
    assert len(signs) == MOST_SIGNS + 1
    assert sum(sign.count for sign in signs) == 6_000


def test_an_endless_line_is_not_a_kernel_message() -> None:
    assert read_signs([b"x" * 100_000 + b" usb 1-1: USB disconnect"]) == ()


def test_the_text_of_a_case_is_read_like_its_bytes() -> None:
    log = (LOGS / "power_syslog.log").read_text("utf-8")
    assert read_signs(as_chunks(log)) == read_signs([log.encode()])


def test_text_that_is_no_unicode_is_still_read() -> None:
    assert [sign.where for sign in read_signs(as_chunks("\ud800 usb 1-1: USB disconnect, device number 2"))] == ["1-1"]


def test_an_empty_log_has_no_signs() -> None:
    assert read_signs([]) == read_signs([b""]) == read_signs(as_chunks("")) == ()


# Parts that fuzzed logs are made of: whole lines, their pieces, and the signs that hold them together.
PIECES = st.sampled_from(
    [line for name in sorted(EXPECTED) for line in (LOGS / name).read_bytes().splitlines()]
    + [
        b"usb 1-1",
        b": ",
        b":",
        b"\n",
        b"\r\n",
        b"> ",
        b"[ 12.5] ",
        b"last message repeated 3 times",
        b"scsi host6: uas",
    ]
    + [b"new high-speed USB device", b"can't resume", b"I/O error, dev sdb", b"urb status -71", b" ", b"\x00", b"\xff"]
)
FUZZED = st.lists(st.one_of(PIECES, st.binary(max_size=12)), max_size=60).flatmap(
    lambda parts: st.sampled_from([b"", b" ", b"\n"]).map(lambda between: between.join(parts))
)


@given(FUZZED, st.booleans())
def test_any_bytes_are_read_without_a_fault(log: bytes, drive_case: bool) -> None:
    for sign in read_signs([log], None, drive_case):
        assert sign.count >= 1
        assert sign.lines
        assert sign.lines == tuple(sorted(set(sign.lines)))
        assert 1 <= sign.lines[0] <= sign.lines[-1] <= log.count(b"\n") + 1
        assert len(sign.text) <= MOST_TEXT


@given(FUZZED)
def test_a_line_belongs_to_one_sign_at_most(log: bytes) -> None:
    lines = [line for sign in read_signs([log]) for line in sign.lines]
    assert len(lines) == len(set(lines))


def cut(log: bytes, places: list[int]) -> Iterator[bytes]:
    """The log in chunks that end at `places` (modulo its length)."""
    ends = sorted({place % (len(log) + 1) for place in places} | {0, len(log)})
    for begin, end in pairwise(ends):
        yield log[begin:end]


@given(FUZZED, st.lists(st.integers(min_value=0), max_size=8))
def test_where_chunks_are_cut_changes_nothing(log: bytes, places: list[int]) -> None:
    assert read_signs(cut(log, places)) == read_signs([log])


def read_in_steps(chunks: Iterable[bytes], step: int) -> tuple[Sign, ...]:
    """Read with a window of another size than usual."""
    reading = Reading(None, False)
    for window in windows(plain(chunks), step):
        reading.take(window)
    return reading.signs()


@settings(max_examples=25, suppress_health_check=[HealthCheck.too_slow])
@given(FUZZED, st.integers(min_value=0, max_value=3_000), st.integers(min_value=500, max_value=20_000))
def test_where_windows_end_changes_nothing(log: bytes, filler: int, step: int) -> None:
    # Longer than a window, so that it is read in several; the fuzzed part falls on every kind of edge.
    long = (log + b"\n" + b"[ 1.0] usb 1-2: Product: a plain thing\n" * (filler // 38 + 1)) * (
        3 * AROUND // (len(log) + filler + 1) + 1
    )
    assert read_in_steps([long], step) == read_signs([long])


@pytest.mark.slow
def test_memory_does_not_grow_with_the_log() -> None:
    part = (
        b"[ 1.0] usb 1-2: Product: a plain thing, of which a log has many\n" * 999 + b"[ 2.0] usb 1-2: USB disconnect\n"
    ) * 15
    tracemalloc.start()
    try:
        (sign,) = read_signs(part for _ in range(100))
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert sign.count == 1_500
    # A few windows of 1 MiB; the log is about 95 MB.
    assert peak < 16_000_000


@pytest.mark.skipif("PORTMEND_LOG_SAMPLES" not in os.environ, reason="names no folder of labelled public logs")
def test_labelled_public_logs_are_read_as_their_labels_say() -> None:
    folder = Path(os.environ["PORTMEND_LOG_SAMPLES"])
    found = wanted = right = 0
    for name, label in json.loads((folder / "expected.json").read_text("utf-8")).items():
        got = set(signs_of((folder / name).read_bytes(), drive_case=True))
        found, wanted, right = found + len(got), wanted + len(label["signs"]), right + len(got & set(label["signs"]))
    # The project's targets for logs it has not seen.
    assert right / wanted >= 0.97
    assert right / found >= 0.95
