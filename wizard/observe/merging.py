"""One snapshot from two looks at the same bus: libusb's, with speeds and descriptors, and the system's own list, with
names, drivers and problems. Joined by bus and socket; where the two disagree about who sits there, both are kept.

Pure arithmetic on snapshots; knows no system.
"""

from collections.abc import Mapping, Sequence

from wizard.bus.model import Controller, Device, Interface, Snapshot, Socket
from wizard.bus.tree import natural_key


def merged(seen: Snapshot, listed: Snapshot) -> Snapshot:
    """`seen` by libusb, enriched by what the system lists. Bus numbers are libusb's; buses it does not see get the
    numbers after them."""
    if not listed.devices:
        return seen.model_copy(update={"system": listed.system})
    if not seen.devices:
        return listed
    names = _names(seen, listed)
    renamed = {d.id: _renamed(d, names) for d in listed.devices}
    known = {d.id: d for d in seen.devices}
    devices = dict(known)
    for device in renamed.values():
        same = known.get(device.id)
        if same is None:
            devices[device.id] = device
        elif _agree(same, device):
            devices[device.id] = _joined(same, device)
        else:
            lost = f"?-{device.id}"
            devices[lost] = device.model_copy(update={"id": lost, "parent": None})
    controllers, owners = _controllers(seen, listed, names)
    devices = {i: _under(d, owners) for i, d in devices.items()}
    return Snapshot(
        system=listed.system,
        controllers=controllers,
        sockets=_sockets(seen, [_renamed_socket(s, names) for s in listed.sockets]),
        devices=tuple(sorted(devices.values(), key=lambda d: natural_key(d.id))),
        unreadable=(*seen.unreadable, *listed.unreadable),
    )


def _buses(snapshot: Snapshot) -> dict[str, set[tuple[str, str | None, str | None]]]:
    """Who sits where, by bus number as text; a root hub only says that the bus is there."""
    found: dict[str, set[tuple[str, str | None, str | None]]] = {}
    for device in snapshot.devices:
        if device.root:
            found.setdefault(device.id[3:], set())
        else:
            bus, _, ports = device.id.partition("-")
            if bus.isdigit() and ports:
                found.setdefault(bus, set()).add((ports, device.vid, device.pid))
    return found


def _names(seen: Snapshot, listed: Snapshot) -> dict[str, str]:
    """Which bus of the list is which of libusb's: those that agree most first; then by the ids of the controller,
    which libusb gives to the root hub on Windows; the rest get new numbers."""
    ours, theirs = _buses(seen), _buses(listed)
    roots = {d.id[3:]: (d.vid, d.pid) for d in seen.devices if d.root}
    pci = _pci_of_buses(listed)
    scores = sorted(
        (
            (-len(ours[a] & theirs[b]), roots.get(a) != pci.get(b), a != b, natural_key(a), natural_key(b), a, b)
            for a in ours
            for b in theirs
            if ours[a] & theirs[b] or (pci.get(b) is not None and roots.get(a) == pci[b])
        ),
    )
    names: dict[str, str] = {}
    for *_, a, b in scores:
        if b not in names and a not in names.values():
            names[b] = a
    spare = max((int(a) for a in ours), default=0)
    for b in sorted(theirs, key=natural_key):
        if b not in names:
            free = b not in ours and b not in names.values()
            spare = spare if free else spare + 1
            names[b] = b if free else str(spare)
            spare = max(spare, int(names[b]))
    return names


def _pci_of_buses(listed: Snapshot) -> dict[str, tuple[str | None, str | None]]:
    owners = {c.id: c for c in listed.controllers}
    found: dict[str, tuple[str | None, str | None]] = {}
    for device in listed.devices:
        owner = owners.get(device.parent or "") if device.root else None
        if owner is not None and owner.pci is not None and owner.pci.vendor:
            found[device.id[3:]] = (owner.pci.vendor, owner.pci.device)
    return found


