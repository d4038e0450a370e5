"""USB devices made of Python: descriptors, reports on a schedule, and faults, on the kernel's virtual controller.

Speaks the device's side of USB/IP (Documentation/usb/usbip_protocol.rst of Linux) over a socket whose other end
is handed to `vhci_hcd`. Runs inside the laboratory's machine only, and needs its root.
"""

from __future__ import annotations

import heapq
import itertools
import select
import socket
import struct
import threading
import time
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

CONTROL = Path("/sys/devices/platform/vhci_hcd.0")
PORTS_EACH, SLOW_PORTS = 30, 15
"""Sockets of one virtual controller, and how many of them are USB 2 (CONFIG_USBIP_VHCI_HC_PORTS of Debian's kernel)."""

SPEEDS = {"low": 1, "full": 2, "high": 3, "super": 5}  # enum usb_device_speed, include/uapi/linux/usb/ch9.h
FREE = "004"  # VDEV_ST_NULL, drivers/usb/usbip/usbip_common.h
_SUBMIT, _UNLINK, _SUBMITTED, _UNLINKED = 1, 2, 3, 4
_STALL, _UNLINKED_STATUS = -32, -104  # EPIPE; ECONNRESET
_IN = 0x80

# A game controller with two axes of 8 bits and eight buttons: HID 1.11 §6.2.2 (items), HID Usage Tables §4.
GAME_CONTROLLER = bytes.fromhex(
    "0501 0905 a101 1500 26ff00 7508 9502 0930 0931 8102 0509 1901 2908 2501 7501 9508 8102 c0".replace(" ", "")
)


