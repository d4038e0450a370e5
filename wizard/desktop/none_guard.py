"""Keeps Python's `None` alive under a Qt binding that lets go of it once too often.

PySide6 6.12.0 gives up a reference to `None` that it does not own at every call that returns nothing, on
Python before 3.12 (measured: 1000 calls of QLabel.setText lower sys.getrefcount(None) by 1000; 6.10.1 and
6.11.0 do not). A window that paints itself would end in `Fatal Python error: none_dealloc` within the hour.
From 3.12 on `None` is immortal (PEP 683) and nothing needs to be done.
"""

import ctypes
import sys

RESERVE = 1 << 40
"""References held in reserve: enough for a million calls a second for twelve days."""


def keep_none_alive() -> bool:
    """Give `None` a reserve of references. Returns whether that was needed and done; doing it twice does nothing."""
    count = sys.getrefcount(None)
    if sys.implementation.name != "cpython" or sys.version_info >= (3, 12) or count >= RESERVE // 2:
        return False
    # The count is the first field of an object, except in builds made for tracing references.
    field = ctypes.c_ssize_t.from_address(id(None))
    if abs(field.value - count) > 100:
        return False
    field.value += RESERVE
    return True
