"""What the devices of a look may harm when their plugs are pulled: files, or people near a motor. Knows no step.

A device counts as harmless only where its descriptors say so; whatever is not known may be anything.
"""

from collections.abc import Mapping

from wizard.bus.model import Device, Snapshot
from wizard.plan.steps import Touch

EITHER: frozenset[Touch] = frozenset({"drive", "motor"})
_FILES: frozenset[Touch] = frozenset({"drive"})
_NEITHER: frozenset[Touch] = frozenset()

BY_CLASS: Mapping[int, frozenset[Touch]] = {
    0x01: _FILES,  # sound, recorders among it
    0x06: _FILES,  # still pictures and phones
    0x08: _FILES,  # storage
    0x0E: _FILES,  # cameras
    0x09: _NEITHER,  # hubs: what hangs on them is a device of its own
    0x0B: _NEITHER,  # smart cards
    0xE0: _NEITHER,  # radio
}
"""Interface classes that are no machine's: USB-IF Defined Class Codes. Every other class may be."""

HID = 0x03
BOOT = (1, 2)
"""Protocols of keyboards and mice: HID 1.11 §4.3. Other input devices may push back."""


def may_hang(snapshot: Snapshot | None) -> frozenset[Touch]:
    """What the devices of a look may be; anything where there is no look, or something in it is not known."""
    devices = [d for d in snapshot.devices if not d.root] if snapshot is not None else []
    if snapshot is None or snapshot.unreadable or not devices:
        return EITHER
    return frozenset(touch for device in devices for touch in _of(device))


def _of(device: Device) -> frozenset[Touch]:
    if device.hub is not None:
        return _NEITHER
    if device.unreadable or not device.interfaces:
        return EITHER
    keys = [i for i in device.interfaces if i.class_code == HID and i.protocol in BOOT]
    if keys and all(i.class_code == HID for i in device.interfaces):
        return _NEITHER  # the further interfaces of a keyboard or mouse are its extra keys
    classes = {-1 if i.class_code is None else i.class_code for i in device.interfaces}
    return frozenset(touch for code in classes for touch in BY_CLASS.get(code, EITHER))
