"""macOS' USB report as values: `SPUSBDataType` up to macOS 15, `SPUSBHostDataType` from macOS 26.

Numbers come as text, the order of keys is not fixed, old reports put a letter before each key (`e_device_speed`), and
the new one has other keys and no media. The report as text and as a property list are brought into the same shape
before. What is not told stays None. Field names as seen in public samples and in `system_profiler -listDataTypes`.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from wizard.bus.model import Speed
from wizard.observe.exports.records import number_of
from wizard.observe.macos.places import Place, place_in
from wizard.observe.words import clean

DATA_TYPES = ("SPUSBDataType", "SPUSBHostDataType")
_PREFIXED = re.compile(r"^[a-z]_(?=[a-z])")
_HEX4 = re.compile(r"0x([0-9a-fA-F]{1,4})(?![0-9a-fA-F])")
_MAKER_IN_ID = re.compile(r"\(([^()]{1,80}(?:\([^()]{0,20}\))?[^()]{0,20})\)")
_MILLIAMPS = re.compile(r"\((\d{1,5})\s*mA\)")
_RATE = re.compile(r"(?i)(\d{1,4}(?:[.,]\d)?)\s*([MG])b")
_APPLE = "05ac"
_SPEED_WORDS: dict[str, tuple[Speed, float]] = {
    "low_speed": ("low", 1.5),
    "full_speed": ("full", 12.0),
    "high_speed": ("high", 480.0),
    "super_speed": ("super", 5000.0),
    "super_speed_plus": ("super_plus", 10000.0),
    "super_speed_plus_by2": ("super_plus", 20000.0),
}
_SPEED_BY_RATE: dict[float, Speed] = {1.5: "low", 12.0: "full", 480.0: "high", 5000.0: "super"}
_NOT_TOLD = ("not provided", "")
_DEEPEST = 16
_MOST = 5000


@dataclass(frozen=True)
class MacVolume:
    """A volume of a drive: where it is mounted, None if it is not; `writable` None where not told."""

    name: str | None
    bsd_name: str | None
    file_system: str | None
    content: str | None
    mount_point: str | None
    writable: bool | None


@dataclass(frozen=True)
class MacMedia:
    """A medium: `map_type` is `guid`, `master_boot_record`, `apple`, `unknown` (nothing readable) or None."""

    bsd_name: str | None
    map_type: str | None
    size: int | None
    health: str | None
    optical: bool = False
    volumes: tuple[MacVolume, ...] = ()


@dataclass(frozen=True)
class MacDevice:
    """One entry below a bus. Currents in mA: `available` what the socket offers, `used` what is asked for, `extra`
    what was granted beyond; `allocated` what the new report says was set aside."""

    name: str | None
    place: Place | None
    vid: str | None = None
    pid: str | None = None
    maker: str | None = None
    serial: str | None = None
    speed: Speed | None = None
    mbps: float | None = None
    available: int | None = None
    used: int | None = None
    extra: int | None = None
    built_in: bool | None = None
    nameless_hub: bool = False
    media: tuple[MacMedia, ...] = ()
    children: tuple["MacDevice", ...] = ()


@dataclass(frozen=True)
class MacBus:
    """One bus: the driver of its controller, its PCI ids without prefix, and what hangs on it."""

    name: str | None
    driver: str | None
    place: Place | None
    pci_vendor: str | None = None
    pci_device: str | None = None
    devices: tuple[MacDevice, ...] = field(default=())


def is_report(value: object) -> bool:
    """Whether a JSON object is such a report."""
    return isinstance(value, Mapping) and any(isinstance(value.get(name), list) for name in DATA_TYPES)


def buses_in(report: Mapping[str, Any]) -> tuple[MacBus, ...]:
    """The buses of a report; those of the newer part where both are filled, since they are the same."""
    for name in reversed(DATA_TYPES):
        entries = report.get(name)
        if isinstance(entries, list) and entries:
            return tuple(_bus(e) for e in entries[:_MOST] if isinstance(e, Mapping))
    return ()


def devices_of(buses: Sequence[MacBus]) -> Iterator[MacDevice]:
    """Every device, hubs before what hangs on them."""
    waiting = [device for bus in reversed(buses) for device in reversed(bus.devices)]
    while waiting:
        device = waiting.pop()
        yield device
        waiting += reversed(device.children)


def _plain(entry: Mapping[str, Any]) -> dict[str, Any]:
    """Keys without the sorting letter of old reports and without the prefixes of the new one, in lower case."""
    found: dict[str, Any] = {}
    for name, value in entry.items():
        key = _PREFIXED.sub("", str(name))
        key = key.removeprefix("USBDeviceKey").removeprefix("USBKey").removeprefix("_")
        found.setdefault("".join(c for c in key.lower() if c.isalnum()), value)
    return found


def _bus(entry: Mapping[str, Any]) -> MacBus:
    told = _plain(entry)
    number = _hex(told.get("usbbusnumber"))
    place = place_in(told.get("locationid"))
    return MacBus(
        name=_text(told.get("name")),
        driver=_text(told.get("hostcontroller") or told.get("driver")),
        place=place
        if place is not None
        else (Place(int(number, 16) << 24) if number and int(number, 16) < 256 else None),
        pci_vendor=_hex(told.get("pcivendor")),
        pci_device=_hex(told.get("pcidevice")),
        devices=_children(told, 1),
    )


def _children(told: Mapping[str, Any], depth: int) -> tuple[MacDevice, ...]:
    items = told.get("items")
    if not isinstance(items, list) or depth > _DEEPEST:
        return ()
    return tuple(_device(_plain(e), depth) for e in items[:_MOST] if isinstance(e, Mapping))


def _device(told: Mapping[str, Any], depth: int) -> MacDevice:
    speed, mbps = _speed(told.get("devicespeed") or told.get("linkspeed"))
    vendor = told.get("vendorid")
    name = _text(told.get("name"))
    return MacDevice(
        name=None if name in ("hub_device", "composite_device") else name,
        place=place_in(told.get("locationid")),
        vid=_APPLE if vendor == "apple_vendor_id" else _hex(vendor),
        pid=_hex(told.get("productid")),
        maker=_text(told.get("manufacturer") or told.get("vendorname")) or _maker_in(vendor),
        serial=_told(told.get("serialnum") or told.get("serialnumber")),
        speed=speed,
        mbps=mbps,
        available=number_of(told.get("buspower")),
        used=_used(told),
        extra=number_of(told.get("extracurrentused")),
        built_in=_built_in(told),
        nameless_hub=name == "hub_device",
        media=_media(told),
        children=_children(told, depth + 1),
    )


def _text(value: object) -> str | None:
    return clean(value) or None if isinstance(value, str) else None


def _told(value: object) -> str | None:
    text = _text(value)
    return None if text is None or text.lower() in _NOT_TOLD else text


def _hex(value: object) -> str | None:
    match = _HEX4.search(value) if isinstance(value, str) else None
    return match[1].lower().zfill(4) if match else None


def _maker_in(vendor: object) -> str | None:
    match = _MAKER_IN_ID.search(vendor) if isinstance(vendor, str) else None
    return clean(match[1]) if match else None


def _speed(told: object) -> tuple[Speed | None, float | None]:
    if not isinstance(told, str):
        return None, None
    known = _SPEED_WORDS.get(told.strip().lower())
    if known is not None:
        return known
    match = _RATE.search(told)
    if match is None:
        return None, None
    rate = float(match[1].replace(",", ".")) * (1000 if match[2].upper() == "G" else 1)
    return ("super_plus" if rate >= 10000 else _SPEED_BY_RATE.get(rate)), rate


def _used(told: Mapping[str, Any]) -> int | None:
    """What the configuration asks for; the new report gives what was set aside, which is the same to a few mA."""
    used = number_of(told.get("buspowerused"))
    if used is not None:
        return used
    allocated = told.get("powerallocation")
    match = _MILLIAMPS.search(allocated) if isinstance(allocated, str) else None
    return int(match[1]) if match else None


def _built_in(told: Mapping[str, Any]) -> bool | None:
    word = str(told.get("builtindevice") or told.get("hardwaretype") or "").lower()
    if word in ("yes", "built-in", "captive"):
        return True
    return False if word == "removable" else None


def _media(told: Mapping[str, Any]) -> tuple[MacMedia, ...]:
    media = told.get("media")
    entries = [_plain(m) for m in media if isinstance(m, Mapping)] if isinstance(media, list) else []
    if not entries and told.get("bsdname"):
        entries = [dict(told)]  # old reports have the medium's keys on the device itself
    return tuple(_medium(entry) for entry in entries)


def _medium(told: Mapping[str, Any]) -> MacMedia:
    volumes = told.get("volumes")
    map_type = _text(told.get("partitionmaptype"))
    return MacMedia(
        bsd_name=_text(told.get("bsdname")),
        map_type=map_type.removesuffix("_partition_map_type") if map_type else None,
        size=number_of(told.get("sizeinbytes")),
        health=_text(told.get("smartstatus")),
        optical=bool(told.get("opticalmediatype")),
        volumes=tuple(_volume(_plain(v)) for v in volumes if isinstance(v, Mapping))
        if isinstance(volumes, list)
        else (),
    )


def _volume(told: Mapping[str, Any]) -> MacVolume:
    writable = str(told.get("writable") or "").lower()
    return MacVolume(
        name=_text(told.get("name")),
        bsd_name=_text(told.get("bsdname")),
        file_system=_text(told.get("filesystem")),
        content=_text(told.get("iocontent")),
        mount_point=_text(told.get("mountpoint")),
        writable={"yes": True, "no": False}.get(writable),
    )