def _rename(identifier: str | None, names: Mapping[str, str]) -> str | None:
    if identifier is None:
        return None
    if identifier.startswith("usb") and identifier[3:] in names:
        return f"usb{names[identifier[3:]]}"
    bus, mark, ports = identifier.partition("-")
    return f"{names[bus]}-{ports}" if mark and bus in names else identifier


def _renamed(device: Device, names: Mapping[str, str]) -> Device:
    return device.model_copy(update={"id": _rename(device.id, names), "parent": _rename(device.parent, names)})


def _renamed_socket(socket: Socket, names: Mapping[str, str]) -> Socket:
    places = {"id": socket.id, "hub": socket.hub, "peer": socket.peer}
    return socket.model_copy(update={key: _rename(place, names) for key, place in places.items()})


def _agree(seen: Device, listed: Device) -> bool:
    """Whether both mean the same device: the same ids, or one does not know them (a device that failed to come up)."""
    if seen.root or listed.root:
        return seen.root == listed.root
    return None in (seen.vid, listed.vid) or (seen.vid, seen.pid) == (listed.vid, listed.pid)


def _joined(seen: Device, listed: Device) -> Device:
    """What was seen stands; the list fills what is missing. A name from the device itself stands before the list's."""
    drivers = {i.number: i.driver for i in listed.interfaces if i.driver}
    named = seen.product or listed.product or listed.name
    return seen.model_copy(
        update={
            "name": seen.name if seen.root else (named or seen.name),
            "product": seen.product or listed.product,
            "manufacturer": seen.manufacturer or listed.manufacturer,
            "serial": seen.serial or listed.serial,
            "hub": seen.hub or listed.hub,
            "speed": seen.speed or listed.speed,
            "mbps": seen.mbps or listed.mbps,
            "max_power_ma": seen.max_power_ma if seen.max_power_ma is not None else listed.max_power_ma,
            "power_saving": seen.power_saving or listed.power_saving,
            "listing": listed.listing,
            "interfaces": _with_drivers(seen.interfaces, drivers),
        }
    )


def _with_drivers(interfaces: Sequence[Interface], drivers: Mapping[int, str]) -> tuple[Interface, ...]:
    return tuple(i.model_copy(update={"driver": i.driver or drivers.get(i.number)}) for i in interfaces)


def _controllers(
    seen: Snapshot, listed: Snapshot, names: Mapping[str, str]
) -> tuple[tuple[Controller, ...], dict[str, str]]:
    """Controllers by their own names where the list knows them, and the owner of each root hub."""
    by_id = {c.id: c for c in (*seen.controllers, *listed.controllers)}
    owners = {d.id: d.parent for d in seen.devices if d.root and d.parent is not None}
    for device in listed.devices:
        root = _rename(device.id, names)
        if device.root and device.parent in by_id and root is not None:
            replaced = by_id.get(owners.get(root, ""))
            owner = by_id[device.parent]
            if replaced is not None and owner.kind == "other" and owner.id != replaced.id:
                by_id[owner.id] = owner.model_copy(update={"kind": replaced.kind})
            owners[root] = owner.id
    used = set(owners.values()) | {c.id for c in listed.controllers}
    return tuple(sorted((c for c in by_id.values() if c.id in used), key=lambda c: natural_key(c.id))), owners


def _under(device: Device, owners: Mapping[str, str]) -> Device:
    return device.model_copy(update={"parent": owners[device.id]}) if device.id in owners else device


def _sockets(seen: Snapshot, listed: Sequence[Socket]) -> tuple[Socket, ...]:
    sockets = {s.id: s for s in seen.sockets}
    for socket in listed:
        known = sockets.get(socket.id)
        if known is None:
            sockets[socket.id] = socket
            continue
        told = {k: getattr(socket, k) for k in ("peer", "offers_ma", "built_in", "generation")}
        sockets[socket.id] = known.model_copy(update={k: v for k, v in told.items() if v is not None})
    return tuple(sorted(sockets.values(), key=lambda s: natural_key(s.id)))
