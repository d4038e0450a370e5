"""From macOS' USB report to a snapshot, in the ids that all systems share and that libusb gives there too.

Speed, current and place are told; descriptors, drivers and empty sockets are not. Whether a device is a hub is told
only by what hangs on it, or by its name.
"""

import re
from collections.abc import Sequence

from wizard.bus.listing import Listing
from wizard.bus.model import Controller, ControllerKind, Device, Hub, Pci, Snapshot, Socket, System
from wizard.bus.tree import natural_key
from wizard.observe.labels import label, root_label
from wizard.observe.macos.report import MacBus, MacDevice

_HUB_NAME = re.compile(r"(?i)\bhub\b")
_FULL_LOAD_MA = {True: 900, False: 500}  # what a socket gives anyway: USB 3.2 §11.4.5, USB 2.0 §7.2.1
_UNIT_LOAD_MA = {True: 150, False: 100}


def snapshot_of(buses: Sequence[MacBus], system: System | None = None) -> Snapshot:
    """The snapshot a report tells of; buses on which nothing hangs are controllers without devices."""
    devices: dict[str, Device] = {}
    sockets: dict[str, Socket] = {}
    controllers: dict[str, Controller] = {}
    for index, bus in enumerate(buses, start=1):
        number = _number(bus)
        controller = _controller(bus, f"bus-{number}" if number is not None else f"bus-?{index}")
        controllers.setdefault(controller.id, controller)
        if number is not None:
            root = f"usb{number}"
            devices.setdefault(root, _root(root, controller.id))
            for device in bus.devices:
                _add(device, root, devices, sockets)
    return Snapshot(
        system=system or System(os="macos"),
        controllers=tuple(sorted(controllers.values(), key=lambda c: natural_key(c.id))),
        sockets=tuple(sorted(sockets.values(), key=lambda s: natural_key(s.id))),
        devices=tuple(sorted(devices.values(), key=lambda d: natural_key(d.id))),
    )


def _number(bus: MacBus) -> int | None:
    """The bus number: from what hangs on it, else as told."""
    told = next((d.place.bus for d in bus.devices if d.place is not None), None)
    return told if told is not None else (bus.place.bus if bus.place is not None else None)


def _controller(bus: MacBus, identifier: str) -> Controller:
    driver = (bus.driver or "").upper()
    kinds: dict[str, ControllerKind] = {"XHCI": "xhci", "EHCI": "ehci", "OHCI": "ohci", "UHCI": "uhci"}
    pci = Pci(vendor=bus.pci_vendor, device=bus.pci_device) if bus.pci_vendor or bus.pci_device else None
    return Controller(
        id=identifier,
        kind=next((kind for mark, kind in kinds.items() if mark in driver), "other"),
        pci=pci,
        driver=bus.driver,
    )


def _root(identifier: str, controller: str) -> Device:
    return Device(id=identifier, parent=controller, root=True, hub=Hub(translator="none"), name=root_label(identifier))


def _add(device: MacDevice, parent: str, devices: dict[str, Device], sockets: dict[str, Socket]) -> None:
    waiting = [(device, parent)]
    while waiting:
        one, above = waiting.pop()
        wanted = one.place.id if one.place is not None and one.place.ports else f"{above}.?" if above else "?"
        identifier, twin = wanted, 1
        while identifier in devices:  # two halves of a hub may be listed at one place
            twin += 1
            identifier = f"{wanted}?{twin}"
        parent_id = _parent(one, above, devices)
        devices[identifier] = _device(one, identifier, parent_id)
        if "?" not in identifier and parent_id in devices:
            sockets[identifier] = _socket(one, identifier, parent_id)
        waiting += [(child, identifier) for child in one.children]


def _parent(one: MacDevice, above: str, devices: dict[str, Device]) -> str:
    """The hub its place names; where that one is not listed, the one it is listed under, unless that is a root hub
    which its place says it does not hang on."""
    named = one.place.parent if one.place is not None else None
    if named is None or named in devices:
        return named or above
    return named if devices[above].root else above


def _device(told: MacDevice, identifier: str, parent: str | None) -> Device:
    hub = is_hub(told)
    fast = told.speed in ("super", "super_plus")
    return Device(
        id=identifier,
        parent=parent,
        hub=Hub(translator="none" if told.speed not in (None, "high") else None) if hub else None,
        vid=told.vid,
        pid=told.pid,
        class_code=9 if hub else None,
        speed=told.speed,
        mbps=told.mbps,
        max_power_ma=told.used,
        self_powered=_self_powered(told, fast) if hub else None,
        name=label(told.name, 9 if hub else None, (), None),
        manufacturer=told.maker,
        product=told.name,
        serial=told.serial,
        listing=Listing(location=told.place.text if told.place is not None else None, description=told.name),
    )


def is_hub(device: MacDevice) -> bool:
    """Something hangs on it, or it calls itself a hub."""
    return bool(device.children) or device.nameless_hub or _HUB_NAME.search(device.name or "") is not None


def _self_powered(hub: MacDevice, fast: bool) -> bool | None:
    """By what macOS offers to its sockets: one unit load behind a hub without its own supply, else the full load."""
    offered = {child.available for child in hub.children if child.available is not None}
    if not offered:
        return None
    if max(offered) <= _UNIT_LOAD_MA[fast]:
        return False
    return True if min(offered) >= _FULL_LOAD_MA[False] else None


def _socket(told: MacDevice, identifier: str, parent: str) -> Socket:
    """`offers_ma` only where macOS offers more than the standard's full load, and says so."""
    fast = told.speed in ("super", "super_plus")
    more = told.available if told.available is not None and told.available > _FULL_LOAD_MA[fast] else None
    return Socket(id=identifier, hub=parent, usable=True, offers_ma=more, built_in=told.built_in or None)
