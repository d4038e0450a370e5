"""Log text from a file or from standard input: any bytes, streamed whole or as a bounded excerpt.

Does not read what it says.
"""

import stat
import sys
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from wizard.bus.errors import BadInputError

MAX_BYTES = 16_000_000
"""Most of a log that a case keeps, in bytes: common practice (no source). It leaves room in it for the rest."""

_CHUNK = 1 << 20
"""Bytes read at a time: measured, larger is no faster."""


@contextmanager
def open_log(source: Path | str, tell: Callable[[str], None] = lambda _note: None) -> Iterator[Iterator[bytes]]:
    """All of the log in a file, or of what comes on standard input for `"-"`, in chunks: memory stays flat.

    `tell` gets a sentence before a pipe is read, for that may wait for ever. Raises BadInputError if there is nothing
    to read, at once or where reading stops.
    """
    if str(source) == "-":
        if sys.stdin is None or sys.stdin.isatty():
            raise BadInputError(
                "--log -", "nothing comes in", "Send it a log, for example: dmesg | portmend look --log -"
            )
        yield _chunks(sys.stdin.buffer)
        return
    path = Path(source)
    try:
        kind = path.stat().st_mode
        if stat.S_ISDIR(kind):
            raise BadInputError(str(path), "it is a folder, not a log", "Name a file inside it.")
        if stat.S_ISCHR(kind) or stat.S_ISBLK(kind):
            raise BadInputError(str(path), "it is a device, not a log", "Save the log as a file and name that.")
        if stat.S_ISFIFO(kind):
            tell(f"Reading from the pipe {path} until it is closed; Ctrl-C ends it.")
        with path.open("rb") as file:
            yield _chunks(file)
    except FileNotFoundError as failure:
        raise BadInputError(str(path), "there is no such file", "Check the name and the folder.") from failure
    except PermissionError as failure:
        raise BadInputError(
            str(path), "you may not read it", "Ask an administrator, or save a copy that you may read."
        ) from failure
    except (OSError, ValueError) as failure:
        reason = getattr(failure, "strerror", None) or "the name is not possible"
        raise BadInputError(str(path), f"it can't be read ({reason})", "Check the name.") from failure


def read_log(source: Path | str, tell: Callable[[str], None] = lambda _note: None) -> bytes:
    """The excerpt of a log that a case keeps: all of it, or of a longer one the end from the start of a line, and
    `tell` gets a sentence about it. Raises BadInputError as `open_log` does.
    """
    name = "standard input" if str(source) == "-" else str(source)
    with open_log(source, tell) as chunks:
        return _end_of(chunks, name, tell)


def _chunks(file: BinaryIO) -> Iterator[bytes]:
    while chunk := file.read(_CHUNK):
        yield chunk


def _end_of(chunks: Iterable[bytes], name: str, tell: Callable[[str], None]) -> bytes:
    """The last `MAX_BYTES` of a stream, in memory of about that size."""
    kept: deque[bytes] = deque()
    held = total = 0
    for chunk in chunks:
        kept.append(chunk)
        held += len(chunk)
        total += len(chunk)
        while held - len(kept[0]) >= MAX_BYTES:
            held -= len(kept.popleft())
    data = b"".join(kept)
    if total <= MAX_BYTES:
        return data
    _, _, whole_lines = data[-MAX_BYTES:].partition(b"\n")
    tell(
        f"{name} is {total / 1e6:.0f} MB long: the case keeps only its last {MAX_BYTES // 1_000_000} MB, "
        "and line numbers count from there."
    )
    return whole_lines
