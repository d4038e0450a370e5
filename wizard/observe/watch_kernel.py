"""The kernel's log as it is written: straight from the kernel, or through the system's journal.

Knows how to open either without waiting, and how to cut it into lines with their stamps; not what they
say. Many systems keep the log from ordinary users: then `open_log` gives none, and REFUSED says how to
open it by the narrowest means.
"""

import errno
import os
import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Protocol

LOG = Path("/dev/kmsg")
_LARGEST = 8192  # bytes of one record: CONSOLE_EXT_LOG_MAX, include/linux/printk.h of Linux 6.1
_RECORD = re.compile(rb"(\d{1,9}),\d{1,20},(\d{1,20}),[^;\n]{0,100};([^\n]*)")
_JOURNAL = ("journalctl", "--dmesg", "--quiet", "--no-pager", "--output=short-monotonic")
_PATIENCE_S = 3.0

REFUSED = (
    "The kernel's log may not be read here, so resets, errors and refusals stay unseen; plugging, unplugging and "
    "too much current are seen. To let every user of this computer read the log until the next restart: "
    "sudo sysctl kernel.dmesg_restrict=0"
)
NO_LOG = "This system gives no kernel log to read, so resets, errors and refusals stay unseen."


class LogSource(Protocol):
    """A log that is still being written."""

    @property
    def ended(self) -> bool:
        """Whether nothing more will ever come."""

    def fileno(self) -> int:
        """For waiting on it."""

    def earlier(self) -> Iterator[bytes]:
        """Lines written before now; to be read once, first."""

    def waiting(self, most: int = 10_000) -> Iterator[bytes]:
        """Lines written since the last call, without waiting."""

    def lost(self) -> bool:
        """Whether lines were overwritten before they could be read, since this was asked last."""

    def close(self) -> None:
        """Let go of it."""


class KernelRing:
    """`/dev/kmsg`, record by record (Documentation/ABI/testing/dev-kmsg). Raises OSError if it may not be read."""

    def __init__(self, path: Path = LOG) -> None:
        self._file = os.open(path, os.O_RDONLY | os.O_NONBLOCK)
        self._lost = False
        self.ended = False

    def fileno(self) -> int:
        return self._file

    def earlier(self) -> Iterator[bytes]:
        yield from self.waiting(1_000_000)
        self._lost = False

    def waiting(self, most: int = 10_000) -> Iterator[bytes]:
        for _ in range(most):
            try:
                record = os.read(self._file, _LARGEST)
            except BlockingIOError:
                return
            except OSError as error:
                if error.errno == errno.EPIPE:  # overwritten while we were away; the next read goes on
                    self._lost = True
                    continue
                if error.errno == errno.EINVAL:  # longer than any record may be
                    continue
                record = b""
            if not record:
                self.ended = True
                return
            line = line_of(record)
            if line is not None:
                yield line

    def lost(self) -> bool:
        lost, self._lost = self._lost, False
        return lost

    def close(self) -> None:
        os.close(self._file)


def line_of(record: bytes) -> bytes | None:
    """A record as a line of dmesg: `[seconds] message`. None for what a program, not the kernel, has written."""
    match = _RECORD.match(record)
    if match is None or int(match[1]) >> 3:  # the number is facility * 8 + level; the kernel's facility is 0
        return None
    seconds, micro = divmod(int(match[2]), 1_000_000)
    return b"[%5d.%06d] %b" % (seconds, micro, match[3])


class Journal:
    """The kernel's lines as the journal passes them on, to whoever may read it. Raises OSError if it gives none."""

    def __init__(self, command: tuple[str, ...] = _JOURNAL) -> None:
        program = shutil.which(command[0])
        if program is None:
            raise OSError(errno.ENOENT, "there is no journal")
        self._earlier = _last_lines((program, *command[1:]))
        if not self._earlier:
            raise OSError(errno.EACCES, "the journal shows nothing of the kernel")
        self._process = subprocess.Popen(
            (program, *command[1:], "--follow", "--lines=0"),
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
        )
        assert self._process.stdout is not None
        self._pipe = self._process.stdout
        os.set_blocking(self._pipe.fileno(), False)
        self._rest = b""
        self.ended = False

    def fileno(self) -> int:
        return self._pipe.fileno()

    def earlier(self) -> Iterator[bytes]:
        yield from self._earlier.splitlines()
        self._earlier = b""

    def waiting(self, most: int = 10_000) -> Iterator[bytes]:
        for _ in range(most):
            try:
                chunk = os.read(self._pipe.fileno(), 1 << 16)
            except BlockingIOError:
                return
            if not chunk:
                self.ended = True
                return
            *lines, self._rest = (self._rest + chunk).split(b"\n")
            self._rest = self._rest[-_LARGEST:]
            yield from lines

    def lost(self) -> bool:
        return False

    def close(self) -> None:
        self._process.terminate()
        self._pipe.close()
        try:
            self._process.wait(_PATIENCE_S)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()


def _last_lines(command: tuple[str, ...]) -> bytes:
    try:
        done = subprocess.run(
            (*command, "--boot", "--lines=2000"), stdin=subprocess.DEVNULL, capture_output=True, timeout=_PATIENCE_S
        )
    except (OSError, subprocess.TimeoutExpired):
        return b""
    return done.stdout if done.returncode == 0 else b""


def open_log() -> LogSource | str:
    """The log of this system, or a sentence on why there is none and what would help."""
    refused = NO_LOG
    try:
        return KernelRing()
    except PermissionError:
        refused = REFUSED
    except OSError:
        pass
    try:
        return Journal()
    except OSError:
        return refused
