"""Streams of reports over pipes in place of devices: nothing waits, a device may leave at any time."""

import os
import stat
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from wizard.bus.errors import BadInputError
from wizard.bus.pace import Report
from wizard.observe import pace_streams
from wizard.observe.pace import Listener, follow
from wizard.observe.pace_events import EVENT
from wizard.observe.pace_places import Place
from wizard.observe.pace_streams import Stream, open_stream, stream_of

EVENTS = Place("event", "/dev/input/event9")
RAW = Place("hidraw", "/dev/hidraw9", relative=False)

pytestmark = pytest.mark.skipif(os.name == "nt", reason="device nodes are Linux's")


@pytest.fixture
def pipe() -> Iterator[tuple[int, int]]:
    ends = os.pipe()
    os.set_blocking(ends[0], False)
    yield ends
    for end in ends:
        try:
            os.close(end)
        except OSError:
            continue


def moves(count: int, first_us: int = 0) -> bytes:
    return b"".join(
        EVENT.pack(0, first_us + at * 1000, 2, 0, 1) + EVENT.pack(0, first_us + at * 1000, 0, 0, 0)
        for at in range(count)
    )


def followed(stream: Stream, seconds: float, **more: object) -> tuple[list[Report], float]:
    reports: list[Report] = []
    listener = Listener(lambda _stream, report: reports.append(report), **more)  # type: ignore[arg-type]  # a test's own
    return reports, follow([stream], seconds, [stream], listener)


def test_reports_come_through_and_the_time_ends_it(pipe: tuple[int, int]) -> None:
    os.write(pipe[1], moves(50))
    reports, took = followed(stream_of(EVENTS, pipe[0]), 0.2)
    assert len(reports) == 50
    assert 0.2 <= took < 2


def test_a_silent_device_does_not_hold_up_the_end(pipe: tuple[int, int]) -> None:
    reports, took = followed(stream_of(EVENTS, pipe[0]), 0.15)
    assert (reports, took < 2) == ([], True)


def test_a_wish_to_stop_is_heard_at_once(pipe: tuple[int, int]) -> None:
    begun = time.monotonic()
    followed(stream_of(EVENTS, pipe[0]), 60, stop=lambda: time.monotonic() - begun > 0.1)
    assert time.monotonic() - begun < 2


def test_a_device_that_leaves_ends_it_with_what_there_was(pipe: tuple[int, int]) -> None:
    os.write(pipe[1], moves(7))
    os.close(pipe[1])
    stream = stream_of(EVENTS, pipe[0])
    reports, took = followed(stream, 60)
    assert (len(reports), stream.failure, took < 2) == (7, "left", True)


def test_a_flood_is_cut_off_in_time(pipe: tuple[int, int]) -> None:
    done = threading.Event()

    def flood() -> None:
        data = moves(500)
        while not done.is_set():
            try:
                os.write(pipe[1], data)
            except OSError:
                return

    os.set_blocking(pipe[1], False)
    writer = threading.Thread(target=flood, daemon=True)
    writer.start()
    stream = stream_of(EVENTS, pipe[0])
    counted = [0]

    def count(_stream: Stream, _report: Report) -> None:
        counted[0] += 1

    took = follow([stream], 0.3, [stream], Listener(count))
    done.set()
    writer.join(5)
    assert counted[0] > 0
    assert took < 3


def test_the_handle_is_closed_afterwards(pipe: tuple[int, int]) -> None:
    followed(stream_of(EVENTS, pipe[0]), 0.05)
    with pytest.raises(OSError, match="Bad file descriptor"):
        os.fstat(pipe[0])


@pytest.mark.parametrize("seconds", [0, -1, float("nan"), float("inf"), 1e9])
def test_an_impossible_time_is_refused(pipe: tuple[int, int], seconds: float) -> None:
    with pytest.raises(BadInputError, match="not possible"):
        followed(stream_of(EVENTS, pipe[0]), seconds)


def test_a_raw_report_is_the_same_as_the_one_before_or_not(pipe: tuple[int, int]) -> None:
    stream = stream_of(RAW, pipe[0])
    found = []
    for data in (b"\x01\x02", b"\x01\x02", b"\x01\x03"):
        os.write(pipe[1], data)
        found += [report.same for report in stream.read()]
    assert found == [False, True, False]


def test_ways_gone_that_repeat_are_not_the_same_position(pipe: tuple[int, int]) -> None:
    stream = stream_of(Place("hidraw", "/dev/hidraw9", relative=True), pipe[0])
    found = []
    for _ in range(3):
        os.write(pipe[1], b"\x00\x01\x00")
        found += [report.same for report in stream.read()]
    assert found == [False, False, False]


def test_opening_never_waits_and_never_writes(tmp_path: Path) -> None:
    fifo = tmp_path / "event0"
    os.mkfifo(fifo)
    assert stat.S_ISFIFO(fifo.stat().st_mode)
    stream = open_stream(Place("event", str(fifo)))  # without a writer an ordinary opening would wait for ever
    with pytest.raises(OSError, match="Bad file descriptor"):
        os.write(stream.handle, b"x")
    stream.close()


def test_a_device_that_never_lets_itself_be_opened_is_given_up_and_closed_when_it_comes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    go_on, opened, closed = threading.Event(), [], threading.Event()
    real_open, real_close = os.open, os.close

    def stuck(path: str, flags: int) -> int:
        go_on.wait(10)
        opened.append(real_open(path, flags))
        return opened[0]

    def close(handle: int) -> None:
        real_close(handle)
        if handle in opened:
            closed.set()

    (tmp_path / "event0").touch()
    monkeypatch.setattr(pace_streams, "PATIENCE_S", 0.1)
    monkeypatch.setattr(pace_streams.os, "open", stuck)
    monkeypatch.setattr(pace_streams.os, "close", close)
    begun = time.monotonic()
    with pytest.raises(TimeoutError, match="does not answer"):
        open_stream(Place("event", str(tmp_path / "event0")))
    assert time.monotonic() - begun < 5
    go_on.set()
    assert closed.wait(5)


def test_a_refusal_is_handed_on(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        open_stream(Place("event", str(tmp_path / "nothing")))
