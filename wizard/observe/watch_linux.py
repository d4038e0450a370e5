"""Following the bus on Linux: kernel events, the kernel's log where it may be read, and a look now and then.

The events come to everybody; the log tells of resets and errors besides; the looks tell of speed and power
saving, and make up for anything that was lost on the way. Judges nothing.
"""

import os
import select
from collections.abc import Callable, Iterable, Iterator
from functools import partial

from wizard.bus.model import Snapshot
from wizard.bus.watching import KnownBy
from wizard.observe.patience import do_all
from wizard.observe.seen import Watcher
from wizard.observe.sysfs.index import LISTING, is_device
from wizard.observe.watch_follower import Happening
from wizard.observe.watch_kernel import LogSource, open_log
from wizard.observe.watch_listing import SysfsLister
from wizard.observe.watch_log import LogLines
from wizard.observe.watch_polling import Change, Lister
from wizard.observe.watch_presence import Presence
from wizard.observe.watch_uevents import KernelEvents, Missed
from wizard.observe.words import text_of

LOOK_S = 2.0
"""Seconds between two looks: what only a look can tell is told within this time."""

RAN_OVER = "The system told more at once than could be taken in; what was missed was found by looking again."
NO_EVENTS = "The system does not tell what happens on the bus here; it is looked at twice a second instead."
GIVEN_UP = "The kernel's log is no longer given here, so resets and errors stay unseen from then on."

_LOOK_OFTEN_S = 0.5
_MOST_NAMES = 4  # more that come at once are named after the flood
_KEPT_NAMES = 8_000


class LinuxFollower:
    """One watch on Linux. `now` gives seconds; everything else can be replaced for a test."""

    def __init__(
        self,
        now: Callable[[], float],
        snapshot: Snapshot | None = None,
        lister: Lister | None = None,
        events: Callable[[], KernelEvents] = KernelEvents,
        log: Callable[[], LogSource | str] = open_log,
    ) -> None:
        self._now = now
        self._lister = lister or SysfsLister()
        self._notes: dict[str, None] = {}
        # First the ear, then the look: what happens in between is heard, and known to be old.
        self._events = self._listen(events)
        self._log = self._open(log)
        self._lines = LogLines(snapshot)
        if self._log is not None:
            for line in self._log.earlier():
                self._lines.learn(line)
        roll = self._lister.take()
        self.has_bus = bool(roll)
        self._presence = Presence(roll or {}, now)
        self._names: dict[str, str] = {d.id: d.name for d in (snapshot.devices if snapshot else ()) if d.name}
        self._next_look = now() + self._pause
        self._ran_over = False
        self._fresh: list[str] = []

    def _listen(self, events: Callable[[], KernelEvents]) -> KernelEvents | None:
        try:
            return events()
        except OSError:
            self._notes[NO_EVENTS] = None
            return None

    def _open(self, log: Callable[[], LogSource | str]) -> LogSource | None:
        opened = log()
        if isinstance(opened, str):
            self._notes[opened] = None
            return None
        return opened

    @property
    def _pause(self) -> float:
        return LOOK_S if self._events is not None else _LOOK_OFTEN_S

    @property
    def notes(self) -> tuple[str, ...]:
        """Sentences about what could not be seen, and why."""
        return tuple(self._notes)

    def wait(self, seconds: float) -> None:
        """Until something comes, or that long."""
        waiting = select.poll()  # unlike select, it does not mind how many files the program has open
        for source in (self._events, self._log):
            if source is not None:
                waiting.register(source.fileno(), select.POLLIN)
        waiting.poll(seconds * 1000)

    def look_soon(self) -> None:
        """Look at the whole bus at the next step."""
        self._next_look = self._now()

    def step(self) -> Iterator[Happening]:
        """What has happened since the last step."""
        yield from self._from_log()
        heard = [*self._from_events()]
        yield from self._named(heard, "bus")
        if self._ran_over or self._now() >= self._next_look:
            yield from self._named(self._look(), "look")

    def close(self) -> None:
        """Let go of everything."""
        for source in (self._events, self._log):
            if source is not None:
                source.close()

    def _from_events(self) -> Iterator[Change]:
        if self._events is None:
            return
        try:
            for news in self._events.waiting():
                if news.kind == "connect":
                    self._fresh.append(news.where)
                yield from self._presence.hear(news)
        except Missed:
            self._note_loss()
        except OSError:
            self._events.close()
            self._events = None
            self._notes[NO_EVENTS] = None

    def _note_loss(self) -> None:
        self._ran_over = True
        self._notes[RAN_OVER] = None

    def _look(self) -> Iterator[Change]:
        """A look counts only if nothing was told while it was taken: it would be older than what was told."""
        roll = self._lister.take()
        meanwhile = [*self._from_events()]
        yield from meanwhile
        if meanwhile or roll is None:
            return
        yield from self._presence.look(roll)
        if self._ran_over:
            self._presence.even_out()
        self._ran_over = False
        self._next_look = self._now() + self._pause

    def _from_log(self) -> Iterator[Happening]:
        if self._log is None:
            return
        for line in self._log.waiting():
            news = self._lines.read(line)
            if news is not None and self._presence.hear_log(news):
                name = self._names.get(news.where)
                yield Happening(news.kind, news.where, news.text, name=name, by="log", at=news.at)
        if self._log.lost():
            self._note_loss()
        if self._log.ended:
            self._log.close()
            self._log = None
            self._notes[GIVEN_UP] = None

    def _named(self, changes: Iterable[Change], by: KnownBy) -> Iterator[Happening]:
        found = [*changes]
        if 0 < len(self._fresh) <= _MOST_NAMES:
            self._ask_names(self._fresh)
        self._fresh = []
        for change in found:
            yield Happening(change.kind, change.where, change.text, change.count, self._names.get(change.where), by)

    def _ask_names(self, places: list[str]) -> None:
        """What the newly arrived call themselves; one whose lock is taken is not waited for."""
        if len(self._names) > _KEPT_NAMES:
            self._names = {place: name for place, name in self._names.items() if place in self._presence.known}
        for place in places:
            self._names.pop(place, None)
        do_all([partial(self._ask_name, place) for place in places if is_device(place)], Watcher(), "")

    def _ask_name(self, place: str) -> None:
        try:
            name = text_of(_read(f"/{LISTING}/{place}/product"))
        except OSError:
            return
        if name:
            self._names[place] = name


def _read(path: str) -> bytes:
    handle = os.open(path, os.O_RDONLY | os.O_NONBLOCK)
    try:
        return os.read(handle, 4096)
    finally:
        os.close(handle)
