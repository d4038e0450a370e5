"""Reads a kernel log for signs of USB trouble: dmesg, journal or syslog, of any length, any bytes.

This is the way in. It knows nothing of the bus beyond an optional snapshot, and judges nothing: a sign
says what the log says, where and how often.
"""

from collections.abc import Iterable

from wizard.bus.model import Snapshot
from wizard.bus.sign import LogRead, Sign
from wizard.observe.kernel_log_reading import Reading
from wizard.observe.kernel_log_text import plain
from wizard.observe.kernel_log_window import windows

_CHUNK = 1 << 20


def read_kernel_log(
    lines: Iterable[bytes], snapshot: Snapshot | None = None, drive_case: bool = False
) -> tuple[tuple[Sign, ...], LogRead]:
    """The signs in a log, one for each kind and place, in the order they first came; and how it was read.

    `lines` are bytes cut anywhere, at lines or not: an open binary file, chunks of a pipe, `[data]`.
    Line numbers count from 1 in the bytes as they come. Memory does not grow with the log. `snapshot`
    tells which drives hang on USB; `drive_case` is true if the trouble is about a drive, when a drive's
    complaint counts unless the log says it is not on USB. Never raises on any bytes.
    """
    reading = Reading(snapshot, drive_case)
    for window in windows(plain(lines)):
        reading.take(window)
    return reading.signs(), reading.read()


def read_signs(lines: Iterable[bytes], snapshot: Snapshot | None = None, drive_case: bool = False) -> tuple[Sign, ...]:
    """The signs alone."""
    return read_kernel_log(lines, snapshot, drive_case)[0]


def as_chunks(log: str) -> Iterable[bytes]:
    """The text of a log, as a case holds it, as bytes for `read_signs`. What is no Unicode text becomes `?`."""
    for begin in range(0, len(log), _CHUNK):
        yield log[begin : begin + _CHUNK].encode("utf-8", "replace")
