"""A set-up that is being described by hand, as the page shows it: strips of sockets, and which socket comes next.

Knows no Qt. The set-up itself is a `Described`; this only reads it.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from wizard.budget.described import Described, Host
from wizard.bus.model import Device, Socket

HOSTS: dict[str, Host] = {
    "desktop": Host(usb2=4, usb3=4),
    "laptop": Host(usb3=3),
    "single_board": Host(usb2=2, usb3=2),
}
"""Computers to begin with; how many sockets each has is common practice (no source) and can be told otherwise."""


@dataclass(frozen=True)
class Place:
    """One socket, each pair of halves once: its id, how deep it lies, its number, whether it is a USB 3 socket, what
    is in it, and the id of the hub in it if there is one."""

    socket: str
    hub: str
    depth: int
    number: int
    usb3: bool
    device: Device | None = None
    is_hub: bool = False


def places(at: Described) -> tuple[Place, ...]:
    """All sockets, those of a hub right after the one it is plugged into."""
    fast = {d.id for d in at.snapshot.devices if d.speed in ("super", "super_plus")}
    by_hub: dict[str, list[Socket]] = {}
    for socket in at.snapshot.sockets:
        if socket.peer is None or socket.hub not in fast:
            by_hub.setdefault(socket.hub, []).append(socket)
    devices = {d.id: d for d in at.snapshot.devices}

    def below(hub: str, depth: int) -> Iterator[Place]:
        for number, socket in enumerate(by_hub.get(hub, ()), 1):
            halves = [devices[i] for i in (socket.id, socket.peer) if i in devices]
            found = halves[0] if halves else None
            is_hub = found is not None and found.hub is not None
            yield Place(socket.id, hub, depth, number, socket.peer is not None or hub in fast, found, is_hub)
            for half in halves if is_hub else ():
                yield from below(half.id, depth + 1)

    roots = [d.id for d in at.snapshot.devices if d.root and d.id not in fast]
    return tuple(place for root in roots for place in below(root, 0))


def next_free(at: Described, after: str) -> str | None:
    """The socket to fill next: the next free one of a hub that was just plugged in, else of the hub just filled, else
    of the nearest one above, else any; None if all are taken."""
    shown = places(at)
    free = [p for p in shown if p.device is None]
    if not free:
        return None
    here = next((p for p in shown if p.socket == after), None)
    if here is None:
        return free[0].socket
    inside = {here.device.id} if here.device is not None and here.is_hub else set()
    hub: str | None = here.hub
    while True:
        wanted = next((p for p in free if p.hub in inside), None) or next((p for p in free if p.hub == hub), None)
        if wanted is not None:
            return wanted.socket
        above = next((p for p in shown if p.device is not None and p.device.id == hub), None)
        if above is None:
            return free[0].socket
        hub, inside = above.hub, set()


def fresh_name(at: Described, title: str) -> str:
    """A name that no device has yet: the second mouse is `Mouse 2`."""
    taken = {d.name for d in at.snapshot.devices}
    return next(name for n in range(1, 2000) if (name := title if n == 1 else f"{title} {n}") not in taken)
