"""The bus as strips of sockets: which plug sits in which socket of which strip, as values.

Knows snapshots and ids. Knows no budgets, no places on a screen and no Qt. The two halves (USB 2 and SuperSpeed)
of a socket, a hub or a controller's root hubs are one thing here, as they are on the desk.

Keys stay the same while plugs are moved about on trial: a thing is called by the id it had when it was seen
(`was` tells it), so that a picture can follow it. `id` is what it is called in the snapshot at hand.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal

from wizard.bus.model import Controller, Device, Snapshot, Socket
from wizard.bus.tree import BusTree, natural_key
from wizard.desktop.strip_figures import Figure, figure_of
from wizard.report.words import controller_words, device_words, speed_words

StripKind = Literal["pc", "hub", "adrift"]
Hold = Literal["open", "doubtful", "built_in"]

PC = "Sockets of the PC"
"""What the strip of a controller of the PC is called."""

ADRIFT = "adrift"
"""Key of the strip that holds what nobody knows where it hangs."""

MOST_PORTS = 255
"""bNbrPorts is one byte (USB 2.0 Table 11-13): a document that says more is no hub's."""


@dataclass(frozen=True)
class Plug:
    """What sits in a socket: a device, or both halves of a USB 3 hub, the USB 2 half first."""

    key: str
    id: str
    halves: tuple[str, ...]
    name: str
    figure: Figure
    speed: str
    is_hub: bool


@dataclass(frozen=True)
class Hole:
    """One physical socket. `halves` are the ids of its halves; `fast` says that it has SuperSpeed wires. A
    `doubtful` one may not be led out of the computer: no system tells of every one."""

    key: str
    id: str
    halves: tuple[str, ...]
    label: str
    side: str | None
    fast: bool
    hold: Hold
    plug: Plug | None = None


@dataclass(frozen=True)
class Strip:
    """A controller's sockets, a hub's, or what is adrift. `places` are the ids that its ledger entries may stand
    at; `above` the key of the socket it hangs in; `detail` says more than `words` where there is room for it."""

    key: str
    kind: StripKind
    name: str
    words: str
    places: tuple[str, ...]
    holes: tuple[Hole, ...]
    above: str | None = None
    depth: int = 0
    detail: str = ""


@dataclass(frozen=True)
class Picture:
    """All strips by key, each before what hangs on it, and where everything is."""

    strips: dict[str, Strip] = field(default_factory=dict)
    strip_of: dict[str, str] = field(default_factory=dict)  # key of a socket → key of its strip
    hole_of: dict[str, str] = field(default_factory=dict)  # key of a plug → key of the socket it sits in
    holes: dict[str, Hole] = field(default_factory=dict)

    def plug(self, key: str) -> Plug | None:
        """A plug by its key."""
        hole = self.holes.get(self.hole_of.get(key, ""))
        return None if hole is None else hole.plug

    def strip_above(self, strip: str) -> str | None:
        """The strip that a strip hangs on."""
        above = self.strips[strip].above
        return None if above is None else self.strip_of.get(above)

    def below(self, strip: str) -> Iterator[Strip]:
        """Every strip below a strip."""
        waiting = [strip]
        while waiting:
            for hole in self.strips[waiting.pop()].holes:
                if hole.plug is not None and hole.plug.is_hub and hole.plug.key in self.strips:
                    yield self.strips[hole.plug.key]
                    waiting.append(hole.plug.key)


def known_sockets(tree: BusTree) -> dict[str, Socket]:
    """All sockets, those told by a device in them and by a hub's number of ports included."""
    sockets = dict(tree.sockets)
    for device in tree.snapshot.devices:
        if device.parent in tree.devices and not device.root:
            sockets.setdefault(device.id, Socket(id=device.id, hub=device.parent or ""))
        if device.hub is not None and device.hub.ports is not None:
            prefix = f"{device.id.removeprefix('usb')}-" if device.root else f"{device.id}."
            for port in range(1, min(device.hub.ports, MOST_PORTS) + 1):
                if f"{prefix}{port}" not in sockets:
                    sockets[f"{prefix}{port}"] = Socket(id=f"{prefix}{port}", hub=device.id)
    return sockets


def picture_of(
    snapshot: Snapshot, was: Mapping[str, str] | None = None, names: Mapping[str, str] | None = None
) -> Picture:
    """The strips of a snapshot. `was` tells the id that a device had when it was seen, where it has another now;
    `names` what to call a controller's strip that is no part of the PC yet."""
    return _Drawing(BusTree(snapshot), was or {}, names or {}).whole()