@dataclass(frozen=True)
class Wanted:
    """What a device is to be.

    `period_ms` is how often its controls report (None: never), `gaps` when they fall silent: (from, for) in seconds
    after the first poll. `promised` is bInterval. `driverless` is of a class that no driver takes; `mute` answers
    nothing at all.
    """

    product: str = "emulated controller"
    speed: str = "full"
    vendor: int = 0x1209
    number: int = 0x0001
    power_ma: int = 100
    period_ms: float | None = None
    promised: int = 8
    gaps: Sequence[tuple[float, float]] = ()
    driverless: bool = False
    mute: bool = False

    def descriptors(self) -> dict[int, bytes]:
        """Device, configuration and report descriptor by type: USB 2.0 §9.6, HID 1.11 §6.2.1."""
        largest = {"low": 8, "full": 64, "high": 64, "super": 9}[self.speed]
        version = 0x0300 if self.speed == "super" else 0x0200
        device = struct.pack(
            "<BBHBBBBHHHBBBB", 18, 1, version, 0, 0, 0, largest, self.vendor, self.number, 0x0100, 0, 1, 0, 1
        )
        hid = struct.pack("<BBHBBBH", 9, 0x21, 0x0111, 0, 1, 0x22, len(GAME_CONTROLLER))
        endpoint = struct.pack("<BBBBHB", 7, 5, 0x81, 3, 8, self.promised)
        interface = struct.pack("<BBBBBBBBB", 9, 4, 0, 0, 1, 255 if self.driverless else 3, 0, 0, 0)
        body = interface + (b"" if self.driverless else hid) + endpoint
        # bMaxPower counts 2 mA; at SuperSpeed 8 mA (USB 2.0 Table 9-10, USB 3.2 §9.6.3).
        units = min(255, self.power_ma // (8 if self.speed == "super" else 2))
        head = struct.pack("<BBHBBBBB", 9, 2, 9 + len(body), 1, 1, 0, 0x80, units)
        return {1: device, 2: head + body, 0x22: GAME_CONTROLLER}

    def text(self, index: int) -> bytes:
        """A string descriptor: USB 2.0 §9.6.7."""
        body = b"\x09\x04" if index == 0 else self.product.encode("utf-16-le")[:252]
        return bytes([len(body) + 2, 3]) + body


class Loop:
    """Waits for sockets and times, and calls whoever waits for them."""

    def __init__(self) -> None:
        self._readers: dict[socket.socket, Callable[[], None]] = {}
        self._times: list[tuple[float, int, Callable[[], None]]] = []
        self._number = itertools.count()

    def read(self, end: socket.socket, call: Callable[[], None]) -> None:
        """Call when something arrives on `end`."""
        self._readers[end] = call

    def forget(self, end: socket.socket) -> None:
        """No more calls for `end`."""
        self._readers.pop(end, None)

    def at(self, when: float, call: Callable[[], None]) -> None:
        """Call at a time of `time.monotonic`."""
        heapq.heappush(self._times, (when, next(self._number), call))

    def run(self, until: Callable[[], bool], seconds: float) -> bool:
        """Go on until `until()` holds; False if that takes longer than so many seconds."""
        ends = time.monotonic() + seconds
        while not until():
            now = time.monotonic()
            if now >= ends:
                return False
            due = min(ends, self._times[0][0] if self._times else ends, now + 0.05)
            ready, _, _ = select.select(list(self._readers), [], [], max(0.0, due - now))
            for end in ready:
                if end in self._readers:
                    self._readers[end]()
            while self._times and self._times[0][0] <= time.monotonic():
                heapq.heappop(self._times)[2]()
        return True

    @contextmanager
    def beside(self) -> Iterator[None]:
        """Go on in a thread while something else is done here. Nothing may be plugged or pulled meanwhile."""
        over = threading.Event()
        thread = threading.Thread(target=self.run, args=(over.is_set, float("inf")))
        thread.start()
        try:
            yield
        finally:
            over.set()
            thread.join()


class Emulated:
    """One device, plugged into a socket of the virtual controllers and pulled out again.

    `configured` is when it was last given its configuration, None before; `sent` are the times of its reports.
    """

    def __init__(self, wanted: Wanted, loop: Loop, port: int = 0) -> None:
        self.wanted = wanted
        self.port = port + (SLOW_PORTS if wanted.speed == "super" else 0)
        self._loop = loop
        self._end: socket.socket | None = None
        self._polls: deque[int] = deque()
        self._held: set[int] = set()
        self._buffer = b""
        self._descriptors = wanted.descriptors()
        self._first_poll: float | None = None
        self._reports = 0
        self.configured: float | None = None
        self.sent: list[float] = []

    def plug(self) -> float:
        """Plug it in; the time at which the kernel was told."""
        while port_state(self.port) != FREE:
            time.sleep(0.002)
        ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_STREAM)
        number = 0x10000 + self.port + 1
        told = time.monotonic()
        line = f"{self.port} {theirs.fileno()} {number} {SPEEDS[self.wanted.speed]}"
        (CONTROL / "attach").write_text(line)
        theirs.close()
        self._end, self._buffer, self.configured = ours, b"", None
        self._polls.clear()
        self._loop.read(ours, self._readable)
        return told

    def pull(self) -> float:
        """Pull it out; the time at which the kernel was told."""
        told = time.monotonic()
        if self._end is not None:
            self._loop.forget(self._end)
            self._end.close()
            self._end = None
        return told

    def _readable(self) -> None:
        end = self._end
        if end is None:
            return
        try:
            data = end.recv(1 << 16)
        except OSError:
            data = b""
        if not data:
            self.pull()
            return
        self._buffer += data
        while self._end is not None and self._take_one():
            pass

    def _take_one(self) -> bool:
        """Handle the first whole request that has arrived."""
        if len(self._buffer) < 48:
            return False
        command, sequence, _, towards_host, endpoint = struct.unpack_from(">IIIII", self._buffer)
        if command == _UNLINK:
            (victim,) = struct.unpack_from(">I", self._buffer, 20)
            self._buffer = self._buffer[48:]
            self._unlink(sequence, victim)
            return True
        (length,) = struct.unpack_from(">I", self._buffer, 24)
        size = 48 + (0 if towards_host else length)
        if len(self._buffer) < size:
            return False
        setup, self._buffer = self._buffer[40:48], self._buffer[size:]
        if endpoint == 0:
            self._control(sequence, setup, length)
        else:
            self._poll(sequence)
        return True

    def _unlink(self, sequence: int, victim: int) -> None:
        waiting = victim in self._polls or victim in self._held
        if victim in self._polls:
            self._polls.remove(victim)
        self._held.discard(victim)
        if not self._polls:
            self._first_poll = None  # whoever listened has gone; the schedule begins anew for the next
        self._send(struct.pack(">IIIIIi24x", _UNLINKED, sequence, 0, 0, 0, _UNLINKED_STATUS if waiting else 0))

    def _control(self, sequence: int, setup: bytes, length: int) -> None:
        if self.wanted.mute:
            self._held.add(sequence)
            return
        kind, request, value, _, _ = struct.unpack("<BBHHH", setup)
        answer: bytes | None = b""
        if (kind, request) in ((0x80, 6), (0x81, 6)):  # GET_DESCRIPTOR, USB 2.0 §9.4.3
            what, index = divmod(value, 256)
            answer = self.wanted.text(index) if what == 3 else self._descriptors.get(what)
        elif (kind, request) == (0, 9):  # SET_CONFIGURATION, USB 2.0 §9.4.7
            self.configured = time.monotonic()
        elif kind & _IN:
            answer = bytes(length)
        if answer is None:
            self._answer(sequence, _STALL, b"")
        else:
            self._answer(sequence, 0, answer[:length] if kind & _IN else b"")

    def _poll(self, sequence: int) -> None:
        self._polls.append(sequence)
        if self.wanted.period_ms is not None and self._first_poll is None:
            self._first_poll = time.monotonic()
            self._reports = 0
            self._loop.at(self._due(), self._report)

    def _due(self) -> float:
        """When the next report is due; what would fall into a gap comes at its end."""
        assert self._first_poll is not None
        assert self.wanted.period_ms is not None
        after = self._reports * self.wanted.period_ms / 1000
        for begin, lasts in self.wanted.gaps:
            if after >= begin:
                after += lasts
        return self._first_poll + after

    def _report(self) -> None:
        if self._end is None or self._first_poll is None:
            return
        if self._polls:
            # Both axes move all the time, so that every report is an event.
            self._answer(self._polls.popleft(), 0, bytes([self._reports * 3 % 256, self._reports * 5 % 256, 0]))
            self.sent.append(time.monotonic())
        self._reports += 1
        self._loop.at(self._due(), self._report)

    def _answer(self, sequence: int, status: int, data: bytes) -> None:
        self._send(struct.pack(">IIIIIiIIII8x", _SUBMITTED, sequence, 0, 0, 0, status, len(data), 0, 0, 0) + data)

    def _send(self, packet: bytes) -> None:
        try:
            if self._end is not None:
                self._end.sendall(packet)
        except OSError:
            self.pull()


def port_state(port: int) -> str:
    """What the virtual controllers say of one socket."""
    controller = port // PORTS_EACH
    listing = (CONTROL / (f"status.{controller}" if controller else "status")).read_text()
    states = {int(words[1]): words[2] for words in map(str.split, listing.splitlines()[1:]) if len(words) > 2}
    return states.get(port, "")
