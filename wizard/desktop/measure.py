"""How long this process has run and how much memory it took at most, on any system that tells."""

import os
import sys
import time
from pathlib import Path

_IMPORTED = time.perf_counter()


def seconds_since_start() -> float:
    """Seconds since the process began; where the system does not tell, since this module was imported."""
    if sys.platform.startswith("linux"):
        # proc(5): field 22 of /proc/self/stat is the start in clock ticks after boot; the name in field 2 may
        # hold spaces and ends at the last bracket.
        fields = Path("/proc/self/stat").read_text(encoding="ascii", errors="replace").rpartition(")")[2].split()
        return time.clock_gettime(time.CLOCK_BOOTTIME) - int(fields[19]) / os.sysconf("SC_CLK_TCK")
    return time.perf_counter() - _IMPORTED


def peak_memory_mb() -> float | None:
    """The most memory this process has held, in MB (10^6 bytes); None where the system does not tell."""
    if sys.platform == "win32":
        return None
    import resource  # not there on Windows

    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    # getrusage(2): kilobytes on Linux, bytes on macOS.
    return most / 1e6 if sys.platform == "darwin" else most * 1024 / 1e6
