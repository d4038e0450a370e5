"""Reports out of the stream of a Linux event device, with the kernel's own time stamps. Knows bytes, no files.

Structures and codes: include/uapi/linux/input.h, input-event-codes.h; Documentation/input/event-codes.rst: a report is
what stands between two SYN_REPORT; SYN_DROPPED says that reports were lost, and what follows up to the next
SYN_REPORT is to be thrown away.
"""

import struct
from collections.abc import Iterator, Mapping

from wizard.bus.pace import Report

EVENT = struct.Struct("@llHHi")
"""`struct input_event` in the sizes of this machine: 24 bytes where `long` has 8."""

_EV_SYN, _EV_KEY, _EV_REL, _EV_ABS, _EV_MSC, _EV_SW = range(6)
_SYN_REPORT, _SYN_DROPPED = 0, 3
_AUTOREPEAT = 2  # the value of a key the kernel repeats by itself
_LIFTED = frozenset([0x14A, 0x140, 0x145])  # BTN_TOUCH, BTN_TOOL_PEN, BTN_TOOL_FINGER
_FROM_DEVICE = frozenset([_EV_KEY, _EV_REL, _EV_ABS, _EV_MSC, _EV_SW])  # lamps and sounds go the other way

Ranges = Mapping[int, tuple[int, int]]
"""Lowest and highest position of an absolute axis, by its code."""


class EventDecoder:
    """Turns bytes into reports; keeps what is unfinished for the next ones."""

    def __init__(self, ranges: Ranges | None = None) -> None:
        self._ranges = ranges or {}
        self._positions: dict[int, int] = {}
        self._rest = b""
        self._begin()
        self._dropped = self._missed = False
        self._last_us = 0

    def _begin(self) -> None:
        self._any = self._lifted = False
        self._way = 0.0
        self._moved: list[int] = []
        self._measured = False

    def feed(self, data: bytes, empty_us: int = 0) -> Iterator[Report]:
        """The reports that these bytes complete. `empty_us` is when, on the clock of the stamps, nothing was waiting
        to be read: whatever was lost since came later."""
        data = self._rest + data
        whole = len(data) - len(data) % EVENT.size
        self._rest = data[whole:]
        for seconds, micros, kind, code, value in EVENT.iter_unpack(data[:whole]):
            if kind != _EV_SYN:
                self._take(kind, code, value)
            elif code == _SYN_DROPPED:
                self._dropped = True
            elif code == _SYN_REPORT:
                report = self._finish(seconds * 1_000_000 + micros, empty_us)
                if report is not None:
                    yield report

    def _take(self, kind: int, code: int, value: int) -> None:
        if kind not in _FROM_DEVICE or (kind == _EV_KEY and value == _AUTOREPEAT):
            return
        self._any = True
        if kind == _EV_REL:
            self._went(abs(value))
        elif kind == _EV_ABS:
            before = self._positions.get(code)
            self._positions[code] = value
            self._moved.append(code)
            if before is not None:
                self._went(abs(value - before) / self._span(code))
        elif kind == _EV_KEY and value == 0 and code in _LIFTED:
            self._lifted = True

    def _went(self, way: float) -> None:
        self._measured = True
        self._way = max(self._way, way)

    def _span(self, code: int) -> int:
        low, high = self._ranges.get(code, (0, 1))
        return max(1, high - low)

    def _finish(self, at_us: int, empty_us: int) -> Report | None:
        any_, dropped = self._any, self._dropped
        self._missed = self._missed or dropped
        report = None
        if any_ and not dropped:
            way = self._way if self._measured else None
            quiet_us = max(0, min(empty_us, at_us) - self._last_us) if self._missed and self._last_us else 0
            report = Report(at_us=at_us, way=way, held=self._is_held(), missed=self._missed, quiet_us=quiet_us)
            self._missed = False
            self._last_us = at_us
        self._dropped = False
        self._begin()
        return report

    def _is_held(self) -> bool:
        """Lifted off, or all that moved now stands at an end of its range."""
        known = [self._ranges[code] for code in self._moved if code in self._ranges]
        at_end = [self._positions[c] in self._ranges[c] for c in self._moved if c in self._ranges]
        return self._lifted or (bool(known) and len(known) == len(self._moved) and all(at_end))
