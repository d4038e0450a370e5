"""Folds what was read, line by line, into one sign for each kind and place. Flat in memory.

Knows the shape of a sign; not how lines are read.
"""

from dataclasses import dataclass, field

from wizard.bus.sign import Sign

MOST_LINES = 1_000
"""Line numbers kept per sign: the contract of documents, signs."""

MOST_TEXT = 500
"""Characters kept of a sample line. A kernel message is shorter; what is longer is not one."""

MOST_SIGNS = 4_096
"""Signs kept apart, far above what 127 devices can cause; a log made to have more folds the rest at `-`."""


@dataclass
class Entry:
    """A sign in the making. `host` and `disk` are set for lines of drives; `named` if one named USB storage."""

    kind: str
    where: str
    text: str
    first: str | None
    last: str | None = None
    count: int = 0
    lines: list[int] = field(default_factory=list)
    host: str | None = None
    disk: str | None = None
    named: bool = False

    def sign(self) -> Sign:
        """The finished value."""
        return Sign(
            kind=self.kind,
            where=self.where,
            count=self.count,
            first=self.first,
            last=self.last,
            lines=tuple(self.lines),
            text=self.text,
        )


class Fold:
    """Entries by kind and place, in the order they first came."""

    def __init__(self) -> None:
        self._entries: dict[tuple[str, str], Entry] = {}

    def add(self, kind: str, where: str, line: int, stamp: str | None, text: bytes, count: int = 1) -> Entry:
        """Count a line and return its entry."""
        key = (kind, where)
        entry = self._entries.get(key)
        if entry is None and len(self._entries) >= MOST_SIGNS:
            key = (kind, "-")
            entry = self._entries.get(key)
        if entry is None:
            entry = self._entries[key] = Entry(kind, key[1], sample(text), stamp)
        entry.count += count
        entry.last = stamp or entry.last
        entry.first = entry.first or stamp
        if len(entry.lines) < MOST_LINES:
            entry.lines.append(line)
        return entry

    def entries(self) -> tuple[Entry, ...]:
        """All entries so far."""
        return tuple(self._entries.values())


def sample(text: bytes) -> str:
    """One line of untrusted bytes as text: blanks folded, what can't be shown replaced, cut to length."""
    words = " ".join(text[: 4 * MOST_TEXT].decode("utf-8", "replace").split())
    shown = "".join(char if char.isprintable() else "�" for char in words)
    return shown[:MOST_TEXT]
