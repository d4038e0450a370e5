"""From Windows' device list to a snapshot: who hangs on whom, in the ids that all systems share.

A place comes from the location path, else from the chain of parents; a device without either is called `?-?N` and has
no parent. Speeds, currents and descriptors are not in the list and stay unknown, and so do sockets that are
empty. Windows gives one root hub to both sides of an xHCI controller, so which two root sockets are the halves of one
plug is known only where a hub with two halves sits in it. A controller that is neither on PCI nor built into the
board is made of software (remote or passed-on devices) and is called `vhci-N`, as on Linux.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from wizard.bus.model import (
    MBPS,
    Controller,
    ControllerKind,
    Device,
    Hub,
    Interface,
    Pci,
    PowerSaving,
    Snapshot,
    Socket,
    Speed,
    System,
)
from wizard.bus.tree import natural_key
from wizard.observe.labels import label, root_label
from wizard.observe.windows.devices import WinDevice, vid_pid
from wizard.observe.windows.places import (
    interface_of,
    path_of,
    pci_ids_of,
    pci_name,
    port_of,
    root_hub_of,
)

_SPEEDS: dict[str, Speed] = {
    # USB_DEVICE_SPEED, usbspec.h, and the words of tools
    "0": "low", "1": "full", "2": "high", "3": "super",
    "low": "low", "full": "full", "high": "high", "super": "super", "superplus": "super_plus",
    "low_speed": "low", "full_speed": "full", "high_speed": "high", "super_speed": "super",
    "super_speed_plus": "super_plus", "super_plus": "super_plus",
}  # fmt: skip
_KIND_BY_SERVICE: dict[str, ControllerKind] = {
    "usbxhci": "xhci", "usbehci": "ehci", "usbohci": "ohci", "usbuhci": "uhci",
}  # fmt: skip
_KIND_BY_CODE: dict[str, ControllerKind] = {
    # PCI class code 0C03xx: PCI Code and ID Assignment Specification §1.13
    "CC_0C0330": "xhci", "CC_0C0320": "ehci", "CC_0C0310": "ohci", "CC_0C0300": "uhci",
}  # fmt: skip
_FAST_SOCKET = re.compile(r"(?i)#ACPI\(SS\d{1,2}_*\)$")
"""The firmware's name of a socket's SuperSpeed half, by common practice (no source): HSnn and SSnn."""
_HUB_SERVICES = ("usbhub", "usbhub3")
_DEEPEST = 16


@dataclass(frozen=True)
class Placed:
    """A device and where it sits: the key of its root hub and the sockets from there."""

    device: WinDevice
    root: str
    ports: tuple[int, ...]


def snapshot_of(devices: Iterable[WinDevice], system: System | None = None) -> Snapshot:
    """The snapshot of what is connected now. Entries of other buses are left out."""
    here = {d.key: d for d in devices if d.is_here}
    placed, loose = _place_all(here)
    roots = sorted({p.root for p in placed}, key=natural_key)
    buses = {root: number for number, root in enumerate(roots, start=1)}
    parts = _parts(here)
    belonging = _belonging(here)
    hubs = _hub_ids(placed, buses)
    found = [
        _device(p.device, _id(buses[p.root], p.ports), _parent(buses[p.root], p.ports), parts, hubs, belonging)
        for p in placed
    ]
    # No instance id for an id: its last part may be a serial number, and ids are shown to others.
    found += [_device(d, f"?-?{n}", None, parts, hubs, belonging) for n, d in enumerate(loose, start=1)]
    owners = {root: _owner(root, [p.device for p in placed if p.root == root and not p.ports], here) for root in roots}
    controllers = {root: _controller(root, buses[root], owners[root], placed) for root in roots}
    present = {d.id for d in found}
    found += [_bare_root(buses[root]) for root in roots if f"usb{buses[root]}" not in present]
    above = {f"usb{buses[root]}": controllers[root].id for root in roots}
    found = [d.model_copy(update={"parent": above[d.id]}) if d.id in above else d for d in found]
    unique = {d.id: d for d in reversed(found)}
    idle = _idle(here, owners, {c.id for c in controllers.values()})
    by_id = {c.id: c for c in (*controllers.values(), *idle)}
    return Snapshot(
        system=system or System(os="windows"),
        controllers=tuple(sorted(by_id.values(), key=lambda c: natural_key(c.id))),
        sockets=_sockets(unique, placed, buses),
        devices=tuple(sorted(unique.values(), key=lambda d: natural_key(d.id))),
    )


def _id(bus: int, ports: Sequence[int]) -> str:
    return f"{bus}-" + ".".join(map(str, ports)) if ports else f"usb{bus}"


def _parent(bus: int, ports: Sequence[int]) -> str | None:
    return _id(bus, ports[:-1]) if ports else None


def is_bus_device(device: WinDevice) -> bool:
    """Whether it is a device or root hub of the bus, not a part of one."""
    return device.key.startswith("USB\\") and interface_of(device.instance_id) is None


def _place_all(here: dict[str, WinDevice]) -> tuple[list[Placed], list[WinDevice]]:
    """Devices with a place, and those without."""
    placed: list[Placed] = []
    loose: list[WinDevice] = []
    roots_by_owner: dict[str, str] = {}
    for device in here.values():  # root hubs first: a chain of parents may end at one that has a path
        if is_bus_device(device) and root_hub_of(device.instance_id) is not None:
            path = _path(device)
            root = path[0] if path else device.key
            roots_by_owner[device.key] = root
            placed.append(Placed(device, root, ()))
    for device in here.values():
        if not is_bus_device(device) or device.key in roots_by_owner:
            continue
        place = _path(device) or _by_parents(device, here, roots_by_owner)
        if place is not None and place[1]:
            placed.append(Placed(device, *place))
        else:
            loose.append(device)
    return placed, loose


def _path(device: WinDevice) -> tuple[str, tuple[int, ...]] | None:
    found = next((path for told in device.location_paths if (path := path_of(told)) is not None), None)
    return (found.root, found.ports) if found else None


def _by_parents(
    device: WinDevice, here: dict[str, WinDevice], roots: dict[str, str]
) -> tuple[str, tuple[int, ...]] | None:
    ports: list[int] = []
    at = device
    for _ in range(_DEEPEST):
        port = port_of(at.location_info, at.address, at.instance_id)
        above = (at.parent or "").upper()
        if port is None or not above:
            return None
        ports.insert(0, port)
        if above in roots:
            return roots[above], tuple(ports)
        known = here.get(above)
        if known is None:
            return None
        path = _path(known)
        if path is not None:
            return path[0], (*path[1], *ports)
        at = known
    return None


def _parts(here: dict[str, WinDevice]) -> dict[str, list[WinDevice]]:
    """Entries of single interfaces by the device they belong to: by parent, else by the same socket."""
    found: dict[str, list[WinDevice]] = {}
    sockets = {p: d.key for d in here.values() if is_bus_device(d) and (p := _path(d)) is not None}
    for device in here.values():
        if device.key.startswith("USB\\") and interface_of(device.instance_id) is not None:
            path = _path(device)
            owner = (device.parent or "").upper() or (sockets.get(path, "") if path else "")
            found.setdefault(owner, []).append(device)
    return found


def _belonging(here: dict[str, WinDevice]) -> dict[str, tuple[str, ...]]:
    """Ids of the entries that belong to each device: those whose chain of parents ends at it, or that share its
    container where only one device has that."""
    holders: dict[str, list[str]] = {}
    for device in here.values():
        if is_bus_device(device) and device.container:
            holders.setdefault(device.container.lower(), []).append(device.key)
    found: dict[str, list[str]] = {}
    for device in here.values():
        if is_bus_device(device):
            continue
        shared = holders.get((device.container or "").lower(), [])
        owner = _above(device, here) or (shared[0] if len(shared) == 1 else None)
        if owner is not None:
            found.setdefault(owner, []).append(device.instance_id)
    return {owner: tuple(sorted(ids)) for owner, ids in found.items()}


def _above(device: WinDevice, here: dict[str, WinDevice]) -> str | None:
    at: WinDevice | None = device
    for _ in range(_DEEPEST):
        at = here.get((at.parent or "").upper()) if at is not None else None
        if at is not None and is_bus_device(at):
            return at.key
    return None


def _hub_ids(placed: Sequence[Placed], buses: dict[str, int]) -> frozenset[str]:
    return frozenset(_id(buses[p.root], p.ports[:-1]) for p in placed if p.ports)


def _device(
    device: WinDevice,
    identifier: str,
    parent: str | None,
    parts: dict[str, list[WinDevice]],
    hubs: frozenset[str],
    belonging: dict[str, tuple[str, ...]],
) -> Device:
    root = root_hub_of(device.instance_id) is not None
    hub = root or identifier in hubs or _is_hub(device)
    vid, pid = vid_pid(device)
    speed = _SPEEDS.get((device.speed or "").lower())
    interfaces = _interfaces(device, parts.get(device.key, []))
    named = device.product or device.name
    return Device(
        id=identifier,
        parent=parent,
        root=root,
        hub=Hub(translator="none" if root else None) if hub else None,
        vid=vid,
        pid=pid,
        class_code=9 if hub else None,
        speed=speed,
        mbps=MBPS[speed] if speed else None,
        interfaces=() if hub else interfaces,
        name=root_label(identifier)
        if root and identifier.startswith("usb")
        else named or label(None, 9 if hub else None, interfaces, None),
        manufacturer=None if (device.manufacturer or "(").startswith("(") else device.manufacturer,
        product=device.product,
        power_saving=None if device.switches_off is None else PowerSaving(allowed=device.switches_off),
        listing=device.listing().model_copy(update={"parts": belonging.get(device.key, ())}),
    )


def _is_hub(device: WinDevice) -> bool:
    ids = [i.upper() for i in (*device.compatible_ids, *device.hardware_ids)]
    by_id = any(i.startswith("USB\\CLASS_09") or i.endswith(("\\USB20_HUB", "\\USB30_HUB")) for i in ids)
    return by_id or (device.service or "").lower() in _HUB_SERVICES or _hub_driver(device)


def _hub_driver(device: WinDevice) -> bool:
    name = device.driver.name if device.driver else None
    return (name or "").lower() in ("usbhub3.inf", "usbhub.inf")


def _interfaces(device: WinDevice, parts: Sequence[WinDevice]) -> tuple[Interface, ...]:
    """What the compatible ids tell of the interfaces: class and driver, no settings."""
    if not parts:
        found = _interface(0, device)
        return (found,) if found else ()
    numbered = {interface_of(p.instance_id) or 0: p for p in parts}
    return tuple(i for number in sorted(numbered) if (i := _interface(number, numbered[number])) is not None)


def _interface(number: int, device: WinDevice) -> Interface | None:
    codes = next((c for i in device.compatible_ids if (c := _class_codes(i)) is not None), None)
    if codes is None:
        return None
    return Interface(number=number, class_code=codes[0], subclass=codes[1], protocol=codes[2], driver=device.service)


def _class_codes(compatible: str) -> tuple[int, int | None, int | None] | None:
    """`USB\\Class_08&SubClass_06&Prot_50` as numbers ('Standard USB Identifiers')."""
    name = compatible.upper()
    if not name.startswith("USB\\CLASS_"):
        return None
    codes: list[int | None] = []
    for part, mark in zip(name.removeprefix("USB\\").split("&"), ("CLASS_", "SUBCLASS_", "PROT_"), strict=False):
        digits = part.removeprefix(mark)
        codes.append(int(digits, 16) if len(digits) == 2 and all(c in "0123456789ABCDEF" for c in digits) else None)
    codes += [None, None]
    return None if codes[0] is None else (codes[0], codes[1], codes[2])


def _owner(root: str, hubs: Sequence[WinDevice], here: dict[str, WinDevice]) -> WinDevice | None:
    """The controller above a root hub: its parent, else the entry at the path before the root hub's."""
    for hub in hubs:
        known = here.get((hub.parent or "").upper())
        if known is not None:
            return known
    path = root.rsplit("#", 1)[0]
    return next((d for d in here.values() if any(p.upper() == path for p in d.location_paths)), None)


