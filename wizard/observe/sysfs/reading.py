"""Reading the files of one device, in an order that loses nothing to a locked hub. Knows file names.

While a device does not answer, its hub is locked, and reading some attributes *of the hub* waits for
up to two minutes (seen on Linux 6.1: bConfigurationValue, bMaxPower, bNumInterfaces, bmAttributes,
configuration, manufacturer, product, serial, uevent, and `disable` of a port). `read_free` reads only
what never waits; `read_locked` reads the rest, and nothing that the free part already told.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from wizard.bus.class_formats import parse_formats
from wizard.bus.descriptors import LARGEST_BLOB, Described, parse_descriptors
from wizard.bus.formats import InterfaceFormats
from wizard.bus.model import Speed, Unreadable
from wizard.observe.sysfs.index import DevicePlace
from wizard.observe.sysfs.tree import Reading, Tree
from wizard.observe.words import text_of

SPEEDS: dict[str, tuple[Speed, float]] = {
    # Linux prints Mbit/s: Documentation/ABI/testing/sysfs-bus-usb, `speed`
    "1.5": ("low", 1.5),
    "12": ("full", 12.0),
    "480": ("high", 480.0),
    "5000": ("super", 5000.0),
    "10000": ("super_plus", 10000.0),
    "20000": ("super_plus", 20000.0),
}

HUB_CLASS = 9  # USB 2.0 §11.23.1

STORAGE_DRIVERS = ("usb-storage", "uas")
"""Linux' two drivers of drives (drivers/usb/storage)."""

_SCSI_HOST = re.compile(r"host[0-9]{1,5}")
_SCSI_TARGET = re.compile(r"target[0-9:]{5,20}")
_SCSI_UNIT = re.compile(r"[0-9]{1,5}(?::[0-9]{1,20}){3}")
_DISK = re.compile(r"(?:sd[a-z]{1,3}|sr[0-9]{1,3})")

_STANDING = (
    "descriptors",
    "speed",
    "power/control",
    "power/runtime_status",
    "power/autosuspend_delay_ms",
    "power/runtime_suspended_time",
    "power/usb2_hardware_lpm",
)
LINK_STATES = {
    # Documentation/ABI/testing/sysfs-bus-usb. The first never waits; the others wait for the lock of the device.
    "power/usb2_hardware_lpm": "l1",
    "power/usb3_hardware_lpm_u1": "u1",
    "power/usb3_hardware_lpm_u2": "u2",
}
_IDENTITY = ("idVendor", "idProduct", "bcdDevice", "version", "bDeviceClass", "bDeviceProtocol")
_SETTING = ("bAlternateSetting",)
_OF_INTERFACE = ("bInterfaceClass", "bInterfaceSubClass", "bInterfaceProtocol")


@dataclass
class RawInterface:
    """What the folder of one interface, called `name`, told."""

    number: int
    name: str
    attributes: dict[str, Reading] = field(default_factory=dict)
    driver: str | None = None
    scsi_hosts: tuple[str, ...] = ()
    disks: tuple[str, ...] = ()


@dataclass
class RawDevice:
    """What the folder of one device told so far. A reading thread fills it and may never finish.

    `speed` is the speed and its rate in Mbit/s as the kernel says. `late` are the attributes that may wait;
    `awaited` the names meant to end up there; `gone` says that the folder has disappeared, `stuck` that even what
    never waits did not come back.
    """

    place: DevicePlace
    attributes: dict[str, Reading] = field(default_factory=dict)
    late: dict[str, Reading] = field(default_factory=dict)
    interfaces: list[RawInterface] = field(default_factory=list)
    speed: tuple[Speed, float] | None = None
    described: Described = field(default_factory=Described)
    formats: tuple[InterfaceFormats, ...] = ()
    has_descriptors: bool = False
    awaited: tuple[str, ...] = ()
    gone: bool = False
    stuck: bool = False

    @property
    def is_hub(self) -> bool:
        """Whether it is a hub by its class; root hubs always are."""
        device = self.described.device
        return self.place.root or (device is not None and device.class_code == HUB_CLASS)

    def words(self, name: str) -> str | None:
        """An attribute as text; None if it is missing, empty or unreadable."""
        raw = self.attributes.get(name)
        return (text_of(raw) or None) if isinstance(raw, bytes) else None


Known = dict[tuple[bytes, Speed | None], tuple[Described, tuple[InterfaceFormats, ...]]]
"""Descriptors read in this look already: several devices of one model tell the same."""


