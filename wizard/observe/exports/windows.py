"""From records of Windows' tools to an export: events, devices, disks and volumes in any mixture.

Knows which record is what, and which device list lends its knowledge to which events; reading one record is for
others.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from wizard.bus.drive import with_disks
from wizard.observe.exports.export import Export
from wizard.observe.exports.json_values import Value
from wizard.observe.exports.records import Record, plain
from wizard.observe.windows.devices import WinDevice, device_in, instance_id_in
from wizard.observe.windows.disk_signs import disk_signs, not_usb, others_letters
from wizard.observe.windows.disks import WinDisk, WinVolume, disk_in, volume_in
from wizard.observe.windows.drives import drives_of
from wizard.observe.windows.events import WinEvent, event_in, is_event
from wizard.observe.windows.signs import WindowsSigns
from wizard.observe.windows.tree import is_bus_device, snapshot_of

NOTHING = "Nothing in the file is an event, a device or a disk that Portmend knows."
CUT_IDS = "The table cuts off the names of devices ('...'), so they could not be told apart. Export it as JSON instead."
_DEEPEST = 6
_MOST = 500_000


@dataclass
class Found:
    """What the records of one export are."""

    events: list[WinEvent] = field(default_factory=list)
    devices: list[WinDevice] = field(default_factory=list)
    disks: list[WinDisk] = field(default_factory=list)
    volumes: list[WinVolume] = field(default_factory=list)
    cut: bool = False


def windows_export(values: Sequence[Value], with_snapshot: bool = True) -> Export:
    """Signs and, if devices are listed, the snapshot."""
    found = sorted_out(values)
    signs = WindowsSigns(found.devices, not_usb(found.disks), others_letters(found.disks, found.volumes))
    for device in found.devices:
        signs.device(device)
    for event in found.events:
        signs.event(event)
    listed = any(device.is_here and is_bus_device(device) for device in found.devices)
    snapshot = snapshot_of(found.devices) if with_snapshot and listed else None
    drives = drives_of(snapshot, found.disks, found.volumes) if snapshot is not None else ()
    snapshot = with_disks(snapshot, drives) if snapshot is not None else None
    known = found.events or found.devices or found.disks or found.volumes
    notes = []
    if found.cut:
        notes.append(CUT_IDS)
    elif not known:
        notes.append(NOTHING)
    elif signs.left_out:
        notes.append(f"{signs.left_out} of the entries say nothing of USB, and were left out.")
    told = (*signs.signs(), *disk_signs(found.disks, found.volumes))
    return Export("windows", told, snapshot, tuple(notes), drives)


def sorted_out(values: Sequence[Value]) -> Found:
    """Each record to its kind; single properties of a device, one a record, are put together first."""
    found = Found()
    properties: dict[str, tuple[dict[str, Any], int]] = {}
    for line, mapping in _mappings(values):
        record = Record(mapping)
        if _is_property(record):
            instance_id = instance_id_in(record)
            name = record.text("keyname", "key")
            if instance_id and name:
                held = properties.setdefault(instance_id.upper(), ({"InstanceId": instance_id}, line))
                held[0][name] = _data_of(mapping)
            continue
        _sort(found, record, line)
    for mapping, line in properties.values():
        _sort(found, Record(mapping), line)
    found.devices = _joined(found.devices)
    return found


def _sort(found: Found, record: Record, line: int) -> None:
    disk = disk_in(record, line)
    volume = None if disk else volume_in(record, line)
    if disk is not None:
        found.disks.append(disk)
    elif volume is not None:
        found.volumes.append(volume)
    elif is_event(record):
        event = event_in(record, line)
        if event is not None:
            found.events.append(event)
    else:
        device = device_in(record, line)
        if device is not None:
            found.devices.append(device)
        elif (record.text("instanceid", "deviceid") or "").endswith(("...", "…")):
            found.cut = True


def _joined(devices: Sequence[WinDevice]) -> list[WinDevice]:
    """One entry for each id; WMI lists a device once for each class it belongs to. Later words fill what earlier
    ones left open."""
    by_key: dict[str, WinDevice] = {}
    for device in devices:
        known = by_key.get(device.key)
        if known is None:
            by_key[device.key] = device
            continue
        told = {
            name: getattr(device, name)
            for name in device.__dataclass_fields__
            if getattr(known, name) in (None, ()) and getattr(device, name) not in (None, ())
        }
        by_key[device.key] = WinDevice(**{**known.__dict__, **told})
    return list(by_key.values())


def _mappings(values: Sequence[Value]) -> Iterator[tuple[int, Mapping[str, Any]]]:
    """The records in the values; a wrapper (`{"value": […], "Count": 3}`, `{"events": […]}`) is opened."""
    waiting: list[tuple[int, Any, int]] = [(v.line, v.value, 0) for v in reversed(values)]
    given = 0
    while waiting and given < _MOST:
        line, value, depth = waiting.pop()
        if isinstance(value, list) and depth < _DEEPEST:
            waiting += [(line, one, depth + 1) for one in reversed(value)]
        elif isinstance(value, Mapping):
            inner = _wrapped(value) if depth < _DEEPEST else []
            if inner:
                waiting += [(line, one, depth + 1) for one in reversed(inner)]
            else:
                given += 1
                yield line, value


def _wrapped(value: Mapping[str, Any]) -> list[Any]:
    """Lists of objects in an object that is no record itself."""
    if any(plain(str(name)) in _RECORD_NAMES for name in value):
        return []
    return [
        inner
        for inner in value.values()
        if (isinstance(inner, list) and any(isinstance(one, Mapping) for one in inner))
        or (isinstance(inner, Mapping) and not _is_event_wrapper(value))
    ]


_RECORD_NAMES = frozenset(
    [
        "instanceid", "deviceid", "pnpdeviceid", "deviceinstanceid", "id", "eventid", "eventcode", "eventdata",
        "message", "providername", "drivetype", "partitionnumber", "partitionstyle", "keyname", "system",
    ]
)  # fmt: skip


def _is_event_wrapper(value: Mapping[str, Any]) -> bool:
    return any(plain(str(name)) in ("event", "winlog", "source") for name in value)


def _is_property(record: Record) -> bool:
    return "keyname" in record and instance_id_in(record) is not None


def _data_of(mapping: Mapping[str, Any]) -> Any:
    return next((value for name, value in mapping.items() if plain(str(name)) == "data"), None)
