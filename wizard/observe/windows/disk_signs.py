"""Signs from Windows' list of disks and volumes. Only disks that hang on USB, or whose bus nothing tells, count."""

from collections.abc import Iterator, Sequence

from wizard.bus.sign import Sign
from wizard.observe.kernel_log_fold import Fold
from wizard.observe.windows.disks import OFFLINE_REASONS, WinDisk, WinVolume


def disk_signs(disks: Sequence[WinDisk], volumes: Sequence[WinVolume]) -> tuple[Sign, ...]:
    """Offline, read-only, failing and raw disks; volumes that need repair."""
    fold = Fold()

    def add(kinds: Sequence[str], where: str, line: int, text: str) -> None:
        for kind in kinds:
            fold.add(kind, where, line, None, text.encode("utf-8", "replace"))

    for disk in disks:
        for raw, kind, text in _troubles(disk) if disk.bus in (None, "usb") else ():
            add((raw, kind) if kind else (raw,), f"disk {disk.number}", disk.line, text)
    usb = {disk.number for disk in disks if disk.bus == "usb"}
    others = others_letters(disks, volumes)
    for volume in volumes:
        if volume.for_people and volume.letter is None and not volume.hidden and volume.disk in usb:
            text = f"partition {volume.number} of disk {volume.disk} has no letter"
            add(("windows_no_letter",), f"disk {volume.disk}", volume.line, text)
        if volume.repair and f"{volume.letter}:" not in others:
            where = f"{volume.letter}:" if volume.letter else "-"
            text = f"volume {where} {volume.repair}"
            add(("windows_volume_repair", "filesystem_error"), where, volume.line, text)
    return tuple(entry.sign() for entry in fold.entries())


def _troubles(disk: WinDisk) -> Iterator[tuple[str, str | None, str]]:
    """Raw kind, the sign it stands for, and words."""
    name = disk.name or f"disk {disk.number}"
    if disk.offline:
        why = OFFLINE_REASONS.get(disk.reason or 0, "the reason is not told")
        raw = f"windows_disk_offline_{disk.reason}" if disk.reason else "windows_disk_offline"
        yield raw, "storage_offline", f"{name} is offline: {why}"
    if disk.read_only:
        yield "windows_disk_read_only", None, f"{name} is read-only"
    if disk.failing:
        yield "windows_disk_failing", "storage_io_error", f"{name} is reported as failing"
    if disk.style == "raw":
        yield "windows_disk_raw", None, f"{name} has no partition table that Windows knows"


def not_usb(disks: Sequence[WinDisk]) -> frozenset[int]:
    """Numbers of disks that are known to hang elsewhere."""
    usb = {disk.number for disk in disks if disk.bus == "usb"}
    return frozenset(disk.number for disk in disks if disk.bus not in (None, "usb")) - usb


def others_letters(disks: Sequence[WinDisk], volumes: Sequence[WinVolume]) -> frozenset[str]:
    """Letters, as `C:`, of volumes on such disks."""
    elsewhere = not_usb(disks)
    return frozenset(f"{v.letter}:" for v in volumes if v.letter and v.disk in elsewhere)
