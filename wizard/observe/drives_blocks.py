"""Reading a few bytes of a block device without ever being held up by it. Opened for reading only; nothing is written.

A dying disk can keep a read for minutes, and such a read can't be called off: it is done in a thread of its own
that nobody waits for longer than `PATIENCE_S`.
"""

import errno
import os
import stat
import threading
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from wizard.bus.drive import Contents
from wizard.bus.model import Reason
from wizard.observe.drives_signatures import contents_of
from wizard.observe.sysfs.disk import reason_of

PATIENCE_S = 10.0
"""A sleeping disk needs some seconds to spin up: common practice (no source)."""

_OPEN = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_NOFOLLOW", 0)

BlockReader = Callable[[str, str, int, bool], Contents]
"""`(name, "8:16", sector, whole_disk)` → what is in it; trouble is told in `reason`."""


def read_block(name: str, number: str, sector: int, whole_disk: bool, folder: Path = Path("/dev")) -> Contents:
    """What the block device `name` holds, if it is the one of that `number` (major:minor)."""
    found: list[Contents] = []
    work = threading.Thread(
        target=lambda: found.append(_read(folder / name, number, sector, whole_disk)),
        name="portmend-drive",
        daemon=True,
    )
    work.start()
    work.join(PATIENCE_S)
    return found[0] if found else Contents(reason="blocked")


def _read(path: Path, number: str, sector: int, whole_disk: bool) -> Contents:
    try:
        handle = os.open(path, _OPEN)
    except OSError as error:
        return Contents(reason=_reason(error))
    try:
        if not _is_the_one(handle, number):
            return Contents(reason="vanished")
        return contents_of(lambda offset, length: os.pread(handle, length, offset), sector, whole_disk)
    except OSError as error:
        return Contents(reason=_reason(error))
    finally:
        with suppress(OSError):
            os.close(handle)


def _is_the_one(handle: int, number: str) -> bool:
    """Names are given anew when a disk leaves and another comes."""
    found = os.fstat(handle)
    return stat.S_ISBLK(found.st_mode) and f"{os.major(found.st_rdev)}:{os.minor(found.st_rdev)}" == number


def _reason(error: OSError) -> Reason:
    if error.errno == getattr(errno, "ENOMEDIUM", None):  # not every system has that number
        return "vanished"
    return reason_of(error) or "vanished"
