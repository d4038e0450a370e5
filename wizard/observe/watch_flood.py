"""A flood of the same event is told as a few and a number. Knows events and their times; not where they come from."""

from wizard.bus.watching import WatchEvent

PER_SECOND = 40
"""Events of one kind at one place that are told singly within a second. A hand, or a device that drops out, makes
a few; plugging by machine, some ten. Above that a list says no more than a number: common practice (no source)."""

_MOST_PLACES = 500  # kinds and places within one second, far above what 127 devices can cause


class FloodGate:
    """Lets events pass until there are too many, then holds them back, folded, to the end of the second."""

    def __init__(self) -> None:
        self._second = -1
        self._passed: dict[tuple[str, str], int] = {}
        self._held: dict[tuple[str, str], WatchEvent] = {}

    def take(self, event: WatchEvent) -> tuple[WatchEvent, ...]:
        """What is to be told now: what was held back before, and the event, unless it is held back itself."""
        ready = self.due(event.t)
        key = (event.kind, event.where)
        if key not in self._passed and len(self._passed) >= _MOST_PLACES:
            key = (event.kind, "-")
        passed = self._passed[key] = self._passed.get(key, 0) + 1
        if passed <= PER_SECOND:
            return (*ready, event)
        held = self._held.pop(key, None)  # and in again at the end: what came last is to be told last
        count = event.count + (0 if held is None else held.count)
        self._held[key] = event.model_copy(update={"count": count, "where": key[1]})
        return ready

    def due(self, t: float) -> tuple[WatchEvent, ...]:
        """What was held back, once its second is over at `t`."""
        if int(t) == self._second:
            return ()
        self._second = int(t)
        self._passed.clear()
        return self.rest()

    def rest(self) -> tuple[WatchEvent, ...]:
        """All that is still held back."""
        held, self._held = tuple(self._held.values()), {}
        return held
