"""Which input devices there are, where their reports can be read, and to what on the bus they belong.

Knows Linux's folders (`sys/class/input`, `sys/class/hidraw`: Documentation/input/input.rst and
Documentation/hid/hidraw.rst); opens no device.
"""

import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from wizard.bus.pace import PaceDevice
from wizard.bus.tree import natural_key
from wizard.observe.rights import Refusal, reading_refused
from wizard.observe.sysfs.index import device_of_interface, is_device
from wizard.observe.sysfs.tree import Tree, read_one
from wizard.observe.words import number_in, text_of

Kind = Literal["event", "hidraw"]
Sort = Literal["mouse", "keyboard", "joystick"]

_NODES: dict[Kind, tuple[str, re.Pattern[str], str]] = {
    "event": ("sys/class/input", re.compile(r"event[0-9]{1,6}"), "/dev/input/"),
    "hidraw": ("sys/class/hidraw", re.compile(r"hidraw[0-9]{1,6}"), "/dev/"),
}
_LONGEST_DESCRIPTOR = 4096  # HID_MAX_DESCRIPTOR_SIZE: include/linux/hid.h
_POLLED: dict[Sort, str] = {"mouse": "mousepoll", "keyboard": "kbpoll", "joystick": "jspoll"}


@dataclass(frozen=True)
class Place:
    """One way to read reports: the node's path, the device on the bus and the interface it belongs to, its name.

    `relative` says of a raw one whether it tells ways gone rather than positions. `sort` is what the kernel takes it
    for, where that matters.
    """

    kind: Kind
    path: str
    device: str | None = None
    interface: int | None = None
    name: str | None = None
    relative: bool = True
    sort: Sort | None = None


def find_places(tree: Tree) -> tuple[Place, ...]:
    """All of them, event devices first."""
    return tuple(place for kind in _NODES for place in _of_kind(tree, kind))


def place_at(tree: Tree, path: str) -> Place | None:
    """The place of a node such as `/dev/input/event4`; None if the path is none of that kind. What the tree does not
    tell of it stays unknown."""
    for kind, (_, pattern, folder) in _NODES.items():
        name = path.removeprefix(folder)
        if path.startswith(folder) and pattern.fullmatch(name):
            return _place(tree, kind, name)
    return None


def _of_kind(tree: Tree, kind: Kind) -> Iterator[Place]:
    folder, pattern, _ = _NODES[kind]
    names = [name for name in tree.names(folder) if pattern.fullmatch(name)]
    for name in sorted(names, key=natural_key):
        yield _place(tree, kind, name)


def _place(tree: Tree, kind: Kind, name: str) -> Place:
    folder, _, nodes = _NODES[kind]
    device, interface = _owner(tree.resolve(f"{folder}/{name}") or "")
    above = f"{folder}/{name}/device"
    return Place(
        kind=kind,
        path=nodes + name,
        device=device,
        interface=interface,
        name=_event_name(tree, above) if kind == "event" else _raw_name(tree, above),
        relative=kind != "hidraw" or _is_relative(read_one(tree, f"{above}/report_descriptor", _LONGEST_DESCRIPTOR)),
        sort=_sort(tree, above) if kind == "event" else None,
    )


def _owner(path: str) -> tuple[str | None, int | None]:
    """Device id and interface number from the folders on the way, the innermost first."""
    interface: int | None = None
    for part in reversed(path.split("/")):
        parsed = device_of_interface(part)
        if parsed is not None:
            interface = parsed[2]
        elif is_device(part):
            return part, interface
    return None, None


def _event_name(tree: Tree, folder: str) -> str | None:
    reading = read_one(tree, f"{folder}/name")
    return (text_of(reading) or None) if isinstance(reading, bytes) else None


def _raw_name(tree: Tree, folder: str) -> str | None:
    """HID_NAME of the uevent file (drivers/hid/hid-core.c, hid_uevent)."""
    reading = read_one(tree, f"{folder}/uevent")
    if isinstance(reading, bytes):
        for line in reading.splitlines():
            if line.startswith(b"HID_NAME="):
                return text_of(line.partition(b"=")[2]) or None
    return None


def _sort(tree: Tree, folder: str) -> Sort | None:
    """Linux makes a `js` node for a joystick and a `mouse` node for a mouse; a keyboard has the key Q."""
    names = tree.names(folder)
    if any(name.startswith("js") for name in names):
        return "joystick"
    if any(name.startswith("mouse") for name in names):
        return "mouse"
    reading = read_one(tree, f"{folder}/capabilities/key")
    words = text_of(reading).split() if isinstance(reading, bytes) else []
    lowest = number_in(words[-1].encode(), 16) if words else None
    return "keyboard" if lowest is not None and lowest >> 16 & 1 else None  # KEY_Q: input-event-codes.h


def _is_relative(reading: object) -> bool:
    """Whether a report descriptor has inputs that tell a way gone (HID 1.11 §6.2.2.5: bit 2 of an Input item).

    Read item by item (§6.2.2.2); true where it can't be read, which concludes the least.
    """
    if not isinstance(reading, bytes):
        return True
    at = 0
    while at < len(reading):
        prefix = reading[at]
        if prefix == 0xFE:  # a long item: §6.2.2.3
            at += 3 + (reading[at + 1] if at + 1 < len(reading) else 0)
            continue
        size = (0, 1, 2, 4)[prefix & 3]
        if prefix & 0xFC == 0x80 and size and reading[at + 1 : at + 2] and reading[at + 1] & 0b101 == 0b100:
            return True  # relative, and no constant filling
        at += 1 + size
    return False


def forced_poll_ms(tree: Tree, sort: Sort | None) -> int | None:
    """The interval somebody made the kernel use in place of the device's own (Linux: parameters of `usbhid`)."""
    if sort is None:
        return None
    reading = read_one(tree, f"sys/module/usbhid/parameters/{_POLLED[sort]}")
    return (number_in(reading) or None) if isinstance(reading, bytes) else None


def with_rights(place: Place, vid: str | None, pid: str | None) -> PaceDevice:
    """The same as a value for everybody, with whether it may be read here and now and how to get the right."""
    refusal = _refusal(place, vid, pid)
    return PaceDevice(
        path=place.path,
        kind=place.kind,
        device=place.device,
        interface=place.interface,
        name=place.name,
        readable=refusal is None,
        why=None if refusal is None else refusal.why,
        mend=None if refusal is None else refusal.mend,
    )


def _refusal(place: Place, vid: str | None, pid: str | None) -> Refusal | None:
    if os.access(place.path, os.R_OK):
        return None
    if not Path(place.path).exists():
        return Refusal(f"There is no {place.path} on this system.", None)
    return reading_refused(place.path, "input" if place.kind == "event" else "hidraw", vid, pid)
