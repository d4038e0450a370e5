"""macOS' disks and volumes from `diskutil … -plist`: what is mounted, what is not recognised, what is read-only.

Keys as Apple's `diskutil` writes them. `Content` names the type of a partition, which is not its file system.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from wizard.bus.sign import Sign
from wizard.observe.kernel_log_fold import Fold
from wizard.observe.words import clean

_HIDDEN = ("EFI", "Apple_Boot", "Apple_partition_map", "Microsoft Reserved", "Apple_APFS_Recovery")
CONTAINERS = ("Apple_APFS", "Apple_CoreStorage")
"""Types of partitions that hold others, not files."""
_MOST = 2000


@dataclass(frozen=True)
class MacPartition:
    """A partition or volume. `content` is the partition's type; `mount_point` None where it is not mounted."""

    name: str
    content: str | None = None
    volume_name: str | None = None
    mount_point: str | None = None
    size: int | None = None


@dataclass(frozen=True)
class MacDisk:
    """A whole disk. `scheme` None where macOS found no partition table; `bus` and `writable` only from `info`.
    `stores` are the partitions that a disk is made of which macOS makes itself (APFS)."""

    name: str
    scheme: str | None = None
    size: int | None = None
    partitions: tuple[MacPartition, ...] = ()
    bus: str | None = None
    writable: bool | None = None
    health: str | None = None
    stores: tuple[str, ...] = ()


def disks_in(value: Any) -> tuple[MacDisk, ...]:
    """The disks of `diskutil list -plist` or `diskutil info -plist`; none if it is neither."""
    if not isinstance(value, Mapping):
        return ()
    listed = value.get("AllDisksAndPartitions")
    if isinstance(listed, list):
        return tuple(_disk(entry) for entry in listed[:_MOST] if isinstance(entry, Mapping))
    if value.get("WholeDisk") is True and isinstance(value.get("DeviceIdentifier"), str):
        return (_info(value),)
    return ()


def disk_signs(disks: tuple[MacDisk, ...]) -> tuple[Sign, ...]:
    """Disks without a readable table, partitions that are neither recognised nor mounted, failing disks."""
    fold = Fold()
    for disk in disks:
        if disk.scheme is None and not disk.partitions and disk.bus is None:
            _add(fold, ("macos_disk_raw",), disk.name, f"{disk.name}: no partition table that macOS knows")
        if disk.writable is False:
            _add(fold, ("macos_disk_read_only",), disk.name, f"{disk.name} is read-only")
        if (disk.health or "").lower() in ("failing", "failed"):
            _add(fold, ("macos_disk_failing", "storage_io_error"), disk.name, f"{disk.name} is reported as failing")
        for part in disk.partitions:
            content = part.content or ""
            known = content.startswith((*_HIDDEN, *CONTAINERS)) or part.volume_name or part.mount_point
            if not known:
                _add(fold, ("macos_not_mounted",), part.name, f"{part.name} ({content or 'no type'}) is not mounted")
    return tuple(entry.sign() for entry in fold.entries())


def _disk(entry: Mapping[str, Any]) -> MacDisk:
    parts = [*_list(entry, "Partitions"), *_list(entry, "APFSVolumes")]
    return MacDisk(
        name=_text(entry, "DeviceIdentifier") or "-",
        scheme=_text(entry, "Content"),
        size=_size(entry),
        partitions=tuple(_partition(p) for p in parts),
        stores=tuple(name for s in _list(entry, "APFSPhysicalStores") if (name := _text(s, "DeviceIdentifier"))),
    )


def _info(entry: Mapping[str, Any]) -> MacDisk:
    writable = entry.get("Writable")
    return MacDisk(
        name=_text(entry, "DeviceIdentifier") or "-",
        scheme=_text(entry, "Content"),
        size=_size(entry),
        bus=_text(entry, "BusProtocol") or "unknown",
        writable=writable if isinstance(writable, bool) else None,
        health=_text(entry, "SMARTStatus"),
    )


def _partition(entry: Mapping[str, Any]) -> MacPartition:
    return MacPartition(
        name=_text(entry, "DeviceIdentifier") or "-",
        content=_text(entry, "Content"),
        volume_name=_text(entry, "VolumeName"),
        mount_point=_text(entry, "MountPoint"),
        size=_size(entry),
    )


def _list(entry: Mapping[str, Any], key: str) -> list[Mapping[str, Any]]:
    value = entry.get(key)
    return [one for one in value[:_MOST] if isinstance(one, Mapping)] if isinstance(value, list) else []


def _text(entry: Mapping[str, Any], key: str) -> str | None:
    value = entry.get(key)
    return clean(value) or None if isinstance(value, str) else None


def _size(entry: Mapping[str, Any]) -> int | None:
    for key in ("TotalSize", "Size"):
        value = entry.get(key)
        if isinstance(value, int) and not isinstance(value, bool):
            return value
    return None


def _add(fold: Fold, kinds: tuple[str, ...], where: str, text: str) -> None:
    for kind in kinds:
        fold.add(kind, where, 1, None, text.encode("utf-8", "replace"))
