"""A spot of a log that was hit, with the line it lies on and what stands around it.

Knows lines: which continue others, what stands before a message and behind it. Not what messages mean.
"""

import re
from typing import NamedTuple

from wizard.observe.kernel_log_place import Place, find_place
from wizard.observe.kernel_log_scan import Hit
from wizard.observe.kernel_log_stamps import is_stamped, stamp_of
from wizard.observe.kernel_log_window import Window

_WRAP = re.compile(rb"\s*\n(?:>\s?)*")
_COLON = re.compile(rb":\s")
_REPEATED = re.compile(rb"message repeated (\d{1,9}) times: \[")


class Named(NamedTuple):
    """A place named before a message, the words from there to the colon, and the offset of that colon."""

    place: Place
    words: bytes
    colon: int


class Spot:
    """A hit on the line that starts at `start`."""

    def __init__(self, window: Window, hit: Hit, start: int) -> None:
        self._window = window
        self._start = start
        self.hit = hit
        self.number = window.line_number(max(start, hit.at))

    def last_number(self) -> int:
        """The number of the line that what matched ends on."""
        return self._window.line_number(max(self._start, self.hit.end))

    def head(self) -> bytes:
        """What stands on the line before the message's colon."""
        return self._window.data[self._start : self.hit.at]

    def line(self) -> bytes:
        """The line, and the next ones if what matched reaches into them."""
        return self._window.data[self._start : self._end_behind(self._start)]

    def logical_line(self) -> bytes:
        """The line, with the next two if they have no stamp of their own while this one has."""
        window, line = self._window, self.line()
        end = self._start + len(line)
        for _ in range(2):
            following = window.data[end + 1 : window.line_end(end + 1)] if end < len(window.data) else b""
            if not is_stamped(line) or not following.strip() or is_stamped(following):
                break
            line, end = line + b" " + following, end + 1 + len(following)
        return line

    def message(self) -> bytes:
        """What stands behind the colon."""
        return self._window.data[self.hit.at + 1 : self._end_behind(self.hit.at + 1)].lstrip()

    def named(self) -> Named | None:
        """The place named before the message, on this line or on the one that wraps into it."""
        head = self.head()
        place = find_place(head)
        if place is None and (before := self._line_before()) is not None:
            head = _WRAP.sub(b" ", self._window.data[before : self.hit.at])
            place = find_place(head)
        return Named(place, head[place.start :], self.hit.at) if place is not None else None

    def named_early(self) -> Named | None:
        """The first USB place named before any colon of the line."""
        line = self.line()
        for match in _COLON.finditer(line):
            head = line[: match.start()]
            place = find_place(head)
            if place is not None and place.origin != "disk":
                return Named(place, head[place.start :], self._start + len(head))
        return None

    def text(self, named: Named) -> bytes:
        """The sample text: from the place to the end of the message."""
        return named.words + _WRAP.sub(b" ", self._window.data[named.colon : self._end_behind(named.colon + 1)])

    def stamp(self) -> str | None:
        """The stamp of the line, or of the one that wraps into it."""
        stamp = stamp_of(self._line_at(self._start))
        if stamp is None and (before := self._line_before()) is not None:
            stamp = stamp_of(self._line_at(before))
        return stamp

    def weight(self) -> int:
        """How often the line says the message came."""
        match = _REPEATED.search(self._window.data, self._start, self.hit.at)
        return int(match[1]) if match else 1

    def _line_at(self, start: int) -> bytes:
        return self._window.data[start : self._window.line_end(start)]

    def _line_before(self) -> int | None:
        """Where the line before starts, if this one may be its continuation because it has no stamp."""
        if self._start <= 1 or is_stamped(self._line_at(self._start)):
            return None
        return self._window.line_start(self._start - 1)

    def _end_behind(self, offset: int) -> int:
        return self._window.line_end(max(offset, self.hit.end))
