"""Who is on the bus as far as was heard, so that nothing is told twice and nothing is left out.

The same coming or going reaches us by up to three ways: the kernel's event, its log, and looking again.
Each way is counted by itself, and only what a way tells beyond all that was told before is news. Knows no
clock but the one it is given.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import islice

from wizard.observe.watch_log import LogNews
from wizard.observe.watch_polling import Change, Present, Roll, came, differences, gone, tripped
from wizard.observe.watch_uevents import BusNews

FORGET_S = 60.0
"""After so many quiet seconds a way that lags behind is taken to have lost something. Bringing up a device that
answers slowly takes the kernel up to half of that: three tries of 5 s and more (from memory)."""

_MOST_COUNTS = 4096
_BY_TWO_WAYS = ("connect", "disconnect", "over_current")

Key = tuple[str, str, int | None]


@dataclass
class _Counts:
    """How often each way told the same thing, and when last."""

    bus: int = 0
    log: int = 0
    last: float = 0.0


class Presence:
    """What is there, by id, and what was told of it. `now` gives seconds."""

    def __init__(self, roll: Roll, now: Callable[[], float]) -> None:
        self._known: dict[str, Present] = dict(roll)
        self._told: dict[Key, _Counts] = {}
        self._now = now

    @property
    def known(self) -> Roll:
        """Everything taken to be there now."""
        return self._known

    def hear(self, news: BusNews) -> Iterator[Change]:
        """What is new in an event of the kernel."""
        if news.kind == "over_current":
            yield from self._tripped(news)
        elif news.kind == "connect":
            yield from self._came(news)
        elif news.kind == "disconnect":
            known = self._known.get(news.where)
            if known is not None and _fits(known.address, news.address):
                del self._known[news.where]
                yield from self._unless_logged(gone(news.where, known.address))

    def hear_log(self, news: LogNews) -> bool:
        """Whether a line of the log tells anything that was not known yet."""
        if news.kind not in _BY_TWO_WAYS:
            return True
        counts = self._counts((news.kind, news.where, news.address))
        counts.log += 1
        return counts.log > counts.bus

    def look(self, roll: Roll) -> Iterator[Change]:
        """What is new in a look at the bus; from now on that look is what is known."""
        changes = tuple(differences(self._known, roll))
        self._known = dict(roll)
        for change in changes:
            yield from self._unless_logged(change) if change.kind in _BY_TWO_WAYS else (change,)
        self._forget()

    def even_out(self) -> None:
        """Something was lost on the way: what each way told until now counts for nothing any more."""
        self._told.clear()

    def _came(self, news: BusNews) -> Iterator[Change]:
        known = self._known.get(news.where)
        if known is not None:
            if _fits(known.address, news.address):
                return
            yield from self._unless_logged(gone(news.where, known.address))
        self._known[news.where] = Present(address=news.address)
        yield from self._unless_logged(came(news.where, news.address))

    def _tripped(self, news: BusNews) -> Iterator[Change]:
        hub = _hub_of(news.where)
        known = self._known.get(hub)
        if known is not None and news.count is not None:
            counts = {**(known.over_current or {}), news.where: news.count}
            self._known[hub] = replace(known, over_current=counts)
        yield from self._unless_logged(tripped(news.where, total=news.count))

    def _unless_logged(self, change: Change) -> Iterator[Change]:
        counts = self._counts((change.kind, change.where, change.address))
        counts.bus += change.count
        if counts.bus > counts.log:
            yield change

    def _counts(self, key: Key) -> _Counts:
        counts = self._told.get(key)
        if counts is None:
            if len(self._told) >= _MOST_COUNTS:
                # The oldest half, of which nobody can still be waiting for the other way.
                for old in tuple(islice(self._told, _MOST_COUNTS // 2)):
                    del self._told[old]
            counts = self._told[key] = _Counts()
        counts.last = self._now()
        return counts

    def _forget(self) -> None:
        oldest = self._now() - FORGET_S
        self._told = {k: c for k, c in self._told.items() if c.last > oldest}


def _fits(known: int | None, told: int | None) -> bool:
    return known is None or told is None or known == told


def _hub_of(socket: str) -> str:
    bus, _, ports = socket.partition("-")
    above, dot, _ = ports.rpartition(".")
    return f"{bus}-{above}" if dot else f"usb{bus}"
