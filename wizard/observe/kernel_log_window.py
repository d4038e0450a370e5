"""A log of any length as a row of windows that overlap, so that memory stays flat and no cut shows.

A window is bytes of which a middle part is to be searched; what lies before and behind is for looking
around. The middle parts join without a gap. How the log was cut on its way here changes nothing that
stays within `AROUND` bytes. Knows nothing of what the log says.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

AROUND = 16_384
"""Bytes before and behind that a reader may look at: several lines of the longest kind."""

LONGEST_LINE = 2_000
"""No kernel line is longer, in bytes: printk cuts at 1024 (from memory), a syslog adds its own beginning."""

STEP = 1 << 20
"""Bytes that are searched at a time: measured, larger is no faster."""


@dataclass
class Window:
    """`data[start:limit]` is to be searched. The first byte of the log is a line's end that is not the log's own."""

    data: bytes
    start: int
    limit: int
    line_before: int
    _counted: tuple[int, int] = field(init=False)

    def __post_init__(self) -> None:
        self._counted = (self.start, self.line_before)

    def line_start(self, at: int) -> int | None:
        """Offset of the start of the line that holds `at`; None if that line is too long to be one."""
        newline = self.data.rfind(b"\n", max(0, at - LONGEST_LINE), at)
        return None if newline < 0 else newline + 1

    def line_end(self, at: int) -> int:
        """Offset of the end of the line that holds `at`, or of what is looked at of it."""
        newline = self.data.find(b"\n", at, at + LONGEST_LINE)
        return min(len(self.data), at + LONGEST_LINE) if newline < 0 else newline

    def line_number(self, at: int) -> int:
        """Number of the line that holds `at`, counted from 1. Cheap if asked in rising order."""
        offset, number = self._counted
        if at >= offset:
            number += self.data.count(b"\n", offset, at)
            self._counted = (at, number)
        else:
            number -= self.data.count(b"\n", at, offset)
        return number


def windows(chunks: Iterable[bytes], step: int = STEP) -> Iterator[Window]:
    """Windows over the bytes of `chunks`, which may be cut anywhere; a chunk of any size is cut up."""
    data, start, line = b"\n", 0, 0
    for piece in _gathered(chunks, step):
        data += piece
        limit = max(start, len(data) - AROUND)
        window = Window(data, start, limit, line)
        yield window
        line = window.line_number(limit)
        drop = max(0, limit - AROUND)
        data, start = data[drop:], limit - drop
    yield Window(data, start, len(data), line)


def _gathered(chunks: Iterable[bytes], step: int) -> Iterator[bytes]:
    """The same bytes in pieces of about `step`: small chunks joined, big ones cut."""
    held: list[bytes] = []
    size = 0
    for piece in _pieces(chunks, step):
        held.append(piece)
        size += len(piece)
        if size >= step:
            yield b"".join(held)
            held, size = [], 0
    yield b"".join(held)


def _pieces(chunks: Iterable[bytes], step: int) -> Iterator[bytes]:
    for chunk in chunks:
        if len(chunk) <= step:
            yield chunk
            continue
        view = memoryview(chunk)
        for begin in range(0, len(chunk), step):
            yield bytes(view[begin : begin + step])
