"""macOS' own tree of devices as `ioreg` prints it, as values of the USB report. Lines may be cut at the window's edge.

Property names and the numbers of speeds: Apple, IOUSBHostFamilyDefinitions.h; the older names from public listings.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from wizard.bus.model import Speed
from wizard.observe.exports.text_records import lines_of
from wizard.observe.macos.places import Place
from wizard.observe.macos.report import MacBus, MacDevice
from wizard.observe.words import clean

_NODE = re.compile(r"\+-o (.{0,200}?)(?:@([0-9a-fA-F]{1,8}))?(?:,\w+)?\s+<class (\w+)")
_PROPERTY = re.compile(r"^[\s|]*\"([^\"]{1,80})\" = (.*)$")
_DEVICES = ("IOUSBHostDevice", "IOUSBDevice")
_SPEEDS: dict[str, tuple[Speed, float]] = {
    # kUSBHostConnectionSpeed
    "1": ("full", 12.0), "2": ("low", 1.5), "3": ("high", 480.0), "4": ("super", 5000.0),
    "5": ("super_plus", 10000.0), "6": ("super_plus", 20000.0),
}  # fmt: skip
_OLD_SPEEDS: dict[str, tuple[Speed, float]] = {
    # kUSBDeviceSpeed of the older family
    "0": ("low", 1.5), "1": ("full", 12.0), "2": ("high", 480.0), "3": ("super", 5000.0), "4": ("super_plus", 10000.0),
}  # fmt: skip
_UNIT_MA = 2  # 'Bus Power Available' and 'Requested Power' count units of 2 mA, as the descriptor does


@dataclass
class _Node:
    name: str
    place: Place | None
    kind: str
    told: dict[str, str] = field(default_factory=dict)


def is_registry(text: str) -> bool:
    """Whether a text is such a listing with USB in it."""
    return re.search(r"\+-o .{0,200}<class (?:IOUSB|Apple\w*USB)", text) is not None


def refused_power(text: str) -> Iterator[tuple[Place, int]]:
    """Places where a device asked for a current that was refused, with the mA."""
    for node in _nodes(text):
        told = node.told.get("kUSBFailedRequestedPower", "")
        if node.place is not None and told.isascii() and told.isdigit() and len(told) < 6 and int(told):
            yield node.place, int(told)


def buses_in(text: str) -> tuple[MacBus, ...]:
    """The devices, each bus one entry; who hangs on whom is read off the location ids."""
    found: dict[int, MacDevice] = {}
    drivers: dict[int, str] = {}
    for node in _nodes(text):
        if node.kind in _DEVICES and node.place is not None and node.place.ports:
            found.setdefault(node.place.number, _device(node, node.place))
        elif "HCI" in node.kind and node.place is not None:
            drivers.setdefault(node.place.bus, node.kind)
    children: dict[str | None, list[MacDevice]] = {}
    for number in sorted(found, key=lambda n: (-len(Place(n).ports), n)):  # the deepest first
        place = Place(number)
        device = replace(found[number], children=tuple(children.get(place.id, ())))
        children.setdefault(place.parent, []).append(device)
    present = {Place(number).id for number in found}
    buses = sorted({Place(number).bus for number in found} | set(drivers))
    tops = [(above, devices) for above, devices in children.items() if above not in present]
    return tuple(
        MacBus(
            name=None,
            driver=drivers.get(bus),
            place=Place(bus << 24),
            devices=tuple(d for _, ds in tops for d in ds if d.place is not None and d.place.bus == bus),
        )
        for bus in buses
    )


def _nodes(text: str) -> list[_Node]:
    nodes: list[_Node] = []
    for line in lines_of(text):
        head = _NODE.search(line)
        if head:
            place = Place(int(head[2], 16)) if head[2] and len(head[2]) >= 6 else None
            nodes.append(_Node(clean(head[1]), place, head[3]))
            continue
        match = _PROPERTY.match(line)
        if match and nodes:
            nodes[-1].told.setdefault(match[1], match[2].strip())
    return nodes


def _device(node: _Node, place: Place) -> MacDevice:
    told = node.told
    speed, mbps = _SPEEDS.get(told.get("USBSpeed", "")) or _OLD_SPEEDS.get(told.get("Device Speed", "")) or (None, None)
    name = _quoted(told.get("kUSBProductString") or told.get("USB Product Name"))
    return MacDevice(
        name=name or (node.name if not node.name.startswith("IOUSB") else None),
        place=place,
        vid=_hex4(told.get("idVendor")),
        pid=_hex4(told.get("idProduct")),
        maker=_quoted(told.get("kUSBVendorString") or told.get("USB Vendor Name")),
        serial=_quoted(told.get("kUSBSerialNumberString") or told.get("USB Serial Number")),
        speed=speed,
        mbps=mbps,
        available=_twice(told.get("Bus Power Available")),
        used=_twice(told.get("Requested Power")),
        nameless_hub=told.get("bDeviceClass") == "9",
        built_in={"0": False, "1": True, "2": True}.get(told.get("USBPortType", "")),
    )


def _quoted(text: str | None) -> str | None:
    return clean(text.strip('"')) or None if text and text.startswith('"') and text.endswith('"') else None


def _hex4(text: str | None) -> str | None:
    return (
        f"{int(text):04x}"
        if text and text.isascii() and text.isdigit() and len(text) < 6 and int(text) <= 0xFFFF
        else None
    )


def _twice(text: str | None) -> int | None:
    return _UNIT_MA * int(text) if text and text.isascii() and text.isdigit() and len(text) < 5 else None
