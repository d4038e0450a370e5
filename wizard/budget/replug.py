"""A snapshot after something was plugged in, unplugged or plugged elsewhere. Knows ids, not budgets.

Either half of a USB 3 socket may be named; a device goes to the half it can use. The two halves of a USB 3
hub move together. A SuperSpeed device in a USB 2 socket falls back to high speed (USB 3.2 §3.1.4, from
memory) and is reckoned there with the endpoints it has now, since its others can't be known.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from wizard.budget.setup import Setup
from wizard.bus.errors import BadInputError
from wizard.bus.model import MBPS, Device, Snapshot, Socket
from wizard.bus.tree import BusTree


@dataclass(frozen=True)
class Add:
    """Plug a new device into a socket; what id it came with does not matter. `other_half` is the USB 2 side of a
    USB 3 hub. A hub that says how many sockets it has brings them along."""

    device: Device
    socket: str
    other_half: Device | None = None


@dataclass(frozen=True)
class Remove:
    """Unplug a device and whatever hangs on it."""

    device: str


@dataclass(frozen=True)
class Move:
    """Plug a device, and whatever hangs on it, into another socket."""

    device: str
    socket: str


Change = Add | Remove | Move


@dataclass(frozen=True)
class Replugged:
    """The snapshot and the told facts afterwards; `gone` are ids before the change, `come` ids after it."""

    snapshot: Snapshot
    setup: Setup
    gone: frozenset[str]
    come: frozenset[str]


def replugged(tree: BusTree, setup: Setup, change: Change) -> Replugged:
    """Make a change. Raises BadInputError if there is no such device or socket, or the socket is taken."""
    taken_out = _halves(tree, change.device) if isinstance(change, Move | Remove) else ()
    gone = {d.id: d for half in taken_out for d in (half, *tree.below(half.id))}
    renamed: dict[str, str] = {}
    come: list[Device] = []
    brought: tuple[Socket, ...] = ()
    if isinstance(change, Add):
        come.extend(_added(tree, change))
        brought = tuple(_sockets_of_new(come))
    elif isinstance(change, Move):
        for half in taken_out:
            come.extend(_moved(tree, half, change.socket, frozenset(gone), renamed))
    devices = (*(d for d in tree.snapshot.devices if d.id not in gone), *_first_of_each(come))
    kept = tree.snapshot.sockets
    if any(d.hub is not None for d in gone.values()):
        kept = tuple(s for old in kept for s in _socket_after(old, gone, renamed))
    sockets = (*kept, *brought) if brought else kept
    return Replugged(
        # Values come from a validated snapshot or are made here: no need to check a thousand of them again.
        Snapshot.model_construct(**{**dict(tree.snapshot), "devices": devices, "sockets": sockets}),
        _setup_after(setup, gone, renamed),
        frozenset(gone),
        frozenset(d.id for d in come),
    )


def _halves(tree: BusTree, identifier: str) -> tuple[Device, ...]:
    """The device, and for a USB 3 hub its other half; the USB 2 half first."""
    device = tree.devices.get(identifier)
    if device is None or device.root:
        raise BadInputError(identifier, "there is no such device to unplug", "Name a device of this snapshot.")
    socket = tree.sockets.get(identifier)
    twin = tree.devices.get(socket.peer) if socket is not None and socket.peer is not None else None
    if twin is None or device.hub is None or twin.hub is None:
        return (device,)
    return (twin, device) if device.is_super else (device, twin)


def _sides(tree: BusTree, socket: str) -> tuple[str | None, str | None]:
    """The USB 2 half and the SuperSpeed half of a physical socket; None for a half it does not have."""
    known = tree.sockets.get(socket)
    if known is None:
        raise BadInputError(socket, "there is no such socket", "Name a socket of this snapshot.")
    hub = tree.devices.get(known.hub)
    if hub is not None and hub.is_super:
        return (known.id if known.peer is None and tree.serves_both_sides(hub) else known.peer), known.id
    return known.id, known.peer


def _target(tree: BusTree, socket: str, device: Device, leaving: frozenset[str]) -> str:
    """The half of a socket that a device will use; it and, for anything but a hub, its other half must be free."""
    slow, fast = _sides(tree, socket)
    chosen = fast if device.is_super and fast is not None else slow
    if chosen is None:
        raise BadInputError(socket, "a USB 2 device finds no wires of its own here", "Choose another socket.")
    known = tree.sockets.get(chosen)
    if known is not None and known.hub in leaving:
        raise BadInputError(socket, "that socket is part of what moves", "Choose a socket elsewhere.")
    for half in (slow, fast):
        if half in tree.devices and half not in leaving:
            raise BadInputError(socket, "something is plugged in there", "Choose a free socket.")
    return chosen


def _added(tree: BusTree, change: Add) -> Iterable[Device]:
    """The new device, and the other half of a USB 3 hub; each on the side of the socket that is its own."""
    first = _target(tree, change.socket, change.device, frozenset())
    slow, fast = _sides(tree, change.socket)
    if change.other_half is None:
        yield _fit(change.device, first, fall_back=fast is None)
        return
    if fast is not None:
        yield _fit(change.device, fast)
    if slow is not None and slow != fast:
        yield _fit(change.other_half, slow)


def _sockets_of_new(come: Iterable[Device]) -> Iterable[Socket]:
    """The sockets of hubs that were plugged in; the two halves of one hub share theirs."""
    hubs = {d.id: d.hub for d in come if d.hub is not None}
    for identifier, hub in hubs.items():
        twin = next((other for other in hubs if other != identifier), None)
        for port in range(1, (hub.ports or 0) + 1):
            peer = f"{twin}.{port}" if twin is not None else None
            yield Socket(id=f"{identifier}.{port}", hub=identifier, peer=peer, usable=True)


def _moved(
    tree: BusTree, device: Device, socket: str, leaving: frozenset[str], renamed: dict[str, str]
) -> Iterable[Device]:
    """A device and all below it under their new ids; `renamed` collects old id → new id."""
    goes_to = _target(tree, socket, device, leaving)
    whole = (device, *tree.below(device.id))
    slow = _sides(tree, socket)[1] is None
    for part in whole:
        new = goes_to + part.id[len(device.id) :]
        renamed[part.id] = new
        yield _fit(part, new, fall_back=slow)


def _fit(device: Device, identifier: str, fall_back: bool = False) -> Device:
    """The device under a new id, at the speed it reaches there."""
    changes: dict[str, Any] = {"id": identifier, "parent": _parent(identifier)}
    if device.is_super and fall_back:
        changes |= {"speed": "high", "mbps": MBPS["high"]}
    return device.model_copy(update=changes)


def _parent(identifier: str) -> str:
    if "." in identifier:
        return identifier.rsplit(".", 1)[0]
    return f"usb{identifier.split('-', 1)[0]}"


def _first_of_each(devices: Iterable[Device]) -> tuple[Device, ...]:
    """Both halves of a USB 3 hub end as one in a USB 2 socket: its USB 2 half stays."""
    kept: dict[str, Device] = {}
    for device in devices:
        kept.setdefault(device.id, device)
    return tuple(kept.values())


def _socket_after(socket: Socket, gone: Mapping[str, Device], renamed: Mapping[str, str]) -> Iterable[Socket]:
    """A hub's sockets move and vanish with it."""
    if socket.hub not in gone:
        yield socket
    elif socket.hub in renamed:
        hub = renamed[socket.hub]
        peer_hub, _, port = (socket.peer or "").rpartition(".")
        peer = f"{renamed[peer_hub]}.{port}" if peer_hub in renamed else None
        new = f"{hub}.{socket.id.rsplit('.', 1)[-1]}"
        yield socket.model_copy(update={"id": new, "hub": hub, "peer": None if peer == new else peer})


_TOLD_OF_DEVICES = ("supplies_ma", "measured_ma", "peak_ma", "need_mb_s", "hub_power", "cables")
"""What is told of a device and goes where it goes; other things are told of sockets, groups and controllers."""


def _setup_after(setup: Setup, gone: Mapping[str, Device], renamed: Mapping[str, str]) -> Setup:
    """What was told of a device follows it; what was told of one that is gone is dropped."""

    def follows(told: Mapping[str, Any]) -> dict[str, Any]:
        return {renamed.get(k, k): v for k, v in told.items() if k not in gone or k in renamed}

    told = {name: getattr(setup, name) for name in _TOLD_OF_DEVICES}
    if not any(k in gone for values in told.values() for k in values):
        return setup
    return setup.model_copy(update={name: follows(values) for name, values in told.items()})
