"""Doing a list of small reading jobs, and leaving behind those that never come back.

A device that does not answer keeps its hub locked for up to two minutes, and reading some attributes
of the hub waits as long (Linux). Such a read can't be called off; it can only be left to a thread of
its own that nobody waits for. Knows threads and clocks; not what is read.
"""

import threading
import time
from collections.abc import Callable, Sequence

from wizard.bus.errors import CancelledError
from wizard.observe.seen import Watcher

HANDOVER_S = 0.1
"""A job that takes longer than this keeps its thread, and the rest goes on in another one."""
PATIENCE_S = 0.5
"""A job is left behind after this long. Reading a device takes well under a millisecond."""
DEADLINE_S = 2.4
"""When this is over, all that is unfinished is left behind: a look has to end within 3 s."""

_TICK_S = 0.02


def do_all(jobs: Sequence[Callable[[], None]], watcher: Watcher, doing: str) -> tuple[int, ...]:
    """Do every job in a thread of its own making, in order; the numbers of those left behind.

    `doing` is the sentence for the watcher. Jobs keep what they have read themselves, so that half a
    result is not lost. Raises CancelledError if the watcher says so, and whatever a job raises.
    """
    crew = _Crew(jobs)
    started = time.monotonic()
    crew.hire()
    while not crew.finished.wait(_TICK_S):
        if watcher.cancelled():
            crew.dismiss()
            raise CancelledError(doing)
        watcher.progress(doing, crew.share())
        if time.monotonic() - started > DEADLINE_S or crew.all_hopeless():
            break
        if crew.stuck():
            crew.hire()
    crew.dismiss()
    if crew.fault is not None:
        raise crew.fault
    return crew.unfinished()


class _Crew:
    """Daemon threads that take jobs from one list. A daemon thread stuck in a read holds up no exit."""

    def __init__(self, jobs: Sequence[Callable[[], None]]) -> None:
        self._jobs = jobs
        self._lock = threading.Lock()
        self._next = 0
        self._begun: dict[int, float] = {}
        self._done: set[int] = set()
        self.finished = threading.Event()
        self.fault: BaseException | None = None
        if not jobs:
            self.finished.set()

    def hire(self) -> None:
        threading.Thread(target=self._work, name="portmend-reader", daemon=True).start()

    def dismiss(self) -> None:
        """Let nobody begin another job."""
        with self._lock:
            self._next = len(self._jobs)

    def _work(self) -> None:
        while True:
            with self._lock:
                number = self._next
                if number >= len(self._jobs):
                    return
                self._next += 1
                self._begun[number] = time.monotonic()
            try:
                self._jobs[number]()
            except BaseException as fault:  # handed to the caller, whatever it is
                self.fault = fault
                self.finished.set()
                return
            with self._lock:
                self._begun.pop(number, None)
                self._done.add(number)
                if len(self._done) == len(self._jobs):
                    self.finished.set()

    def share(self) -> float:
        return len(self._done) / max(1, len(self._jobs))

    def stuck(self) -> bool:
        """Whether jobs wait and every thread at work has been at the same one for long."""
        now = time.monotonic()
        with self._lock:
            waiting = self._next < len(self._jobs)
            return waiting and self._all_older(HANDOVER_S, now)

    def all_hopeless(self) -> bool:
        """Whether nothing is left but jobs that have been given their time."""
        now = time.monotonic()
        with self._lock:
            waiting = self._next < len(self._jobs)
            return not waiting and self._all_older(PATIENCE_S, now)

    def _all_older(self, seconds: float, now: float) -> bool:
        return bool(self._begun) and all(now - begun > seconds for begun in self._begun.values())

    def unfinished(self) -> tuple[int, ...]:
        with self._lock:
            return tuple(n for n in range(len(self._jobs)) if n not in self._done)
