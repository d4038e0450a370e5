"""A spot of a log that was hit, with the line it lies on and what stands around it.

Knows lines: which continue others, what stands before a message and behind it. Not what messages mean.
"""

import re
from collections.abc import Iterator
from functools import cached_property
from typing import NamedTuple

from wizard.observe.kernel_log_place import Place, find_place
from wizard.observe.kernel_log_scan import Hit
from wizard.observe.kernel_log_stamps import is_stamped, stamp_of
from wizard.observe.kernel_log_window import Window

_WRAP = re.compile(rb"\s*\n(?:>\s?)*")
_COLON = re.compile(rb":\s")
_REPEATED = re.compile(rb"message repeated (\d{1,9}) times: \[")


class Named(NamedTuple):
    """A place named before a message, and the text from there to the message's end."""

    place: Place
    text: bytes


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
        """The line, joined with those that continue it."""
        return _WRAP.sub(b" ", self._window.data[self._start : self._logical_end()])

    def wide_line(self) -> bytes:
        """The line, joined with those that continue it and with the one it may continue."""
        before = self._line_before()
        return _WRAP.sub(b" ", self._window.data[self._start if before is None else before : self._logical_end()])

    @cached_property
    def message(self) -> bytes:
        """What stands behind the colon, to the end of the lines that continue it."""
        return _WRAP.sub(b" ", self._window.data[self.hit.at + 1 : self._logical_end()]).lstrip()

    def heads(self) -> Iterator[bytes]:
        """What stands before the message's colon: on its line, and on the line that may wrap into it too."""
        yield self.head()
        if (before := self._line_before()) is not None:
            yield _WRAP.sub(b" ", self._window.data[before : self.hit.at])

    def named(self) -> Named | None:
        """The place named before the message; rather an exact one from the line before than a mere driver."""
        best = None
        for head in self.heads():
            place = find_place(head)
            if place is not None and (best is None or place.origin != "module"):
                best = Named(place, head[place.start :] + b": " + self.message)
            if best is not None and best.place.origin != "module":
                break
        return best

    def named_early(self) -> Named | None:
        """The first USB place named before any colon of the line."""
        line = self.wide_line()
        for match in _COLON.finditer(line):
            place = find_place(line[: match.start()])
            if place is not None and place.origin != "disk":
                return Named(place, line[place.start :])
        return None

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

    def _logical_end(self) -> int:
        """The end of the next two lines at most, if they have no stamp of their own while this one has."""
        window = self._window
        end = self._end_behind(max(self._start, self.hit.at + 1))
        if not is_stamped(self._line_at(self._start)):
            return end
        for _ in range(2):
            following = self._line_at(end + 1)
            if end >= len(window.data) or not following.strip() or is_stamped(following):
                break
            end += 1 + len(following)
        return end
