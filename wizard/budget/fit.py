"""Does one more fit, where best, and how many: devices are added one by one until a budget would be overdrawn.

Where a limit is known only between two ends, everything is tried at both: what fits at the lower end fits for
certain, what fits at the higher one may. What is found is a way that works, not the best one: each device takes the
socket that leaves most room, and another arrangement may hold more.
"""

from collections.abc import Callable, Iterable
from typing import Literal, NamedTuple

from wizard.budget.entry import Entry, state_of
from wizard.budget.replug import Add
from wizard.budget.what_if import Bench
from wizard.bus.document import Document
from wizard.bus.errors import BadInputError
from wizard.bus.model import Socket
from wizard.bus.tree import natural_key
from wizard.bus.unlisted import unlisted_hubs

MOST = 16
"""How many are tried at the most, unless asked otherwise: nobody buys more at once."""

End = Literal["lower", "higher"]
"""Which end of a bracket is taken for the limit."""

_WITHOUT_LIMIT = frozenset({"latency"})


class Fitted(Document):
    """How many fitted and where, in the order to plug them in. `slower` are those sockets where the device would run
    below its rated speed. `blocked_by` are the entries one more would overdraw at the best socket left; it is empty
    if no socket is free, or if as many fitted as were asked for."""

    count: int
    sockets: tuple[str, ...] = ()
    slower: tuple[str, ...] = ()
    blocked_by: tuple[Entry, ...] = ()


class Fit(Document):
    """The answer: `certain` fit whatever the limits that are not known exactly, `perhaps` if they are at their higher
    end (the same where none is open). `depends_on` are the entries that make the difference, each with the observation
    that settles it; `not_known` those at the places used of which no limit is known at all. `asked` is how many were
    tried at the most. `unlisted` are the hubs whose free sockets the look does not tell: more may fit there."""

    certain: Fitted
    perhaps: Fitted
    depends_on: tuple[Entry, ...] = ()
    not_known: tuple[Entry, ...] = ()
    asked: int = MOST
    unlisted: tuple[str, ...] = ()


Plug = Callable[[str], Add]
"""Makes the change that plugs one more of a kind into a socket (`DeviceKind.to_plug` with its name)."""


def does_it_fit(bench: Bench, plug: Plug, most: int = MOST) -> Fit:
    """How many can be added to free sockets without overdrawing a budget that was not overdrawn before."""
    return _fit(bench, plug, most).model_copy(update={"unlisted": unlisted_hubs(bench.tree)})


def _fit(bench: Bench, plug: Plug, most: int) -> Fit:
    certain, strict_end = _filled(bench, plug, most, "lower")
    if not any(e.limit is None and e.bracket is not None for e in strict_end.ledger):
        return Fit(certain=certain, perhaps=certain, not_known=_not_known(bench, strict_end), asked=most)
    perhaps, end = _filled(bench, plug, most, "higher")
    depends = tuple(e for e in certain.blocked_by if e.limit is None) if perhaps.count > certain.count else ()
    return Fit(certain=certain, perhaps=perhaps, depends_on=depends, not_known=_not_known(bench, end), asked=most)


def newly_over(before: Bench, after: Bench, end: End = "higher") -> tuple[Entry, ...]:
    """Entries over after a change that were not over before it, or by less; a bracket is taken at one end."""
    was = {(e.budget, e.where): e.used or 0.0 for e in before.ledger if _is_over(e, end)}
    return tuple(e for e in after.ledger if _is_over(e, end) and (e.used or 0.0) > was.get((e.budget, e.where), -1.0))


def _limit(entry: Entry, end: End) -> float | None:
    if entry.limit is not None or entry.bracket is None:
        return entry.limit
    return entry.bracket[0 if end == "lower" else 1]


def _is_over(entry: Entry, end: End) -> bool:
    return state_of(entry.used, _limit(entry, end)) == "over"


class _Try(NamedTuple):
    """One more in a socket: what would be overdrawn, whether it runs slower there, whether it touches a budget of which
    no limit is known, the greatest share of a limit that it touches, and the state after."""

    socket: str
    slower: bool
    over: tuple[Entry, ...]
    doubtful: bool
    share: float
    after: Bench

    @property
    def order(self) -> tuple[bool, bool, bool, float, object]:
        """The best first: nothing overdrawn, at full speed, every limit known, with most room left."""
        return (bool(self.over), self.slower, self.doubtful, round(self.share, 3), natural_key(self.socket))


def _filled(bench: Bench, plug: Plug, most: int, end: End) -> tuple[Fitted, Bench]:
    at = bench
    used: list[_Try] = []
    blocked: tuple[Entry, ...] = ()
    while len(used) < most:
        tries = [t for socket in _one_of_each(at) if (t := _tried(at, plug(socket), end)) is not None]
        best = min(tries, key=lambda t: t.order, default=None)
        if best is None:
            break
        if best.over:
            blocked = best.over
            break
        used.append(best)
        at = best.after
    fitted = Fitted(
        count=len(used),
        sockets=tuple(t.socket for t in used),
        slower=tuple(t.socket for t in used if t.slower),
        blocked_by=blocked,
    )
    return fitted, at


def _one_of_each(bench: Bench) -> Iterable[str]:
    """Free sockets in natural order, one of those that are alike: what fits one fits the other."""
    seen: set[tuple[object, ...]] = set()
    for socket in sorted(bench.snapshot.sockets, key=lambda s: natural_key(s.id)):
        if socket.usable is False or socket.built_in or _is_taken(bench, socket):
            continue
        peer = bench.tree.sockets.get(socket.peer or "")
        alike = (socket.hub, socket.group, socket.offers_ma, peer.hub if peer is not None else None)
        if alike not in seen:
            seen.add(alike)
            yield socket.id


def _is_taken(bench: Bench, socket: Socket) -> bool:
    devices = bench.tree.devices
    return socket.id in devices or socket.peer in devices


def _tried(bench: Bench, change: Add, end: End) -> _Try | None:
    try:
        after = bench.tried(change)
    except BadInputError:  # a socket without the wires that this device needs
        return None
    new = sorted(after.tree.devices.keys() - bench.tree.devices.keys(), key=natural_key)
    slower = change.device.is_super and not any(after.tree.devices[i].is_super for i in new)
    before = {(e.budget, e.where): e.used for e in bench.ledger}
    touched = [e for e in after.ledger if e.used != before.get((e.budget, e.where), 0.0)]
    shares = [e.used / limit for e in touched if e.used is not None and (limit := _limit(e, end))]
    doubtful = any(e.limit is None and e.bracket is None and e.budget not in _WITHOUT_LIMIT for e in touched)
    socket = new[0] if new else change.socket
    return _Try(socket, slower, newly_over(bench, after, end), doubtful, max(shares, default=0.0), after)


def _not_known(before: Bench, after: Bench) -> tuple[Entry, ...]:
    """Entries that the new devices touch and that no limit is known of."""
    was = {(e.budget, e.where): e.used for e in before.ledger}
    return tuple(
        e
        for e in after.ledger
        if e.limit is None
        and e.bracket is None
        and e.budget not in _WITHOUT_LIMIT
        and e.used != was.get((e.budget, e.where), 0.0)
    )
