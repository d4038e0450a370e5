"""Who hangs on whom in a snapshot: look-ups that every budget and every picture needs.

Survives a snapshot that contradicts itself (a parent that is not there, a ring of hubs): what can't
be placed has no path, and nothing loops.
"""

from collections import deque
from collections.abc import Iterator
from functools import cached_property, lru_cache
from typing import Any

from wizard.bus.model import Controller, Device, Snapshot, Socket


@lru_cache(maxsize=8192)
def natural_key(identifier: str) -> tuple[tuple[int, int | str], ...]:
    """Sort key that puts `1-2` before `1-10`."""
    key: list[tuple[int, int | str]] = []
    digits = ""
    for char in identifier + "\0":
        if char.isascii() and char.isdigit():
            digits += char
            continue
        if digits:
            key.append((0, int(digits)))
            digits = ""
        key.append((1, char))
    return tuple(key)


class BusTree:
    """Indexes over one snapshot. Build it once per snapshot; it never changes it."""

    def __init__(self, snapshot: Snapshot, remembered: dict[Any, Any] | None = None) -> None:
        self.snapshot = snapshot
        # What others reckoned of single devices; handed on to the tree of a snapshot that shares most of them.
        self.remembered: dict[Any, Any] = {} if remembered is None else remembered
        self.devices: dict[str, Device] = {d.id: d for d in snapshot.devices}
        self.sockets: dict[str, Socket] = {s.id: s for s in snapshot.sockets}
        self.controllers: dict[str, Controller] = {c.id: c for c in snapshot.controllers}
        self._paths: dict[str, tuple[Device, ...]] = {}
        self._in_order: dict[str, tuple[Device, ...]] = {}
        self._all_below: dict[str, tuple[Device, ...]] = {}

    @cached_property
    def _children(self) -> dict[str, list[Device]]:
        children: dict[str, list[Device]] = {}
        for device in self.snapshot.devices:
            if device.parent is not None:
                children.setdefault(device.parent, []).append(device)
        return children

    @cached_property
    def _sockets_of(self) -> dict[str, list[Socket]]:
        sockets: dict[str, list[Socket]] = {}
        for socket in self.snapshot.sockets:
            sockets.setdefault(socket.hub, []).append(socket)
        return sockets

    @cached_property
    def _by_listed_name(self) -> dict[str, str]:
        listed = [(device.listing, device.id) for device in self.snapshot.devices if device.listing is not None]
        return {name: identifier for listing, identifier in reversed(listed) for name in listing.names()}

    def place_of(self, where: str) -> str:
        """The id of the device that a sign calls by the system's own name (an instance id, a location path); any
        other place as it is."""
        return where if where in self.devices else self._by_listed_name.get(where.casefold(), where)

    def children(self, parent: str) -> tuple[Device, ...]:
        """Devices straight below a hub, or root hubs of a controller, in natural order."""
        known = self._in_order.get(parent)
        if known is None:
            found = self._children.get(parent)
            if found is None:
                return ()
            known = self._in_order[parent] = tuple(sorted(found, key=lambda d: natural_key(d.id)))
        return known

    def sockets_of(self, hub: str) -> tuple[Socket, ...]:
        """Ports of a hub in natural order."""
        return tuple(sorted(self._sockets_of.get(hub, ()), key=lambda s: natural_key(s.id)))

    def path(self, device: str) -> tuple[Device, ...]:
        """The device, then each hub above it up to the root hub, as far as the snapshot knows them."""
        known = self._paths.get(device)
        if known is None:
            path: list[Device] = []
            seen: set[str] = set()
            at = self.devices.get(device)
            while at is not None and at.id not in seen:
                seen.add(at.id)
                path.append(at)
                above = self._paths.get(at.parent or "") if not at.root else ()
                if above and seen.isdisjoint(d.id for d in above):
                    path.extend(above)
                    break
                at = self.devices.get(at.parent) if at.parent is not None and not at.root else None
            known = self._paths[device] = tuple(path)
        return known

    def root_of(self, device: str) -> Device | None:
        """The root hub above a device (itself for a root hub), or None if the chain is broken."""
        path = self.path(device)
        return path[-1] if path and path[-1].root else None

    def controller_of(self, device: str) -> Controller | None:
        """The controller a device hangs on, or None if the chain is broken."""
        root = self.root_of(device)
        return self.controllers.get(root.parent) if root is not None and root.parent is not None else None

    def serves_both_sides(self, root: Device) -> bool:
        """Whether a root hub listed at SuperSpeed stands for the USB 2 side of its controller, too: some systems list
        one root hub for both, and a controller has none but these two sides (xHCI, from memory)."""
        return root.root and root.is_super and root.parent is not None and len(self._children[root.parent]) == 1

    @cached_property
    def root_hubs(self) -> tuple[Device, ...]:
        """All root hubs in natural order."""
        return tuple(sorted((d for d in self.snapshot.devices if d.root), key=lambda d: natural_key(d.id)))

    def below(self, hub: str) -> tuple[Device, ...]:
        """Every device below a hub or controller, nearest first; a ring is walked once."""
        known = self._all_below.get(hub)
        if known is None:
            known = self._all_below[hub] = tuple(self._walked(hub))
        return known

    def _walked(self, hub: str) -> Iterator[Device]:
        seen = {hub}
        waiting = deque(self.children(hub))
        while waiting:
            device = waiting.popleft()
            if device.id in seen:
                continue
            seen.add(device.id)
            yield device
            waiting.extend(self.children(device.id))
