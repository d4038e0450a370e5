"""Where in a tree the USB devices, their interfaces and their controllers are. Knows names, reads no file.

Names are Linux's (drivers/usb/core, Documentation/ABI/testing/sysfs-bus-usb): `usb3` a root hub,
`3-1.2` a device (bus 3, socket 1, there socket 2), `3-1.2:1.0` its interface 0 in configuration 1,
`3-0:1.0` the interface of the root hub.
"""

import re
from dataclasses import dataclass
from itertools import islice

from wizard.observe.sysfs.tree import Tree

LISTING = "sys/bus/usb/devices"

_ROOT = re.compile(r"usb([1-9][0-9]{0,4})")
_DEVICE = re.compile(r"[1-9][0-9]{0,4}-[1-9][0-9]{0,2}(?:\.[1-9][0-9]{0,2}){0,6}")
_INTERFACE = re.compile(r"([1-9][0-9]{0,4}-[0-9.]{1,30}):([0-9]{1,3})\.([0-9]{1,3})")

_DEEPEST = 40
_MOST_FOLDERS = 100_000
_MOST_DEVICES = 5000  # some 40 full buses of 127; more is no machine but a trap


@dataclass(frozen=True)
class InterfacePlace:
    """One interface: its configuration, its number, its folder."""

    configuration: int
    number: int
    path: str


@dataclass(frozen=True)
class DevicePlace:
    """One device: its id, its folder, and its interfaces by configuration and number."""

    id: str
    path: str
    interfaces: tuple[InterfacePlace, ...] = ()

    @property
    def root(self) -> bool:
        """Whether it is a root hub."""
        return self.id.startswith("usb")

    @property
    def parent(self) -> str:
        """The id of the hub it hangs on; for a root hub, the name of its controller's folder, or nothing."""
        if self.root:
            return "" if self.path.startswith(LISTING) else self.path.split("/")[-2]
        bus, _, ports = self.id.partition("-")
        above, dot, _ = ports.rpartition(".")
        return f"{bus}-{above}" if dot else f"usb{bus}"


@dataclass(frozen=True)
class Index:
    """All devices in natural order; `astray` are entries of the listing that lead nowhere."""

    devices: tuple[DevicePlace, ...]
    astray: tuple[str, ...] = ()


def socket_id(hub: str, port: int) -> str:
    """What a device in socket `port` of `hub` is called: `1-4` on `usb1`, `1-4.2` on `1-4`."""
    return f"{hub[3:]}-{port}" if hub.startswith("usb") else f"{hub}.{port}"


def in_order(name: str) -> tuple[int, ...]:
    """Sort key of a device or socket; the same order as `bus.tree.natural_key`, quicker."""
    bus, _, ports = name.removeprefix("usb").partition("-")
    if not ports:
        return (1, int(bus))
    return (0, int(bus), *map(int, ports.split(".")))


def device_of_interface(name: str) -> tuple[str, int, int] | None:
    """Device id, configuration and number from an interface's name; None if it is none."""
    match = _INTERFACE.fullmatch(name)
    if match is None:
        return None
    owner = match[1]
    if owner.endswith("-0"):
        owner = "usb" + owner[:-2]
    return (owner, int(match[2]), int(match[3])) if is_device(owner) else None


def is_device(name: str) -> bool:
    """Whether a name is that of a device or root hub."""
    return bool(_ROOT.fullmatch(name) or _DEVICE.fullmatch(name))


def find_devices(tree: Tree) -> Index:
    """Every device of the tree: from the bus listing, or by walking `sys/devices` if that lists none."""
    paths, astray = _listed(tree)
    if not any(is_device(name) for name in paths):
        paths = _walked(tree)
    return Index(_arranged(paths), astray)


def _listed(tree: Tree) -> tuple[dict[str, str], tuple[str, ...]]:
    """Folder by name as the listing says, and devices whose link leads nowhere or out of the tree."""
    paths: dict[str, str] = {}
    astray: list[str] = []
    listing = dict(islice(tree.names(LISTING).items(), _MOST_DEVICES * 4))
    for name in filter(is_device, listing):
        path = tree.resolve(f"{LISTING}/{name}")
        if path is None or "/" not in path or not tree.is_folder(path):
            astray.append(name)
        else:
            paths[name] = path
    for name, kind in listing.items():
        parsed = device_of_interface(name)
        if parsed is not None and parsed[0] in paths:
            # The folder of an interface lies in that of its device; only a made-up listing holds it itself.
            paths[name] = f"{paths[parsed[0]]}/{name}" if kind == "link" else f"{LISTING}/{name}"
    return paths, tuple(sorted(astray, key=in_order))


def _walked(tree: Tree) -> dict[str, str]:
    """Folder by name, found below `sys/devices`. Links are not followed, so the walk ends."""
    paths: dict[str, str] = {}
    queue = [("sys/devices", 0)]
    looked = 0
    while queue and looked < _MOST_FOLDERS:
        folder, depth = queue.pop()
        looked += 1
        inside_bus = is_device(folder.rpartition("/")[2])
        for name, kind in tree.names(folder).items():
            if kind != "folder" or name == "power":
                continue
            path = f"{folder}/{name}"
            known = is_device(name)
            if known or (inside_bus and device_of_interface(name) is not None):
                paths.setdefault(name, path)
            if depth < _DEEPEST and (known or not inside_bus):
                queue.append((path, depth + 1))
    return paths


def _arranged(paths: dict[str, str]) -> tuple[DevicePlace, ...]:
    """Devices in natural order, each with its interfaces by configuration and number."""
    owned: dict[str, list[InterfacePlace]] = {}
    devices = []
    for name, path in paths.items():
        parsed = device_of_interface(name)
        if parsed is None:
            devices.append(name)
        else:
            owned.setdefault(parsed[0], []).append(InterfacePlace(parsed[1], parsed[2], path))
    return tuple(
        DevicePlace(name, paths[name], tuple(sorted(owned.get(name, ()), key=lambda i: (i.configuration, i.number))))
        for name in sorted(devices, key=in_order)[:_MOST_DEVICES]
    )
