"""Log text from a file or from standard input: any bytes, bounded. Does not read what it says."""

import stat
import sys
from collections import deque
from collections.abc import Callable
from pathlib import Path
from typing import BinaryIO

from wizard.bus.errors import BadInputError

MAX_BYTES = 16_000_000
"""Most of a log that is kept, in bytes: common practice (no source). It leaves room in a case for the rest."""

_CHUNK = 1 << 16


def read_log(source: Path | str, tell: Callable[[str], None] = lambda _note: None) -> bytes:
    """The log in a file, or what comes on standard input for `"-"`.

    Of a longer one the end is kept, from the start of a line, and `tell` gets a sentence about it.
    Raises BadInputError if there is nothing to read.
    """
    if str(source) == "-":
        if sys.stdin is None or sys.stdin.isatty():
            raise BadInputError(
                "--log -", "nothing comes in", "Send it a log, for example: dmesg | portmend look --log -"
            )
        return _end_of(sys.stdin.buffer, "standard input", tell)
    path = Path(source)
    try:
        kind = path.stat().st_mode
        if stat.S_ISDIR(kind):
            raise BadInputError(str(path), "it is a folder, not a log", "Name a file inside it.")
        if stat.S_ISCHR(kind) or stat.S_ISBLK(kind):
            raise BadInputError(str(path), "it is a device, not a log", "Save the log as a file and name that.")
        with path.open("rb") as file:
            return _end_of(file, str(path), tell)
    except FileNotFoundError as failure:
        raise BadInputError(str(path), "there is no such file", "Check the name and the folder.") from failure
    except PermissionError as failure:
        raise BadInputError(
            str(path), "you may not read it", "Ask an administrator, or save a copy that you may read."
        ) from failure
    except (OSError, ValueError) as failure:
        reason = getattr(failure, "strerror", None) or "the name is not possible"
        raise BadInputError(str(path), f"it can't be read ({reason})", "Check the name.") from failure


def _end_of(file: BinaryIO, name: str, tell: Callable[[str], None]) -> bytes:
    """The last `MAX_BYTES` of a stream, in memory of about that size."""
    chunks: deque[bytes] = deque()
    held = total = 0
    while chunk := file.read(_CHUNK):
        chunks.append(chunk)
        held += len(chunk)
        total += len(chunk)
        while held - len(chunks[0]) >= MAX_BYTES:
            held -= len(chunks.popleft())
    data = b"".join(chunks)
    if total <= MAX_BYTES:
        return data
    _, _, whole_lines = data[-MAX_BYTES:].partition(b"\n")
    tell(
        f"{name} is {total / 1e6:.0f} MB long: only its last {MAX_BYTES // 1_000_000} MB were read, "
        "and line numbers count from there."
    )
    return whole_lines
