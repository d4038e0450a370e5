"""Single lines of a running kernel log as events, each the moment it comes.

What a line means is decided by the reader of whole logs (kernel_log). A complaint about a drive counts only
if earlier lines, or the snapshot, place that drive on USB; so the few lines that bring in drives are kept.
"""

import re
from collections import deque
from dataclasses import dataclass

from wizard.bus.model import Snapshot
from wizard.observe.kernel_log import read_signs

_BRINGS_IN = re.compile(rb"\bscsi\s?(?:host)?\d{1,5}\s?:|\[s[dr][a-z0-9]{1,4}\]|\buas\b|\busb-storage\b|\bata\d")
_ABOUT_DRIVES = frozenset({"storage_abort", "storage_io_error", "storage_offline", "filesystem_error"})
_ADDRESS = re.compile(r"\bnumber (\d{1,9})\b")
_MOST_CONTEXT = 64
_LONGEST = 2_000  # bytes of a line; printk cuts at 1024 (from memory)


@dataclass(frozen=True)
class LogNews:
    """One line that says something: as a sign, with the address of the device if it names one."""

    kind: str
    where: str
    text: str
    at: str | None
    address: int | None


class LogLines:
    """Reads one line after the other. Memory stays flat however long it goes on."""

    def __init__(self, snapshot: Snapshot | None = None) -> None:
        self._snapshot = snapshot
        self._context: deque[bytes] = deque(maxlen=_MOST_CONTEXT)

    def learn(self, line: bytes) -> None:
        """Take in a line of before: it may tell which drives hang on USB."""
        if _BRINGS_IN.search(line[:_LONGEST]):
            self._context.append(line[:_LONGEST])

    def read(self, line: bytes) -> LogNews | None:
        """What a line says, or None. Any bytes; a line of whatever length is looked at up to its 2000th byte."""
        line = line[:_LONGEST].replace(b"\n", b" ")
        signs = read_signs([line], self._snapshot, drive_case=True)
        self.learn(line)
        if not signs:
            return None
        sign = signs[-1]
        if sign.kind in _ABOUT_DRIVES and not self._is_on_usb(line):
            return None
        number = _ADDRESS.search(sign.text) if sign.kind in ("connect", "disconnect") else None
        return LogNews(sign.kind, sign.where, sign.text, sign.first, int(number[1]) if number else None)

    def _is_on_usb(self, line: bytes) -> bool:
        before = [*self._context, line]
        signs = read_signs([b"\n".join(before)], self._snapshot, drive_case=False)
        return any(len(before) in sign.lines for sign in signs)
