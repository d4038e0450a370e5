"""Observations the program fills in by itself, read off a snapshot.

Only what a snapshot really tells: anything doubtful stays out and is asked.
"""

from collections.abc import Mapping, Sequence

from wizard.budget.setup import Setup
from wizard.bus.model import Device
from wizard.bus.tree import BusTree

MANY_DEVICES = 8
"""More devices than this are `many`, hubs not counted: the published meaning of `device_count`."""

RECENT_YEAR = 2017
"""Boards from before about this year count as an `old_chipset`: the published meaning of `controller_kind`."""

KIND_BY_CLASS: Mapping[int, str] = {
    0x07: "printer",
    0x08: "storage",
    0x09: "hub",
    0x0E: "camera",
    0xE0: "radio_adapter",
}
"""Kind of device by interface class: USB-IF Defined Class Codes. Classes that say too little are left out."""


def measured_observations(tree: BusTree, subject: tuple[str, ...], setup: Setup) -> dict[str, str | float]:
    """Observations by id. Those about a device speak of the first subject; without one only counts are filled."""
    found: dict[str, str | float] = {}
    devices = [d for d in tree.snapshot.devices if not d.root and d.hub is None]
    if tree.snapshot.devices:
        found["device_count"] = "many" if len(devices) > MANY_DEVICES else "few"
    device = tree.devices.get(subject[0]) if subject else None
    if device is None:
        return found
    found.update(_of_device(device))
    found.update(_of_hubs(tree, device, setup))
    found.update(_of_socket(tree, device))
    found.update(_of_controller(tree, device))
    cable = setup.cables.get(device.id)
    if cable is not None and cable.m is not None:
        found["cable_m"] = cable.m
    return found


def _of_device(device: Device) -> dict[str, str | float]:
    found: dict[str, str | float] = {}
    if device.self_powered is not None:
        found["device_power"] = "self" if device.self_powered else "bus"
    super_able = (device.usb_version or "").strip().startswith("3")
    if device.is_super or super_able:
        found["device_speed"] = "super"
        found["link_speed"] = "as_rated" if device.is_super else "lower_than_rated"
    elif device.speed is not None and (device.usb_version or "").strip() < "2.1":
        # From 2.10 on a device may also have a SuperSpeed side, which this look can't see.
        found["device_speed"] = device.speed
    kind = _kind(device)
    if kind is not None:
        found["device_kind"] = kind
    drivers = {i.driver for i in device.interfaces}
    if "uas" in drivers:
        found["storage_transport"] = "uas"
    elif "usb-storage" in drivers:
        found["storage_transport"] = "bulk_only"
    return found


def _kind(device: Device) -> str | None:
    if device.hub is not None:
        return "hub"
    classes = [i.class_code for i in device.interfaces if i.class_code is not None]
    if 0x0E in classes:  # a camera with a microphone is a camera
        return "camera"
    if 0x01 in classes:
        midi_only = all(i.subclass in (1, 3) for i in device.interfaces if i.class_code == 0x01)
        streams = any(i.subclass == 2 for i in device.interfaces if i.class_code == 0x01)
        return "midi" if midi_only and not streams and _has_midi(device) else "audio"
    known = [KIND_BY_CLASS[c] for c in classes if c in KIND_BY_CLASS]
    if known:
        return known[0]
    boot = any(i.class_code == 0x03 and i.protocol in (1, 2) for i in device.interfaces)
    return "keyboard_mouse" if boot else None


def _has_midi(device: Device) -> bool:
    return any(i.class_code == 0x01 and i.subclass == 3 for i in device.interfaces)


def _of_hubs(tree: BusTree, device: Device, setup: Setup) -> dict[str, str | float]:
    found: dict[str, str | float] = {}
    if tree.root_of(device.id) is None:
        return found
    hubs = [d for d in tree.path(device.id)[1:] if not d.root]
    found["hub_between"] = "none" if not hubs else "one" if len(hubs) == 1 else "chain"
    if hubs:
        nearest = hubs[0]
        if nearest.self_powered is not None:
            found["hub_power"] = "self" if nearest.self_powered else "bus"
        if nearest.hub is not None and nearest.hub.translator in ("single", "multi"):
            found["hub_translator"] = str(nearest.hub.translator)
        if nearest.id in setup.supplies_ma:
            found["hub_supply_ma"] = setup.supplies_ma[nearest.id]
    saving = _power_saving(device, hubs)
    if saving is not None:
        found["power_saving"] = saving
    return found


def _power_saving(device: Device, hubs: Sequence[Device]) -> str | None:
    """Whether the device or a hub above it may sleep. A hub sleeps only if all below it do (USB 2.0 §11.9; Linux:
    Documentation/driver-api/usb/power-management.rst), so above a device that is kept awake none does."""
    own = device.power_saving
    if own is not None and own.may_sleep is False and not own.link_states:
        return "off"
    savings = [d.power_saving for d in (device, *hubs) if d.power_saving is not None]
    return "on" if any(saving.may_sleep for saving in savings) else None


def _of_socket(tree: BusTree, device: Device) -> dict[str, str | float]:
    found: dict[str, str | float] = {}
    path = tree.path(device.id)
    plugged = tree.sockets.get(device.id)
    if plugged is not None:
        if plugged.peer is not None or device.is_super:
            found["socket_generation"] = "usb3"
        else:
            controller = tree.controller_of(device.id)
            if controller is not None and controller.kind in ("uhci", "ohci", "ehci"):
                found["socket_generation"] = "usb2"
    at_pc = [tree.sockets.get(d.id) for d in path if not d.root]
    place = at_pc[-1].place if at_pc and at_pc[-1] is not None else None
    if place in ("rear", "front"):
        found["socket"] = place
    return found


def _of_controller(tree: BusTree, device: Device) -> dict[str, str | float]:
    controller = tree.controller_of(device.id)
    if controller is None or controller.id.startswith(("vhci", "bus-")):
        return {}
    if controller.pci is None and ":" not in controller.id:
        return {"controller_kind": "soc"}
    # A controller on PCI bus 0 is part of the chipset, others may be cards: common practice (no source).
    on_board = controller.id.startswith("0000:00:")
    year = _year(tree.snapshot.system.firmware_date)
    if not on_board or year is None:
        return {}
    return {"controller_kind": "old_chipset" if year < RECENT_YEAR else "recent_chipset"}


def _year(date: str | None) -> int | None:
    """The year in a firmware date, written `MM/DD/YYYY` or `YYYY-MM-DD`."""
    for part in (date or "").replace("-", "/").split("/"):
        if len(part) == 4 and part.isascii() and part.isdigit():
            return int(part)
    return None