def _controller(root: str, bus: int, owner: WinDevice | None, placed: Sequence[Placed]) -> Controller:
    hubs = [root_hub_of(p.device.instance_id) for p in placed if p.root == root and not p.ports]
    path = root.rsplit("#", 1)[0] if "#" in root else ""
    if owner is None:
        parent = next((p.device.parent for p in placed if p.root == root and not p.ports and p.device.parent), "")
        pci = pci_ids_of(parent or "")
        return Controller(
            id=pci_name(path) or f"bus-{bus}",
            kind="xhci" if "30" in hubs else "other",
            pci=Pci(vendor=pci[0], device=pci[1], subsystem=pci[2]) if pci else None,
        )
    real = owner.key.startswith(("PCI\\", "ACPI\\"))
    name = pci_name(path, owner.location_info, owner.bus_number, owner.address) if real else f"vhci-{bus}"
    return _owned(owner, name or f"bus-{bus}", "30" in hubs)


def _owned(owner: WinDevice, identifier: str, xhci: bool = False) -> Controller:
    pci = pci_ids_of(owner.instance_id)
    codes = " ".join((*owner.hardware_ids, *owner.compatible_ids)).upper()
    by_code = next((kind for code, kind in _KIND_BY_CODE.items() if code in codes), None)
    kind = _KIND_BY_SERVICE.get((owner.service or "").lower()) or by_code or ("xhci" if xhci else "other")
    return Controller(
        id=identifier,
        kind=kind,
        pci=Pci(vendor=pci[0], device=pci[1], subsystem=pci[2]) if pci else None,
        driver=owner.service,
    )


