"""The desk as a planner sees it: physical sockets, physical plugs, and who may go where.

The two halves of a USB 3 socket are one place, the two halves of a USB 3 hub one plug. Places keep the ids
they have in the snapshot, even when the hub they belong to moves.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from wizard.budget.power import allowance, parts_fed
from wizard.budget.setup import Setup
from wizard.bus.model import Device, Snapshot, Socket
from wizard.bus.tree import BusTree, natural_key

KEYBOARD = (0x03, 1)
"""Interface class and protocol of a boot keyboard: HID 1.11 §4.2 and §4.3 (from memory)."""
SMART_CARD_CLASS = 0x0B
"""Smart cards and security tokens of that class: USB-IF Defined Class Codes."""

Likeness = tuple[object, ...]
"""What makes two plugs alike; only good for comparing."""

ON_THE_DESK = "desk"
"""Where the sockets of an external hub are, in words of reach."""


@dataclass(frozen=True)
class Place:
    """One physical socket. `slow` and `fast` are its USB 2 and SuperSpeed halves; `hub` is the hub of the USB 2
    half (of the other where there is none); `where` is rear, front, desk or unknown."""

    id: str
    slow: str | None
    fast: str | None
    hub: str
    on_root: bool
    where: str | None
    group: str | None
    open: bool

    @property
    def strip(self) -> tuple[str, str | None]:
        """Sockets side by side: those of one external hub, or of one root hub on one side of the PC."""
        return (self.hub, self.where if self.on_root else None)

    @property
    def port(self) -> str:
        """Number of the socket on its hub."""
        return (self.slow or self.fast or "").replace("-", ".").rsplit(".", 1)[-1]


@dataclass(frozen=True)
class Plug:
    """One physical plug: a device, or both halves of a USB 3 hub. `needs_fast` keeps it at SuperSpeed."""

    id: str
    halves: tuple[str, ...]
    at: str
    is_hub: bool
    movable: bool
    needs_fast: bool
    draws_ma: float | None
    numbered: bool


@dataclass(frozen=True)
class Desk:
    """Places and plugs of one snapshot, by id."""

    snapshot: Snapshot
    setup: Setup
    places: dict[str, Place]
    plugs: dict[str, Plug]

    @cached_property
    def tree(self) -> BusTree:
        """Who hangs on whom."""
        return BusTree(self.snapshot)

    @cached_property
    def plug_of(self) -> dict[str, str]:
        """Plug by the id of any of its halves."""
        return {half: plug.id for plug in self.plugs.values() for half in plug.halves}

    @cached_property
    def movable(self) -> tuple[Plug, ...]:
        """Plugs that may be moved, in natural order."""
        found = (p for p in self.plugs.values() if p.movable)
        return tuple(sorted(found, key=lambda p: natural_key(p.id)))

    def likeness(self, plug: Plug) -> Likeness:
        """Equal for plugs that take the same bus time wherever they are."""
        devices = (self.tree.devices[half] for half in plug.halves)
        return tuple((d.speed, tuple((i.active_alternate, i.alternates) for i in d.interfaces)) for d in devices)

    @cached_property
    def alike(self) -> dict[Likeness, list[Plug]]:
        """Plugs by likeness."""
        found: dict[Likeness, list[Plug]] = {}
        for plug in self.plugs.values():
            found.setdefault(self.likeness(plug), []).append(plug)
        return found

    def hub_plug(self, place: Place) -> str | None:
        """The plug of the hub a place belongs to; None for a root hub."""
        return None if place.on_root else self.plug_of.get(place.hub)

    def allows(self, plug: Plug, place: Place) -> bool:
        """Whether a plug may go into a place, whatever else is there; its own place always suits it."""
        if place.id == plug.at:
            return True
        if not place.open or (place.fast is None if plug.needs_fast else place.slow is None):
            return False
        if place.hub in plug.halves:
            return False
        reach = self.setup.reach.get(plug.id)
        if reach is not None and place.where not in reach:
            return False
        limit = self._limits.get(place.id)
        return plug.is_hub or limit is None or plug.draws_ma is None or plug.draws_ma <= limit

    @cached_property
    def _limits(self) -> dict[str, float | None]:
        return {place.id: self._limit(place) for place in self.places.values()}

    def _limit(self, place: Place) -> float | None:
        half = place.fast or place.slow or place.id
        device = Device(id=half, parent=self._hub_of(half), speed="super" if place.fast else "high")
        found = allowance(self.tree, device, self.setup)
        return None if found is None else found.value

    def _hub_of(self, half: str) -> str | None:
        socket = self.tree.sockets.get(half)
        return socket.hub if socket is not None else None


def survey(snapshot: Snapshot, setup: Setup) -> Desk:
    """The desk of a snapshot. Devices whose way to a root hub is broken are left out."""
    tree = BusTree(snapshot)
    places = {place.id: place for place in _places(tree)}
    plugs = {plug.id: plug for plug in _plugs(tree, setup, places)}
    return Desk(snapshot, setup, places, plugs)


def _known_sockets(tree: BusTree) -> dict[str, Socket]:
    """All sockets, those told by a device in them and by a hub's number of ports included."""
    sockets = dict(tree.sockets)
    for device in tree.snapshot.devices:
        if device.parent in tree.devices and not device.root:
            sockets.setdefault(device.id, Socket(id=device.id, hub=device.parent or ""))
        if device.hub is not None and device.hub.ports is not None:
            prefix = f"{device.id[3:]}-" if device.root else f"{device.id}."
            # bNbrPorts is one byte (USB 2.0 Table 11-13): a document that says more is no hub's.
            for port in range(1, min(device.hub.ports, 255) + 1):
                sockets.setdefault(f"{prefix}{port}", Socket(id=f"{prefix}{port}", hub=device.id))
    return sockets