class _Drawing:
    """One snapshot being taken apart."""

    def __init__(self, tree: BusTree, was: Mapping[str, str], names: Mapping[str, str]) -> None:
        self.tree = tree
        self.names = names
        self.was = was
        self.sockets = known_sockets(tree)
        self.by_hub: dict[str, list[Socket]] = {}
        for socket in sorted(self.sockets.values(), key=lambda s: natural_key(s.id)):
            self.by_hub.setdefault(socket.hub, []).append(socket)
        self.picture = Picture()
        self.seen: set[str] = set()
        self.many = False

    def whole(self) -> Picture:
        """Controllers first, each with what hangs on it; then what can't be placed."""
        known = self.tree.controllers
        roots = self.tree.root_hubs
        homes = list(dict.fromkeys([*known, *(r.parent or r.id for r in roots)]))
        self.many = len(homes) > 1
        for home in homes:
            own = tuple(r for r in roots if (r.parent or r.id) == home)
            self._add(self._pc(home, known.get(home), own))
        lost = [d for d in self.tree.snapshot.devices if not d.root and d.id not in self.seen]
        if lost:
            holes = tuple(
                Hole(f"{ADRIFT}/{d.id}", d.id, (d.id,), "?", None, d.is_super, "built_in", self._plug([d]))
                for d in sorted(lost, key=lambda d: natural_key(d.id))
            )
            self._add(Strip(ADRIFT, "adrift", "Adrift", "seen, but it is unknown where it hangs", (), holes))
        return self.picture

    def _pc(self, home: str, controller: Controller | None, roots: tuple[Device, ...]) -> Strip:
        places = (home, *(r.id for r in roots))
        words = controller_words(controller) if controller is not None else f"controller {home}, kind unknown"
        number = sum(s.kind == "pc" for s in self.picture.strips.values()) + 1
        short = f"USB controller {number}" if self.many else "USB controller"
        return Strip(home, "pc", self.names.get(home, PC), short, places, self._holes(roots), detail=words)

    def _add(self, first: Strip) -> None:
        """A strip and whatever hangs on it; no recursion, so that no chain of hubs is too long."""
        waiting = [first]
        while waiting:
            strip = waiting.pop()
            self.picture.strips[strip.key] = strip
            below: list[Strip] = []
            for hole in strip.holes:
                self.picture.holes[hole.key] = hole
                self.picture.strip_of[hole.key] = strip.key
                if hole.plug is not None:
                    self.picture.hole_of[hole.plug.key] = hole.key
                    if hole.plug.is_hub and strip.kind != "adrift":
                        below.append(self._hub(hole.plug, hole.key, strip.depth + 1))
            waiting.extend(reversed(below))

    def _hub(self, plug: Plug, above: str, depth: int) -> Strip:
        halves = tuple(self.tree.devices[h] for h in plug.halves)
        words = f"hub in socket {plug.id}, {plug.speed}"
        return Strip(plug.key, "hub", plug.name, words, plug.halves, self._holes(halves), above, depth)

    def _holes(self, hubs: tuple[Device, ...]) -> tuple[Hole, ...]:
        """The sockets of some hubs that are one on the desk, each with its plug."""
        mine = {h.id for h in hubs}
        found: list[Hole] = []
        for hub in sorted(hubs, key=lambda h: (h.is_super, natural_key(h.id))):
            for socket in self.by_hub.get(hub.id, ()):
                peer = self._peer(socket, mine)
                if hub.is_super and peer is not None:
                    continue  # told by its USB 2 half
                if self._leads_nowhere(socket, peer):
                    continue
                found.append(self._hole(socket, peer, hub))
        return tuple(found)

    def _peer(self, socket: Socket, mine: set[str]) -> Socket | None:
        """The other half of a socket of these hubs; where nobody tells, one of the other side under its number."""
        peer = self.sockets.get(socket.peer) if socket.peer is not None else None
        return peer if peer is not None and peer.hub in mine and peer.id != socket.id else None

    def _leads_nowhere(self, socket: Socket, peer: Socket | None) -> bool:
        halves = (socket,) if peer is None else (socket, peer)
        return all(s.usable is False and s.id not in self.tree.devices for s in halves)

    def _hole(self, socket: Socket, peer: Socket | None, hub: Device) -> Hole:
        halves = (socket.id,) if peer is None else (socket.id, peer.id)
        devices = [self.tree.devices[h] for h in halves if h in self.tree.devices and h not in self.seen]
        devices = [d for d in devices if not d.root]
        known = self.tree.sockets.get(socket.id)
        hold: Hold = "open"
        if socket.built_in or (peer is not None and peer.built_in):
            hold = "built_in"
        elif hub.root and (known is None or not known.usable) and not devices:
            hold = "doubtful"
        port = _port(socket.id)
        return Hole(
            key=socket.id if hub.root else f"{self.was.get(hub.id, hub.id)}.{port}",
            id=socket.id,
            halves=halves,
            label=port,
            side=socket.place or (peer.place if peer is not None else None),
            fast=hub.is_super or peer is not None,
            hold=hold,
            plug=self._plug(devices) if devices else None,
        )

    def _plug(self, devices: list[Device]) -> Plug:
        self.seen.update(d.id for d in devices)
        first, last = devices[0], devices[-1]
        return Plug(
            key=self.was.get(first.id, first.id),
            id=first.id,
            halves=tuple(d.id for d in devices),
            name=device_words(first),
            figure=figure_of(first),
            speed=speed_words(last).partition(" (")[0],
            is_hub=any(d.hub is not None for d in devices),
        )


def _port(socket: str) -> str:
    return socket.replace("-", ".").rsplit(".", 1)[-1]