def _idle(here: dict[str, WinDevice], owners: dict[str, WinDevice | None], taken: set[str]) -> list[Controller]:
    """Controllers in the list on which no root hub is listed."""
    used = {owner.key for owner in owners.values() if owner is not None}
    found = []
    for device in here.values():
        if device.is_controller and device.key not in used:
            path = next((p for p in device.location_paths if p.upper().startswith("PCIROOT")), "")
            name = pci_name(path, device.location_info, device.bus_number, device.address) or device.instance_id
            if name not in taken:
                found.append(_owned(device, name))
    return found


def _sockets(devices: dict[str, Device], placed: Sequence[Placed], buses: dict[str, int]) -> tuple[Socket, ...]:
    peers = _peers(placed, buses)
    fast = {_id(buses[p.root], p.ports) for p in placed if any(_FAST_SOCKET.search(t) for t in p.device.location_paths)}
    return tuple(
        Socket(
            id=device.id,
            hub=device.parent,
            usable=True,
            peer=peers.get(device.id),
            generation="usb3" if device.id in fast else None,
        )
        for device in sorted(devices.values(), key=lambda d: natural_key(d.id))
        if not device.root and device.parent is not None
    )


def _peers(placed: Sequence[Placed], buses: dict[str, int]) -> dict[str, str]:
    """The two halves of a USB 3 hub share one container and sit in the two halves of one socket (USB 3.2 §10.1)."""
    twins: dict[tuple[str, str], list[str]] = {}
    for place in placed:
        container = place.device.container
        if place.ports and container and "ffffffffffff" not in container.lower() and _is_hub(place.device):
            twins.setdefault((place.root, container.lower()), []).append(_id(buses[place.root], place.ports))
    peers: dict[str, str] = {}
    for pair in twins.values():
        if len(pair) == 2 and pair[0].count(".") == pair[1].count("."):
            peers[pair[0]], peers[pair[1]] = pair[1], pair[0]
    return peers


def _bare_root(bus: int) -> Device:
    identifier = f"usb{bus}"
    return Device(id=identifier, root=True, hub=Hub(translator="none"), name=root_label(identifier))
