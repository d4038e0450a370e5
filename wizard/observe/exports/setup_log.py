"""Windows' log of driver set-up (`setupapi.dev.log`): which device was being set up, and whether that failed.

Format from Microsoft, 'SetupAPI Text Logs': sections between `>>>` and `<<<`, errors marked `!!!`, warnings `!`.
"""

import re

from wizard.bus.sign import Sign
from wizard.observe.exports.text_records import lines_of
from wizard.observe.kernel_log_fold import Fold
from wizard.observe.windows.places import is_usb

_BEGIN = re.compile(r"^>>>\s+\[.*?\s-\s(.+?)\]\s*$")
_START = re.compile(r"^>>>\s+Section start (\d{4}/\d\d/\d\d \d\d:\d\d:\d\d)")
_FAILURE = re.compile(r"^<<<\s+\[Exit status: FAILURE\((0x[0-9a-fA-F]{1,8})\)")
_MARKED = re.compile(r"^!{1,3}\s.*?\((0x[0-9a-fA-F]{8})\)|^!!!\s.*?(0x[0-9a-fA-F]{8})")
_NO_DRIVER = 0xE0000228  # ERROR_NO_COMPAT_DRIVERS, setupapi.h


def is_setup_log(head: str) -> bool:
    """Whether a text is such a log."""
    return "[Device Install Log]" in head or re.search(r"(?m)^>>>\s+\[Device Install", head) is not None


def signs_in(text: str) -> tuple[Sign, ...]:
    """Set-ups of USB devices that failed; one for which no driver was found is also problem 28."""
    fold = Fold()
    where, stamp = "", None
    for number, line in enumerate(lines_of(text), start=1):
        begin = _BEGIN.match(line)
        if begin:
            where, stamp = begin[1].strip(), None
        start = _START.match(line)
        stamp = start[1] if start else stamp
        match = _FAILURE.match(line) or _MARKED.match(line)
        if match and is_usb(where):
            _add(fold, where, number, stamp, line, int(next(g for g in match.groups() if g), 16))
    return tuple(entry.sign() for entry in fold.entries())


def _add(fold: Fold, where: str, number: int, stamp: str | None, line: str, code: int) -> None:
    kinds = ["windows_setup_failed", "driver_failed"]
    if code == _NO_DRIVER:
        kinds.append("windows_problem_28")
    for kind in kinds:
        fold.add(kind, where, number, stamp, line.encode("utf-8", "replace"))
