"""Does one more fit, and how many: devices are added one by one until a budget would be overdrawn.

What is found is a way that works, not the best one: another arrangement may hold more.
"""

from dataclasses import dataclass

from wizard.budget.entry import Entry
from wizard.budget.what_if import Add, Bench
from wizard.bus.errors import BadInputError
from wizard.bus.model import Device
from wizard.bus.tree import natural_key


@dataclass(frozen=True)
class Fit:
    """How many fitted and where; `blocked_by` are the entries one more would overdraw at the last socket tried,
    empty if no socket was free. `certain` is false where a budget with an unknown limit could forbid it sooner."""

    count: int
    sockets: tuple[str, ...]
    blocked_by: tuple[Entry, ...]
    certain: bool


def newly_over(before: Bench, after: Bench) -> tuple[Entry, ...]:
    """Entries over after a change that were not over before it."""
    was = {(e.budget, e.where) for e in before.ledger if e.state == "over"}
    return tuple(e for e in after.ledger if e.state == "over" and (e.budget, e.where) not in was)


def how_many_fit(bench: Bench, device: Device, most: int = 127) -> Fit:
    """How many devices of one kind can be added to free sockets without overdrawing a budget; `most` at the most."""
    at = bench
    used: list[str] = []
    blocked: tuple[Entry, ...] = ()
    while len(used) < most:
        found = _place_one(at, device)
        if isinstance(found, tuple):
            blocked = found
            break
        at, socket = found.bench, found.socket
        used.append(socket)
    unsure = any(e.state == "unknown" and e.bracket is not None for e in at.ledger)
    return Fit(len(used), tuple(used), blocked, not unsure)


@dataclass(frozen=True)
class _Placed:
    bench: Bench
    socket: str


def _place_one(bench: Bench, device: Device) -> "_Placed | tuple[Entry, ...]":
    """One more in the first free socket that bears it; else what forbids it at the last one tried."""
    blocked: tuple[Entry, ...] = ()
    for socket in sorted(bench.snapshot.sockets, key=lambda s: natural_key(s.id)):
        if socket.usable is False or socket.built_in:
            continue
        try:
            after = bench.tried(Add(device, socket.id))
        except BadInputError:  # taken: the usual case
            continue
        over = newly_over(bench, after)
        if not over:
            placed = next(iter(after.tree.devices.keys() - bench.tree.devices.keys()))
            return _Placed(after, placed)
        blocked = over
    return blocked
