"""Following the bus where nothing tells of it: looking again twice a second. Judges nothing."""

import time
from collections.abc import Callable, Iterator

from wizard.observe.watch_follower import Happening
from wizard.observe.watch_listing import LibusbLister
from wizard.observe.watch_polling import Lister, Roll, differences

LOOK_S = 0.5
ONLY_LOOKS = (
    "This system is looked at twice a second: what comes and goes more quickly is not seen, nor are resets and errors."
)
NO_LISTING = "USB can't be looked at here: the library for it (libusb) does not work on this system."


class LookingFollower:
    """Looks again and again through a lister. `now` gives seconds."""

    def __init__(
        self,
        now: Callable[[], float],
        names: dict[str, str] | None = None,
        lister: Lister | None = None,
        sleep: Callable[[float], None] = time.sleep,
    ) -> None:
        self._now = now
        self._sleep = sleep
        self._lister = lister or LibusbLister()
        self._names = names or {}
        roll = self._lister.take()
        self._known: Roll = roll or {}
        self.has_bus = bool(roll)
        self.notes: tuple[str, ...] = (NO_LISTING if roll is None else ONLY_LOOKS,)
        self._next_look = now() + LOOK_S

    def wait(self, seconds: float) -> None:
        """That long: nothing tells us anything."""
        self._sleep(seconds)

    def look_soon(self) -> None:
        """Look at the next step."""
        self._next_look = self._now()

    def step(self) -> Iterator[Happening]:
        """What changed since the last look, if it is time for another."""
        if self._now() < self._next_look:
            return
        roll = self._lister.take()
        self._next_look = self._now() + LOOK_S
        if roll is None:
            return
        before, self._known = self._known, roll
        for change in differences(before, roll):
            name = roll[change.where].name if change.where in roll else self._names.get(change.where)
            yield Happening(change.kind, change.where, change.text, change.count, name, by="look")

    def close(self) -> None:
        """Nothing is held."""