def _places(tree: BusTree) -> Iterator[Place]:
    sockets = _known_sockets(tree)
    for socket in sorted(sockets.values(), key=lambda s: natural_key(s.id)):
        hub = tree.devices.get(socket.hub)
        if hub is None:
            continue
        peer = sockets.get(socket.peer) if socket.peer is not None else None
        if hub.is_super and peer is not None:
            continue  # told by its USB 2 half
        slow, fast = (None, socket.id) if hub.is_super else (socket.id, peer.id if peer is not None else None)
        if tree.serves_both_sides(hub):
            slow = socket.id
        yield Place(
            id=socket.id,
            slow=slow,
            fast=fast,
            hub=hub.id,
            on_root=hub.root,
            where=socket.place or (None if hub.root else ON_THE_DESK),
            group=socket.group,
            open=socket.usable is not False and not socket.built_in,
        )


def _plugs(tree: BusTree, setup: Setup, places: dict[str, Place]) -> Iterator[Plug]:
    for place in places.values():
        halves = [tree.devices[h] for h in dict.fromkeys((place.slow, place.fast)) if h in tree.devices]
        if not halves or tree.root_of(halves[0].id) is None:
            continue
        drawn = [parts_fed(tree, half, setup) for half in halves]
        ids = tuple(h.id for h in halves)
        wanted = {setup.needs.get(h) for h in ids}
        yield Plug(
            id=ids[0],
            halves=ids,
            at=place.id,
            is_hub=any(h.hub is not None for h in halves),
            movable=place.open and not any(h in setup.pinned for h in ids) and not any(map(_stays, halves)),
            needs_fast="usb2" not in wanted and ("usb3" in wanted or any(h.is_super for h in halves)),
            draws_ma=None if None in drawn else max(sum(p.used for p in d or ()) for d in drawn),
            numbered=any(h.serial for h in halves),
        )


def _stays(device: Device) -> bool:
    """Keyboards and tokens are left alone: without them the PC can't be used."""
    return any((i.class_code, i.protocol) == KEYBOARD or i.class_code == SMART_CARD_CLASS for i in device.interfaces)
