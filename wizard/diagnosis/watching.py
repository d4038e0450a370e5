"""What a watch amounts to: counts, signs, what came before a mark, and what of it settles questions of a case.

Pure: takes events one by one, in flat memory, and judges them at the end. What a hand may have done, plugging
and unplugging, is told and settles nothing.
"""

from collections import Counter, deque
from collections.abc import Iterable
from itertools import islice, takewhile

from wizard.bus.model import Snapshot
from wizard.bus.sign import KINDS, Sign
from wizard.bus.watching import MARK, SLEPT, Marked, Together, WatchEvent, WatchSummary
from wizard.diagnosis.falls import Bus, Fall, falls_in, falls_together

BEFORE_MARK_S = 10.0
"""What came in so many seconds before a mark is shown with it. A person takes a few seconds to find the button:
common practice (no source)."""

AFTER_SLEEP_S = 15.0
"""A fall within so many seconds after the computer woke up belongs to waking up: common practice (no source)."""

OFTEN = 2
"""Falls from which on a device comes and goes; a single one may be anything: common practice (no source)."""

_PLAIN = frozenset({"connect", "disconnect", "descriptor_odd", "slower_than_could"})
_MOST_EVENTS = 10_000
_MOST_SIGNS = 4_096
_MOST_BEFORE = 50
_ONLY_LAST = "Only the last 10 000 events are listed; the counts are of all {total}."


class Chronicle:
    """The events of one watch. `snapshot` is the bus before, `subject` the devices the case is about."""

    def __init__(self, snapshot: Snapshot | None = None, subject: Iterable[str] = ()) -> None:
        self._bus = Bus(snapshot or Snapshot())
        self._subject = tuple(subject)
        self._events: deque[WatchEvent] = deque(maxlen=_MOST_EVENTS)
        self._by_kind: Counter[str] = Counter()
        self._signs: dict[tuple[str, str], Sign] = {}
        self._marks: deque[Marked] = deque(maxlen=_MOST_BEFORE)

    def add(self, event: WatchEvent) -> None:
        """Take in the next event."""
        self._by_kind[event.kind] += event.count
        if event.kind == MARK:
            recent = takewhile(lambda e: event.t - e.t <= BEFORE_MARK_S, reversed(self._events))
            before = islice((e for e in recent if e.kind != MARK), _MOST_BEFORE)
            self._marks.append(Marked(t=event.t, before=tuple(before)))
        self._events.append(event)
        if event.kind in KINDS:
            self._fold(event)

    def summary(self, seconds: float, notes: tuple[str, ...] = (), has_bus: bool = True) -> WatchSummary:
        """What it all amounts to."""
        events = tuple(self._events)
        falls = falls_in(events)
        together = falls_together(falls, self._bus)
        total = sum(self._by_kind.values())
        if total > len(events) and len(events) == _MOST_EVENTS:
            notes = (*notes, _ONLY_LAST.format(total=total))
        return WatchSummary(
            seconds=round(seconds, 3),
            events=events,
            by_kind=dict(self._by_kind),
            together=together,
            marked=tuple(self._marks),
            observations=self._observations(falls, together),
            signs=tuple(self._signs.values()),
            stands_out=self._stands_out(falls, together),
            has_bus=has_bus,
            notes=notes,
        )

    def _fold(self, event: WatchEvent) -> None:
        key = (event.kind, event.where)
        if key not in self._signs and len(self._signs) >= _MOST_SIGNS:
            key = (event.kind, "-")
        stamp = event.at or f"{event.t:.3f}"
        known = self._signs.get(key) or Sign(kind=event.kind, where=key[1], count=0, first=stamp, text=event.text)
        self._signs[key] = known.model_copy(update={"count": known.count + event.count, "last": stamp})

    def _stands_out(self, falls: tuple[Fall, ...], together: tuple[Together, ...]) -> bool:
        expected = _PLAIN | ({"power_lost"} if SLEPT in self._by_kind else set())
        troubled = any(kind in KINDS and kind not in expected for kind in self._by_kind)
        return troubled or bool(_droppers(falls)) or any(not t.hub_left for t in together)

    def _observations(
        self, falls: tuple[Fall, ...], together: tuple[Together, ...]
    ) -> dict[str, str | tuple[str, ...]]:
        """What the watch settles about the subject; without one, about the only device that dropped out."""
        found: dict[str, str | tuple[str, ...]] = {}
        droppers = _droppers(falls)
        about = self._subject or (tuple(droppers) if len(droppers) == 1 else ())
        common = [t for t in together if not t.hub_left and (not self._subject or set(t.devices) & set(self._subject))]
        if any(device in droppers for device in about):
            found["seen_by_system"] = "comes_and_goes"
            found["recovery"] = "by_itself"
        if common:
            found["affected"] = f"one_{common[-1].what}"
        elif about and set(droppers) == set(about) and all(self._bus.others_on_hub(device) for device in about):
            found["affected"] = "one_device"
        woke = [e.t for e in self._events if e.kind == SLEPT]
        if about and any(f.device in about and _soon_after(f.t, woke) for f in falls if f.device in droppers):
            found["when"] = ("idle_or_resume",)
        return found


def _droppers(falls: tuple[Fall, ...]) -> dict[str, int]:
    """Devices that dropped out and came back too quickly for a hand, often enough, with how often."""
    counts = Counter(f.device for f in falls if f.by_itself)
    return {device: count for device, count in counts.items() if count >= OFTEN}


def _soon_after(t: float, moments: list[float]) -> bool:
    return any(0 <= t - moment <= AFTER_SLEEP_S for moment in moments)
