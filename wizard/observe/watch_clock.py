"""Seconds since a watch began, and whether the computer slept in between. Knows the clocks of the systems."""

import time
from collections.abc import Callable

_LEAST_S = 1.0  # the two clocks are read one after the other; a real sleep takes longer than this


def _with_sleep() -> Callable[[], float] | None:
    """A clock that goes on while the computer sleeps, where `time.monotonic` does not; None if there is none."""
    for name in ("CLOCK_BOOTTIME", "CLOCK_MONOTONIC_RAW" if hasattr(time, "CLOCK_UPTIME_RAW") else ""):
        clock = getattr(time, name, None) if name else None
        if clock is not None:
            return lambda: time.clock_gettime(clock)
    return None


class Stopwatch:
    """Started when it is made. `whole` goes on while the computer sleeps, `awake` does not; where a
    system has no such clock, sleep can't be told."""

    def __init__(self, awake: Callable[[], float] = time.monotonic, whole: Callable[[], float] | None = None) -> None:
        self._awake = awake
        self._whole = whole or _with_sleep() or awake
        self._began = self._whole()
        self._apart = self._whole() - self._awake()

    def seconds(self) -> float:
        """Since the start, time asleep included."""
        return self._whole() - self._began

    def slept(self) -> float:
        """Seconds the computer slept since this was asked last; 0 for none."""
        apart = self._whole() - self._awake()
        slept, self._apart = apart - self._apart, apart
        return slept if slept >= _LEAST_S else 0.0
