"""Work off the GUI thread: the only module that knows threads.

Each job gets a thread of its own that the process does not wait for: a read that hangs in the kernel
must never keep the window from closing. A worker may not touch the window. It puts its news in a queue
and rings; the slot that empties the queue belongs to a QObject of the GUI thread, because a worker's
signal that is connected to a plain Python method would run that method in the worker's thread.

Work that only computes takes turns in a lane: two such threads beside the window would leave it a third
of Python's time.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from queue import Empty, SimpleQueue
from threading import Event, Lock, Thread
from threading import enumerate as enumerate_threads
from time import monotonic
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QDeadlineTimer, QEventLoop, QObject, Qt, Signal, Slot

from wizard.bus.errors import CancelledError

if TYPE_CHECKING:
    from wizard.observe.seen import Watcher


NAME = "portmend job"
"""How the names of all workers' threads begin."""

LAST_MOMENT_S = 1.0
"""How long the end of the process waits for workers that still compute: common practice (no source)."""


@dataclass(frozen=True)
class Job:
    """One piece of work. `done` and `failed` are called in the GUI thread, and neither if the job was cancelled.

    Jobs of one `kind` replace each other: the older one is told to stop and its result is dropped. Jobs of one
    `lane` run one after the other; of several of a kind that wait, only the newest is kept.
    """

    kind: str
    run: Callable[[Watcher], Any]
    done: Callable[[Any], None]
    failed: Callable[[Exception], None]
    progress: Callable[[str, float | None], None] = field(default=lambda _text, _share: None)
    lane: str = ""


def let_end(seconds: float = LAST_MOMENT_S) -> None:
    """Wait a moment for workers that still compute. Python on its way out kills a thread that wants to go on, and where
    Qt's code stands below it that ends in an abort; one that hangs in the kernel does no harm and is left."""
    deadline = monotonic() + seconds
    for thread in enumerate_threads():
        if thread.name.startswith(NAME):
            thread.join(max(0.0, deadline - monotonic()))


class _Running:
    """A job and the flag that asks it to stop."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.stop = Event()


class Runner(QObject):
    """Starts jobs and hands back what they bring. Lives in the GUI thread; all its methods belong there."""

    _rang = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._running: dict[str, _Running] = {}
        self._waiting: dict[str, Job] = {}
        self._lanes: dict[str, _Running] = {}
        self._news: SimpleQueue[tuple[_Running, str, Any]] = SimpleQueue()
        self._closed = False
        self._bell = Lock()
        self._rang.connect(self._collect, Qt.ConnectionType.QueuedConnection)

    def start(self, job: Job) -> None:
        """Begin a job; see `Job` for what happens to an older one of its kind."""
        if self._closed:
            return
        self.cancel(job.kind)
        if job.lane and job.lane in self._lanes:
            self._waiting[job.kind] = job
            return
        running = _Running(job)
        self._running[job.kind] = running
        if job.lane:
            self._lanes[job.lane] = running
        Thread(target=self._work, args=(running,), name=f"{NAME} {job.kind}", daemon=True).start()

    def cancel(self, kind: str) -> None:
        """Ask the job of this kind to stop and forget it; whatever it still brings is dropped."""
        self._waiting.pop(kind, None)
        running = self._running.pop(kind, None)
        if running is not None:
            running.stop.set()

    def is_running(self, kinds: str = "") -> bool:
        """Whether a job whose kind begins so is under way or waits for its turn."""
        return any(kind.startswith(kinds) for kind in (*self._running, *self._waiting))

    def wait_for(self, kinds: str, ms: int) -> bool:
        """Let jobs whose kind begins so come to their end, at most so long, while the window lives on.
        True if they did."""
        deadline = QDeadlineTimer(ms)
        loop = QEventLoop()
        while self.is_running(kinds) and not deadline.hasExpired():
            loop.processEvents(QEventLoop.ProcessEventsFlag.ExcludeUserInputEvents, 20)
        return not self.is_running(kinds)

    def keep_only(self, kinds: str) -> None:
        """Cancel every job whose kind does not begin so."""
        for kind in (*self._running, *self._waiting):
            if not kind.startswith(kinds):
                self.cancel(kind)

    def close(self) -> None:
        """Ask everything to stop and listen to nothing more. Waits for nobody."""
        for kind in (*self._running, *self._waiting):
            self.cancel(kind)
        with self._bell:
            self._closed = True

    def _work(self, running: _Running) -> None:
        """In the worker's thread."""
        from wizard.observe.seen import Watcher  # the start of the window must not wait for it

        watcher = Watcher(
            progress=lambda text, share: self._tell(running, "progress", (text, share)),
            cancelled=running.stop.is_set,
        )
        try:
            result = running.job.run(watcher)
        except Exception as error:  # whatever it is, the GUI thread must hear of it
            self._tell(running, "failed", error)
        else:
            self._tell(running, "done", result)

    def _tell(self, running: _Running, what: str, news: Any) -> None:
        """In the worker's thread."""
        with self._bell:  # so that nobody rings once close() has come back and Qt may be gone
            if not self._closed:
                self._news.put((running, what, news))
                self._rang.emit()

    @Slot()
    def _collect(self) -> None:
        """In the GUI thread: everything that came in since the last ring."""
        latest: dict[int, tuple[_Running, Any]] = {}
        ended: list[tuple[_Running, str, Any]] = []
        while True:
            try:
                running, what, news = self._news.get_nowait()
            except Empty:
                break
            if what == "progress":
                latest[id(running)] = (running, news)
            else:
                ended.append((running, what, news))
        for running, (text, share) in latest.values():
            if not running.stop.is_set():
                running.job.progress(text, share)
        for running, what, news in ended:
            self._end(running, what, news)

    def _end(self, running: _Running, what: str, news: Any) -> None:
        job = running.job
        wanted = self._running.get(job.kind) is running
        if wanted:
            del self._running[job.kind]
        if self._lanes.get(job.lane) is running:
            del self._lanes[job.lane]
            follower = next((kind for kind, waiting in self._waiting.items() if waiting.lane == job.lane), None)
            if follower is not None:
                self.start(self._waiting.pop(follower))
        if not wanted:
            return
        if what == "done":
            job.done(news)
        elif not isinstance(news, CancelledError):
            job.failed(news)