def read_free(tree: Tree, raw: RawDevice, known: Known) -> None:
    """Read everything about a device that never waits for anything."""
    folder = raw.place.path
    tree.read_into(raw.attributes, folder, _STANDING, LARGEST_BLOB)
    _parse(raw, known)
    if raw.described.device is None:
        tree.read_into(raw.attributes, folder, _IDENTITY)
    if raw.is_hub or raw.described.device is None:
        tree.read_into(raw.attributes, folder, ("maxchild",))
    for place in raw.place.interfaces:
        raw.interfaces.append(_read_interface(tree, place.path, place.number, raw.has_descriptors))
    if raw.attributes["speed"] is None:
        raw.gone = not tree.is_folder(folder)
    raw.awaited = _locked_names(raw)


def read_locked(tree: Tree, raw: RawDevice) -> None:
    """Read what may wait as long as the device's hub is locked."""
    tree.read_into(raw.late, raw.place.path, raw.awaited)


def settled(raw: RawDevice, stuck: bool) -> RawDevice:
    """A copy that no reading thread can change any more, the late attributes among the others."""
    copy = RawDevice(raw.place, dict(raw.attributes), dict(raw.late), list(raw.interfaces))
    copy.attributes.update(copy.late)
    copy.speed, copy.described, copy.has_descriptors = raw.speed, raw.described, raw.has_descriptors
    copy.formats = raw.formats
    copy.awaited, copy.gone, copy.stuck = raw.awaited, raw.gone, stuck
    return copy


def _parse(raw: RawDevice, known: Known) -> None:
    raw.speed = SPEEDS.get(raw.words("speed") or "")
    blob = raw.attributes["descriptors"]
    if isinstance(blob, bytes):
        raw.has_descriptors = True
        key = (blob, raw.speed[0] if raw.speed else None)
        if key not in known:
            known[key] = parse_descriptors(*key), parse_formats(blob)
        raw.described, raw.formats = known[key]


def _read_interface(tree: Tree, folder: str, number: int, described: bool) -> RawInterface:
    raw = RawInterface(number, folder.rpartition("/")[2])
    tree.read_into(raw.attributes, folder, _SETTING if described else _SETTING + _OF_INTERFACE)
    target = tree.link(f"{folder}/driver")
    raw.driver = text_of(target.rpartition("/")[2].encode(errors="replace")) if target else None
    if raw.driver in STORAGE_DRIVERS:
        raw.scsi_hosts = tuple(_folders(tree, folder, _SCSI_HOST))
        raw.disks = tuple(disk for host in raw.scsi_hosts for disk in _disks(tree, f"{folder}/{host}"))
    return raw


def _disks(tree: Tree, host: str) -> Iterator[str]:
    """Names of the disks of one adapter: `hostN/targetN:0:0/N:0:0:0/block/sda`."""
    for target in _folders(tree, host, _SCSI_TARGET):
        for unit in _folders(tree, f"{host}/{target}", _SCSI_UNIT):
            yield from _folders(tree, f"{host}/{target}/{unit}/block", _DISK)


def _folders(tree: Tree, folder: str, pattern: re.Pattern[str]) -> list[str]:
    return sorted(n for n, kind in tree.names(folder).items() if kind == "folder" and pattern.fullmatch(n))


def _locked_names(raw: RawDevice) -> tuple[str, ...]:
    """The attributes that may wait and are still worth reading."""
    names: list[str] = []
    if not raw.place.interfaces:
        names.append("bConfigurationValue")
    if not raw.described.configurations:
        names += ["bMaxPower", "bmAttributes"]
    device = raw.described.device
    texts = {
        "product": device.product_index if device else 1,
        "manufacturer": device.manufacturer_index if device else 1,
        "serial": device.serial_index if device else 1,
    }
    if raw.speed is not None and raw.speed[0] in ("super", "super_plus") and not raw.place.root:
        names += [name for name in LINK_STATES if "usb3" in name]
    return tuple(names + [name for name, index in texts.items() if index])


def left_unread(raw: RawDevice) -> tuple[Unreadable, ...]:
    """The attributes a locked hub kept from us, once waiting for them was given up."""
    names = [name for name in raw.awaited if name not in raw.late]
    return tuple(Unreadable(where=f"{raw.place.id}/{name}", reason="blocked") for name in names)
