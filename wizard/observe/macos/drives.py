"""The facts about the drives on macOS, from its USB report and its list of disks. Judges nothing.

The report up to macOS 15 says which disks belong to a device; the one from macOS 26 on does not, and then that stays
unknown. A container (APFS, CoreStorage) is reached through the volumes of the disk that macOS makes of it.
"""

from collections.abc import Mapping, Sequence

from wizard.bus.drive import Contents, Disk, DriveFacts, Mount, Volume
from wizard.bus.model import Device, Snapshot
from wizard.observe.macos.report import MacBus, MacMedia, MacVolume, devices_of
from wizard.observe.macos.volumes import CONTAINERS, MacDisk

STORAGE_CLASS = 0x08
"""Mass storage: USB-IF Defined Class Codes."""
_TABLES: Mapping[str, str] = {"guid": "gpt", "master_boot_record": "mbr", "apple": "apm"}


def drives_of(snapshot: Snapshot, buses: Sequence[MacBus], disks: Sequence[MacDisk]) -> tuple[DriveFacts, ...]:
    """One for each device that is no hub, found by its location."""
    media = {device.place.text: device.media for device in devices_of(buses) if device.place is not None}
    media_known = any(media.values())
    reached = _reached(disks)
    found = []
    for device in snapshot.devices:
        if device.root or device.hub is not None:
            continue
        place = device.listing.location if device.listing is not None else None
        found.append(_facts(device, media.get(place or "", ()), media_known, reached))
    return tuple(found)


def _reached(disks: Sequence[MacDisk]) -> dict[str, tuple[str, ...]]:
    """Where the files of each partition are, by its name; of a container those of its volumes."""
    found: dict[str, tuple[str, ...]] = {}
    found |= {part.name: (part.mount_point,) for disk in disks for part in disk.partitions if part.mount_point}
    for disk in disks:
        places = tuple(part.mount_point for part in disk.partitions if part.mount_point)
        found.update(dict.fromkeys(disk.stores, places))
    return found


def _facts(
    device: Device, media: Sequence[MacMedia], media_known: bool, reached: Mapping[str, tuple[str, ...]]
) -> DriveFacts:
    storage = bool(media) or any(i.class_code == STORAGE_CLASS for i in device.interfaces)
    volumes = [volume for medium in media for volume in medium.volumes]
    hidden = [v for v in volumes if (v.content or "") in CONTAINERS and (v.bsd_name or "") not in reached]
    return DriveFacts(
        device=device.id,
        present=True,
        is_storage=storage if storage or device.interfaces else None,
        disks=tuple(_disk(medium, reached) for medium in media if medium.bsd_name),
        mounts_known=not hidden,
        system="macos",
        drivers_known=False,
        disks_known=media_known,
        also_called=device.listing.names() if device.listing is not None else (),
    )


def _disk(medium: MacMedia, reached: Mapping[str, tuple[str, ...]]) -> Disk:
    contents = None
    if medium.map_type is not None and not medium.optical:
        contents = Contents(table=_TABLES.get(medium.map_type), source="system")
    return Disk(
        name=medium.bsd_name or "-",
        bytes_=medium.size,
        contents=contents,
        volumes=tuple(_volume(v, n, reached) for n, v in enumerate(medium.volumes, start=1)),
    )


def _volume(volume: MacVolume, number: int, reached: Mapping[str, tuple[str, ...]]) -> Volume:
    name = volume.file_system.lower() if volume.file_system else None
    places = [volume.mount_point] if volume.mount_point else list(reached.get(volume.bsd_name or "", ()))
    return Volume(
        name=volume.bsd_name or f"volume {number}",
        number=number,
        read_only=None if volume.writable is None else not volume.writable,
        contents=None if name is None else Contents(file_system=name, readable=True, source="system"),
        mounts=tuple(
            Mount(where=place, file_system=name or "unknown", read_only=volume.writable is False) for place in places
        ),
    )
