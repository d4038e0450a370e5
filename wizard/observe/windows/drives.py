"""The facts about the drives on Windows, from its lists of devices, disks, partitions and volumes. Judges nothing.

A disk belongs to the device whose entries its own instance id is one of; a volume to the partition with the same letter
or the same path (Microsoft: MSFT_Partition.AccessPaths, MSFT_Volume.Path). What the lists leave open stays unknown.
"""

from collections.abc import Sequence
from dataclasses import fields, replace

from wizard.bus.drive import Contents, Disk, DriveFacts, Mount, Volume
from wizard.bus.model import Device, Snapshot
from wizard.observe.windows.disks import OFFLINE_REASONS, WinDisk, WinVolume

STORAGE_CLASS = 0x08
"""Mass storage: USB-IF Defined Class Codes."""
_STORAGE_DRIVERS = ("usbstor", "uaspstor")
_NO_FILE_SYSTEM = ("raw", "unknown", "0")
"""Words for a volume in which Windows finds no file system (MSFT_Volume.FileSystem, FileSystemType)."""


def drives_of(snapshot: Snapshot, disks: Sequence[WinDisk], volumes: Sequence[WinVolume]) -> tuple[DriveFacts, ...]:
    """One for each device that is no hub. Without any list of disks, which belong to a device is not known."""
    whole = _joined(disks)
    found = []
    for device in snapshot.devices:
        names = device.listing.names() if device.listing is not None else ()
        mine = [disk for disk in whole if disk.instance_id is not None and disk.instance_id.casefold() in names]
        if not device.root and device.hub is None:
            found.append(_facts(device, names, mine, volumes, any(disk.instance_id for disk in whole)))
    return tuple(found)


def _joined(disks: Sequence[WinDisk]) -> list[WinDisk]:
    """One entry for each number: one class tells the bus and the table, another the instance id."""
    by_number: dict[int, WinDisk] = {}
    for disk in disks:
        known = by_number.get(disk.number)
        if known is None:
            by_number[disk.number] = disk
            continue
        told = {f.name: getattr(disk, f.name) for f in fields(WinDisk) if getattr(known, f.name) is None}
        by_number[disk.number] = replace(known, **told, failing=known.failing or disk.failing)
    return [by_number[number] for number in sorted(by_number)]


def _facts(
    device: Device, names: tuple[str, ...], disks: Sequence[WinDisk], volumes: Sequence[WinVolume], known: bool
) -> DriveFacts:
    drivers = [i.driver for i in device.interfaces if i.driver and i.driver.lower() in _STORAGE_DRIVERS]
    storage = bool(disks or drivers) or any(i.class_code == STORAGE_CLASS for i in device.interfaces)
    return DriveFacts(
        device=device.id,
        present=True,
        is_storage=storage if storage or device.interfaces else None,
        drivers=tuple(sorted(set(drivers))),
        disks=tuple(_disk(disk, volumes) for disk in disks),
        mounts_known=True,
        system="windows",
        drivers_known=False,
        disks_known=known,
        problem=device.listing.problem if device.listing is not None else None,
        also_called=names,
    )


def _disk(disk: WinDisk, volumes: Sequence[WinVolume]) -> Disk:
    parts = sorted((v for v in volumes if v.disk == disk.number), key=lambda v: v.number or 0)
    reason = OFFLINE_REASONS.get(disk.reason or 0, "the reason is not told")
    return Disk(
        name=f"disk {disk.number}",
        bytes_=disk.size,
        read_only=disk.read_only,
        why_offline=reason if disk.offline else None,
        contents=_table(disk, bool(parts)),
        volumes=tuple(_volume(part, _described(part, volumes)) for part in parts),
    )


def _table(disk: WinDisk, has_parts: bool) -> Contents | None:
    if disk.style in ("mbr", "gpt"):
        return Contents(table=disk.style, partitions=disk.partitions, source="system")
    # Windows says RAW of what it can't read and of an empty disk alike.
    return Contents(source="system") if disk.style == "raw" and not has_parts else None


def _described(part: WinVolume, volumes: Sequence[WinVolume]) -> WinVolume | None:
    """The volume that lies in a partition."""
    return next(
        (
            volume
            for volume in volumes
            if volume.disk is None
            and ((volume.letter is not None and volume.letter == part.letter) or set(volume.paths) & set(part.paths))
        ),
        None,
    )


def _volume(part: WinVolume, volume: WinVolume | None) -> Volume:
    name = (volume.file_system if volume is not None else None) or part.file_system
    file_system = None if name is None or name.lower() in _NO_FILE_SYSTEM else name.lower()
    letter = part.letter or (volume.letter if volume is not None else None)
    places = [f"{letter}:"] if letter else []
    places += [path for path in part.paths if not path.startswith("\\\\?\\") and len(path.rstrip("\\")) > 2]
    return Volume(
        name=places[0] if places else f"partition {part.number} of disk {part.disk}",
        number=part.number,
        bytes_=part.size,
        read_only=part.read_only,
        contents=None if name is None else Contents(file_system=file_system, readable=True, source="system"),
        # A letter is given to what Windows can't read, too: only where it can, the files are reached there.
        mounts=tuple(
            Mount(where=place, file_system=file_system or "unknown", read_only=bool(part.read_only))
            for place in places
            if file_system is not None or name is None
        ),
    )
