"""The USB tree that Windows' `dxdiag /t` prints, as a snapshot: ids, sockets, drivers; no instance ids, no speeds.

Depth is the number of bars before a line. Only what hangs on a hub is a device; the rest are parts of one.
"""

import re
from dataclasses import dataclass, field

from wizard.bus.listing import Driver, Listing
from wizard.bus.model import Controller, Device, Hub, Pci, Snapshot, Socket, System
from wizard.bus.tree import natural_key
from wizard.observe.exports.text_records import lines_of
from wizard.observe.labels import root_label
from wizard.observe.windows.places import port_of
from wizard.observe.words import clean

_NODE = re.compile(r"^((?:\| )*)\+(?:-\+)? (\S.*)$")
_FIELD = re.compile(r"^(?:\| )+([A-Z][^:]{1,40}): (.*)$")
_HEADS = re.compile(r"(?m)^-+\s*\nUSB Devices\s*\n-+\s*$")
_SYSTEM = re.compile(r"(?m)^\s*(Operating System|System Manufacturer|System Model|BIOS): (.+)$")
_IDS = re.compile(r"0x([0-9A-Fa-f]{4}), 0x([0-9A-Fa-f]{4})")
_HUB_IDS = ("USB\\ROOT_HUB", "USB\\USB20_HUB", "USB\\USB30_HUB", "USB\\CLASS_09")
_HUB_SERVICES = ("USBHUB", "USBHUB3")


@dataclass
class _Node:
    name: str
    depth: int
    fields: dict[str, str] = field(default_factory=dict)

    @property
    def is_hub(self) -> bool:
        matching = self.fields.get("Matching Device ID", "").upper()
        return matching.startswith(_HUB_IDS) or self.fields.get("Service", "").upper() in _HUB_SERVICES


def is_tree(text: str) -> bool:
    """Whether a text holds such a tree."""
    return _HEADS.search(text.replace("\r\n", "\n")) is not None


def snapshot_in(text: str) -> Snapshot:
    """The snapshot the tree tells of."""
    text = text.replace("\r\n", "\n")
    head = _HEADS.search(text)
    nodes = _nodes(text[head.end() :]) if head else []
    devices: dict[str, Device] = {}
    controllers: list[Controller] = []
    above: list[str | None] = []  # the id of the node at each depth; None for one that is no device of the bus
    for node in nodes:
        del above[node.depth :]
        parent = above[-1] if above else None
        identifier = _place(node, parent, devices, len(controllers) + 1)
        if identifier is not None and not above:
            controllers.append(_controller(node, len(controllers) + 1))
        if identifier is not None and identifier not in devices:
            devices[identifier] = _device(node, identifier, parent, controllers)
        above += [None] * (node.depth - len(above)) + [identifier]
    ordered = sorted(devices.values(), key=lambda d: natural_key(d.id))
    return Snapshot(
        system=_system(text),
        controllers=tuple(controllers),
        sockets=tuple(
            Socket(id=d.id, hub=d.parent, usable=True) for d in ordered if not d.root and d.parent and "?" not in d.id
        ),
        devices=tuple(ordered),
    )


def _nodes(text: str) -> list[_Node]:
    nodes: list[_Node] = []
    for line in lines_of(text):
        match = _NODE.match(line)
        if match:
            nested = "+-+" in line
            nodes.append(_Node(clean(match[2]), len(match[1]) // 2 + nested))
            continue
        told = _FIELD.match(line)
        if told and nodes:
            nodes[-1].fields.setdefault(told[1], told[2].strip())
        elif line.startswith("---"):
            break  # the next section
    return nodes


def _place(node: _Node, parent: str | None, devices: dict[str, Device], bus: int) -> str | None:
    matching = node.fields.get("Matching Device ID", "").upper()
    if node.depth == 0:
        return f"usb{bus}" if matching.startswith("USB\\ROOT_HUB") else None
    known = devices.get(parent or "")
    if known is None or known.hub is None or parent is None:
        return None
    port = port_of(node.fields.get("Location"), None, "")
    if port is None:
        return f"{parent}.?{len(devices)}" if "-" in parent else f"{parent[3:]}-?{len(devices)}"
    return f"{parent}.{port}" if "-" in parent else f"{parent[3:]}-{port}"


def _controller(node: _Node, bus: int) -> Controller:
    ids = _IDS.search(node.fields.get("Vendor/Product ID", ""))
    xhci = node.fields.get("Matching Device ID", "").upper().startswith("USB\\ROOT_HUB30")
    # Windows gives a root hub the ids of its controller.
    pci = Pci(vendor=ids[1].lower(), device=ids[2].lower()) if ids else None
    return Controller(id=f"bus-{bus}", kind="xhci" if xhci else "other", pci=pci)


def _device(node: _Node, identifier: str, parent: str | None, controllers: list[Controller]) -> Device:
    root = node.depth == 0
    ids = None if root else _IDS.search(node.fields.get("Vendor/Product ID", ""))
    driver = node.fields.get("Driver", "").split(",")
    return Device(
        id=identifier,
        parent=controllers[-1].id if root else parent,
        root=root,
        hub=Hub(translator="none" if root else None) if node.is_hub else None,
        vid=ids[1].lower() if ids else None,
        pid=ids[2].lower() if ids else None,
        class_code=9 if node.is_hub else None,
        name=root_label(identifier) if root else node.name,
        listing=Listing(
            location=node.fields.get("Location"),
            description=node.name,
            driver=Driver(name=clean(driver[0]), date=clean(driver[1])) if len(driver) > 1 else None,
        ),
    )


def _system(text: str) -> System:
    told = {match[1]: clean(match[2]) for match in reversed(list(_SYSTEM.finditer(text)))}
    return System(
        os="windows",
        version=told.get("Operating System"),
        board_maker=told.get("System Manufacturer"),
        board_model=told.get("System Model"),
        firmware_version=told.get("BIOS"),
    )
