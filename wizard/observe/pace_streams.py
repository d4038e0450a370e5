"""Open streams of input reports: opened for reading only, never waited for, never taken away from others.

Knows file handles, and of Linux's input devices the two questions worth asking them. On a system without such
devices nothing here can be opened.
"""

import errno
import os
import struct
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass

from wizard.bus.pace import Report
from wizard.observe.pace_events import EVENT, EventDecoder
from wizard.observe.pace_places import Place

if sys.platform != "win32":
    import fcntl

PATIENCE_S = 5.0
"""A device needs a moment to wake up; longer than this it is stuck: common practice (no source)."""

_OPEN = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_CLOEXEC", 0)
_CHUNK = EVENT.size * 256
_MOST_AT_ONCE = 64  # reads before others get their turn, so that a flood starves nobody
_RAW_REPORT = 4096 + 1  # HID_MAX_BUFFER_SIZE of older kernels; a longer report is cut, which changes nothing here

# asm-generic/ioctl.h with include/uapi/linux/input.h. On processors that number calls in another way (MIPS, POWER,
# SPARC) they fail, and it goes on without the answer.
_SET_CLOCK = 0x400445A0  # EVIOCSCLOCKID
_GET_AXIS = 0x80184540  # EVIOCGABS(0)
_AXIS = struct.Struct("@6i")  # struct input_absinfo: value, minimum, maximum, fuzz, flat, resolution
_AXES = 0x40  # ABS_CNT


@dataclass(eq=False)
class Stream:
    """One open node. `read` gives what has come since, at once; `over` says that nothing will come any more.

    `steady_clock`: its times are on the system's monotonic clock; `empty_us` when on that clock nothing was waiting.
    """

    place: Place
    handle: int
    decode: Callable[[bytes, int], Iterator[Report]]
    chunk: int
    over: bool = False
    failure: str | None = None
    steady_clock: bool = True
    empty_us: int = 0

    def read(self) -> Iterator[Report]:
        """The reports waiting; none if there are none. A device that leaves or fails ends the stream."""
        for _ in range(_MOST_AT_ONCE):
            try:
                data = os.read(self.handle, self.chunk)
            except BlockingIOError:
                self.seen_empty()
                return
            except OSError as error:
                self.over = True
                self.failure = "left" if error.errno == errno.ENODEV else os.strerror(error.errno or 0)
                return
            if not data:
                self.over = True
                self.failure = self.failure or "left"
                return
            yield from self.decode(data, self.empty_us if self.steady_clock else 0)

    def seen_empty(self) -> None:
        """Nothing is waiting to be read at this moment."""
        self.empty_us = _now_us()

    def close(self) -> None:
        """Let go of it."""
        with suppress(OSError):
            os.close(self.handle)


def open_stream(place: Place) -> Stream:
    """Open one place for reading. Raises OSError as the system does, TimeoutError if it does not get to it.

    Opening wakes a sleeping device, and a hub that is busy with one that never answers keeps everybody waiting. That
    can't be called off: it is left to a thread of its own, which closes again what it gets too late.
    """
    opening = _Opening(place.path)
    threading.Thread(target=opening.work, name="portmend-opening", daemon=True).start()
    return stream_of(place, opening.wait())


class _Opening:
    """One node being opened; whoever waits may give up."""

    def __init__(self, path: str) -> None:
        self._path = path
        self._lock = threading.Lock()
        self._done = threading.Event()
        self._handle: int | None = None
        self._failure: OSError | None = None
        self._given_up = False

    def work(self) -> None:
        try:
            handle = os.open(self._path, _OPEN)
        except OSError as failure:
            self._failure = failure
        else:
            with self._lock:
                self._handle = handle
                if self._given_up:
                    os.close(handle)
        self._done.set()

    def wait(self) -> int:
        """The handle. Raises OSError."""
        self._done.wait(PATIENCE_S)
        with self._lock:
            if self._handle is not None:
                return self._handle
            self._given_up = True
        if self._failure is not None:
            raise self._failure
        raise TimeoutError(errno.ETIMEDOUT, "it does not answer", self._path)


def stream_of(place: Place, handle: int) -> Stream:
    """A stream on an open handle that does not block."""
    if place.kind == "hidraw":
        return Stream(place, handle, _RawDecoder(place.relative).feed, _RAW_REPORT)
    steady = _use_steady_clock(handle)
    return Stream(place, handle, EventDecoder(_ranges(handle)).feed, _CHUNK, steady_clock=steady)


def _use_steady_clock(handle: int) -> bool:
    """Have the kernel stamp events with the clock that nobody sets."""
    if sys.platform == "win32":
        return False
    try:
        fcntl.ioctl(handle, _SET_CLOCK, struct.pack("@i", time.CLOCK_MONOTONIC))
    except OSError:
        return False
    return True


def _ranges(handle: int) -> dict[int, tuple[int, int]]:
    """The ranges of all axes the device has."""
    found: dict[int, tuple[int, int]] = {}
    if sys.platform == "win32":
        return found
    for code in range(_AXES):
        try:
            answer = fcntl.ioctl(handle, _GET_AXIS + code, bytes(_AXIS.size))
        except OSError:
            return found  # it has no axes, or is no input device at all
        _, low, high, *_ = _AXIS.unpack(answer)
        if high > low:
            found[code] = (low, high)
    return found


def _now_us() -> int:
    return time.monotonic_ns() // 1000


class _RawDecoder:
    """Raw reports carry no time: it is taken when they are fetched."""

    def __init__(self, relative: bool) -> None:
        self._relative = relative
        self._before: bytes | None = None

    def feed(self, data: bytes, _empty_us: int = 0) -> Iterator[Report]:
        same = data == self._before and not self._relative
        self._before = data
        yield Report(at_us=_now_us(), same=same)
