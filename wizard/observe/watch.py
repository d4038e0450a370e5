"""Following the bus of this computer while the user works: every event with its time, as it happens.

States what happens and judges nothing. Runs for hours in flat memory, and through the computer's sleep.
No rights are needed; with fewer rights less is seen, and a note says what.
"""

import platform
from collections.abc import Callable
from dataclasses import dataclass

from wizard.bus.model import Snapshot
from wizard.bus.watching import MARK, SLEPT, WatchEvent
from wizard.observe.watch_anywhere import LookingFollower
from wizard.observe.watch_clock import Stopwatch
from wizard.observe.watch_flood import FloodGate
from wizard.observe.watch_follower import Follower, Happening
from wizard.observe.watch_linux import LinuxFollower
from wizard.observe.words import clean

TICK_S = 0.1
"""Whether to stop, and whether the user has marked a moment, is asked this often."""

MARKED = "it happened just now"
_LONGEST_PLACE = 64


@dataclass(frozen=True)
class Followed:
    """How a watch went: how long, whether there was a bus, and sentences about what could not be seen."""

    seconds: float
    has_bus: bool
    notes: tuple[str, ...] = ()


def follow(
    stop: Callable[[], bool],
    tell: Callable[[WatchEvent], None],
    seconds: float | None = None,
    mark: Callable[[], bool] = lambda: False,
    snapshot: Snapshot | None = None,
    make: Callable[[Stopwatch], Follower] | None = None,
    begun: Callable[[], None] = lambda: None,
) -> Followed:
    """Follow the bus until `stop()`, or for so many seconds; without a bus it ends at once.

    `tell` hears each event in the thread that called; `mark` is asked
    whether the user has just marked a moment. `snapshot` lends names to what is there already. `begun` is called
    once if there is a bus, before anything else is told.
    """
    watch = Stopwatch()
    follower = make(watch) if make is not None else _follower(watch, snapshot)
    run = _Run(watch, follower, tell)
    try:
        if follower.has_bus:
            begun()
        while follower.has_bus and not stop() and (seconds is None or watch.seconds() < seconds):
            left = TICK_S if seconds is None else min(TICK_S, max(0.0, seconds - watch.seconds()))
            follower.wait(left)
            run.step(mark())
        run.finish()
    finally:
        follower.close()
    return Followed(watch.seconds(), follower.has_bus, follower.notes)


def _follower(watch: Stopwatch, snapshot: Snapshot | None) -> Follower:
    if platform.system() == "Linux":
        return LinuxFollower(watch.seconds, snapshot)
    names = {d.id: d.name for d in (snapshot.devices if snapshot else ()) if d.name}
    return LookingFollower(watch.seconds, names)


class _Run:
    """From happenings to events that are told."""

    def __init__(self, watch: Stopwatch, follower: Follower, tell: Callable[[WatchEvent], None]) -> None:
        self._watch = watch
        self._follower = follower
        self._tell = tell
        self._gate = FloodGate()

    def step(self, marked: bool) -> None:
        slept = self._watch.slept()
        if slept:
            self._take(Happening(SLEPT, "-", f"the computer slept for {slept:.0f} s", by="clock"))
            self._follower.look_soon()
        for happening in self._follower.step():
            self._take(happening)
        if marked:
            self._take(Happening(MARK, "-", MARKED, by="user"))
        self._pass(self._gate.due(self._watch.seconds()))

    def finish(self) -> None:
        """Tell what came last and what was held back."""
        self.step(marked=False)
        self._pass(self._gate.rest())

    def _take(self, what: Happening) -> None:
        event = WatchEvent(
            t=round(self._watch.seconds(), 3),
            kind=what.kind,
            where=clean(what.where)[:_LONGEST_PLACE] or "-",
            text=clean(what.text),
            count=what.count,
            name=clean(what.name) or None if what.name else None,
            by=what.by,
            at=what.at,
        )
        self._pass(self._gate.take(event))

    def _pass(self, events: tuple[WatchEvent, ...]) -> None:
        for event in events:
            self._tell(event)
