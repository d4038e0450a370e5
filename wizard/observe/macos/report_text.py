"""macOS' USB report in its other shapes, brought into that of its JSON: as text, and as a property list.

The text has a head with a colon and a blank line for each entry, deeper ones further in; labels are English only.
"""

import plistlib
import re
import struct
from typing import Any
from xml.parsers.expat import ExpatError

from wizard.bus.errors import BadInputError
from wizard.observe.exports.text_records import lines_of

_HEAD = re.compile(r"^( {2,})(\S.*):\s*$")
_FIELD = re.compile(r"^( {2,})(\S[^:]{0,50}): (.*)$")
_BEGIN = re.compile(r"(?m)^USB:\s*$|^ {4}USB\b.* Bus:\s*$|^ {4}USB Bus:\s*$")
_DRIVER = re.compile(r"(?m)^ {6,}Host Controller Driver: \S")
_KEYS = {
    # Labels of the text and the keys of the JSON
    "Host Controller Driver": "host_controller", "Driver": "Driver", "PCI Device ID": "pci_device",
    "PCI Vendor ID": "pci_vendor", "PCI Revision ID": "pci_revision", "Bus Number": "usb_bus_number",
    "Product ID": "product_id", "Vendor ID": "vendor_id", "Version": "bcd_device", "Speed": "device_speed",
    "Serial Number": "serial_num", "Manufacturer": "manufacturer", "Location ID": "location_id",
    "Current Available (mA)": "bus_power", "Current Required (mA)": "bus_power_used",
    "Extra Operating Current (mA)": "extra_current_used", "Built-In": "Built-in_Device",
    "Link Speed": "USBDeviceKeyLinkSpeed", "USB Vendor ID": "vendor_id", "USB Product ID": "product_id",
    "USB Product Version": "bcd_device", "Power Allocated": "USBDeviceKeyPowerAllocation",
    "Connection Type": "USBKeyHardwareType", "BSD Name": "bsd_name", "File System": "file_system",
    "Mount Point": "mount_point", "Writable": "writable", "S.M.A.R.T. status": "smart_status", "Content": "iocontent",
}  # fmt: skip
_MAPS = {"MBR": "master_boot_record", "GPT": "guid", "GUID": "guid", "Apple": "apple", "Unknown": "unknown"}
_MOST_BYTES = 64_000_000
_FAULTS = (
    ExpatError, ValueError, TypeError, AttributeError, LookupError, ArithmeticError, RecursionError, EOFError,
    struct.error,
)  # fmt: skip
"""What plistlib raises on bytes that are none: broken XML, unknown encodings, numbers and dates that are none."""


def is_report_text(text: str) -> bool:
    """Whether a text holds the USB part of a report."""
    return (_BEGIN.search(text) is not None and "Location ID:" in text) or _DRIVER.search(text) is not None


def report_in_text(text: str) -> dict[str, Any]:
    """The report as if it had been asked for in JSON."""
    buses: list[dict[str, Any]] = []
    open_: list[tuple[int, dict[str, Any]]] = []
    lines = lines_of(text)
    for line, after in zip(lines, [*lines[1:], ""], strict=True):
        match = _FIELD.match(line)
        named = line.rstrip().endswith(":") and not after.strip()  # a name with a colon in it
        if match and open_ and not named:
            _take(open_, len(match[1]), match[2].strip(), match[3].strip())
            continue
        head = _HEAD.match(line)
        if head is None:
            if line.strip() and not line.startswith(" "):
                open_ = []  # another chapter of the report
            continue
        indent, name = len(head[1]), head[2]
        while open_ and open_[-1][0] >= indent:
            open_.pop()
        entry: dict[str, Any] = {"_name": name.strip()}
        if open_:
            key = "volumes" if open_[-1][1].get("_name") == "Volumes" else "_items"
            open_[-1][1].setdefault(key, []).append(entry)
        else:
            buses.append(entry)
        open_.append((indent, entry))
    return {"SPUSBDataType": [_tidied(bus) for bus in buses]}


def _take(open_: list[tuple[int, dict[str, Any]]], indent: int, label: str, value: str) -> None:
    while len(open_) > 1 and open_[-1][0] >= indent:
        open_.pop()
    entry = open_[-1][1]
    if label == "Partition Map Type":
        entry["partition_map_type"] = f"{_MAPS.get(value.split(' ')[0], value)}_partition_map_type"
    elif label in ("Capacity", "Size"):
        match = re.search(r"\(([\d\s.,]+) bytes\)", value)
        entry["size_in_bytes"] = int(re.sub(r"\D", "", match[1])[:18] or 0) if match else None
    else:
        entry.setdefault(_KEYS.get(label, label), value)


def _tidied(entry: dict[str, Any], depth: int = 0) -> dict[str, Any]:
    """`Media:` and `Volumes:` are heads of lists, not devices."""
    items = [item for item in entry.pop("_items", []) if depth < 20]
    kept = []
    for item in items:
        if item["_name"] == "Volumes":
            entry["volumes"] = [*item.get("volumes", []), *item.get("_items", [])]
        elif item["_name"] == "Media":
            entry["Media"] = [_tidied(medium, depth + 1) for medium in item.get("_items", [])]
        else:
            kept.append(_tidied(item, depth + 1))
    if kept:
        entry["_items"] = kept
    return entry


def plist_in(data: bytes, name: str) -> Any:
    """The value of a property list. Raises BadInputError if it is none, or holds entities."""
    if len(data) > _MOST_BYTES:
        raise BadInputError(name, "it is far too long for such a list", "Export only the USB part.")
    try:
        return plistlib.loads(data)
    except plistlib.InvalidFileException as fault:
        raise BadInputError(name, "it is no property list", "Export it again.") from fault
    except _FAULTS as fault:
        raise BadInputError(
            name, "it looks like a property list, but is broken or cut off", "Export it again."
        ) from fault


def reports_in_plist(value: Any) -> dict[str, Any]:
    """The USB part of a report saved as a property list: `[{_dataType, _items}, …]`; empty if it has none."""
    found: dict[str, Any] = {}
    for part in value if isinstance(value, list) else [value]:
        if isinstance(part, dict) and isinstance(part.get("_items"), list) and isinstance(part.get("_dataType"), str):
            found[part["_dataType"]] = part["_items"]
    return found
