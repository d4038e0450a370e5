"""Asking one built-in command of the system: bounded in time and in bytes, stoppable, without a window.

Knows processes and clocks; not what is asked nor what the answer means. Nothing is ever written to the command, and it
runs with the rights of the user.
"""

import subprocess
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import IO, Literal

MOST_BYTES = 32_000_000
"""Most of an answer that is kept: common practice (no source). A PC full of USB answers with less than 2 MB."""

_TICK_S = 0.02
_CHUNK = 1 << 16
_NO_WINDOW = getattr(subprocess, "CREATE_NO_WINDOW", 0)  # Windows only: else a console flashes up

Trouble = Literal["missing", "slow", "failed", "cancelled", "too_long"]


@dataclass(frozen=True)
class Answer:
    """What came, and why it may not be all: the command is not there, took too long, failed, was stopped, said too
    much. What came before is kept."""

    output: bytes = b""
    trouble: Trouble | None = None


def ask(command: Sequence[str], seconds: float, cancelled: Callable[[], bool] = lambda: False) -> Answer:
    """Run a command for at most so many seconds. Never raises."""
    try:
        process = subprocess.Popen(
            list(command),
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            creationflags=_NO_WINDOW,
        )
    except (OSError, ValueError):
        return Answer(trouble="missing")
    assert process.stdout is not None  # it was asked for above
    heard = _Heard(process.stdout)
    trouble = _wait(process, heard, seconds, cancelled)
    if trouble is not None:
        process.kill()
    # A grandchild may hold the pipe open; what is not here in a moment is left behind.
    heard.thread.join(0.2)
    try:
        code = process.wait(timeout=1.0)
    except subprocess.TimeoutExpired:
        code = None
    if trouble is None and code != 0:
        trouble = "failed"
    return Answer(heard.bytes(), trouble)


class _Heard:
    """A thread that listens, so that a silent command can be given up."""

    def __init__(self, pipe: IO[bytes]) -> None:
        self._pipe = pipe
        self._chunks: list[bytes] = []
        self.length = 0
        self.thread = threading.Thread(target=self._listen, name="portmend-asking", daemon=True)
        self.thread.start()

    def _listen(self) -> None:
        with self._pipe:
            while self.length <= MOST_BYTES and (chunk := self._pipe.read1(_CHUNK)):  # type: ignore[attr-defined]  # a buffered reader
                self._chunks.append(chunk)
                self.length += len(chunk)

    def bytes(self) -> bytes:
        return b"".join(list(self._chunks))[:MOST_BYTES]


def _wait(
    process: subprocess.Popen[bytes], heard: _Heard, seconds: float, cancelled: Callable[[], bool]
) -> Trouble | None:
    deadline = time.monotonic() + seconds
    while heard.thread.is_alive() or process.poll() is None:
        if cancelled():
            return "cancelled"
        if time.monotonic() > deadline:
            return "slow"
        if heard.length > MOST_BYTES:
            return "too_long"
        heard.thread.join(_TICK_S)
        if not heard.thread.is_alive() and process.poll() is None:
            time.sleep(_TICK_S)
    return "too_long" if heard.length > MOST_BYTES else None
