"""The facts about one drive, from its place on the bus to where its files can be reached. Judges nothing.

All comes from what the kernel and its helpers already know (`/sys`, the table of mounts, udev's notes); only the first
bytes of the disk are read from the drive itself, and only where that is allowed. Nothing is written anywhere.
"""

import re
import time
from collections.abc import Iterator
from dataclasses import dataclass

from wizard.bus.drive import Contents, Disk, DriveFacts, Mount, Volume
from wizard.bus.tree import natural_key
from wizard.observe.drives_blocks import BlockReader
from wizard.observe.drives_mounts import Mounted, noted_contents, read_mounts
from wizard.observe.sysfs.index import DevicePlace, find_devices, is_device
from wizard.observe.sysfs.tree import Tree, read_one
from wizard.observe.words import number_in, text_of

STORAGE_CLASS = 0x08
"""Mass storage: USB-IF Defined Class Codes."""
SECTOR = 512
"""Unit of `size` and `start` in sysfs, whatever the drive's own sector is (Documentation/ABI/stable/sysfs-block)."""

_SCSI = re.compile(r"[0-9]{1,5}:[0-9]{1,5}:[0-9]{1,5}:[0-9]{1,20}")
_DISK = re.compile(r"(?:sd[a-z]{1,3}|sr[0-9]{1,3})")
_LEAVING_S = 0.5
"""A drive that is pulled out fails to read before the kernel takes it off its list: the hub is asked first, which in
the laboratory took some 20 ms (tests/lab, Linux 6.1)."""
_LOOK_AGAIN_S = 0.02
_MOST = 64  # disks of one device, partitions of one disk: more is no drive but a trap


def device_of_block(tree: Tree, name: str) -> str | None:
    """The id of the device on the bus that a block device such as `sda1` belongs to; None if there is none."""
    path = tree.resolve(f"sys/class/block/{name}") or ""
    return next((part for part in reversed(path.split("/")) if is_device(part)), None)


def read_drive(tree: Tree, device: str, reader: BlockReader | None = None) -> DriveFacts:
    """Everything about the drive on the bus with this id. `reader` reads from block devices; without one only what
    the system has noted is known."""
    place = next((p for p in find_devices(tree).devices if p.id == device), None)
    if place is None:
        return DriveFacts(device=device)
    return _Reading(tree, place, reader).facts()


@dataclass
class _Reading:
    tree: Tree
    place: DevicePlace
    reader: BlockReader | None
    stuck: bool = False

    def facts(self) -> DriveFacts:
        mounts = read_mounts(self.tree)
        storage = [i for i in self.place.interfaces if self._class(i.path) == STORAGE_CLASS]
        drivers = [driver for i in storage if (driver := self._driver(i.path)) is not None]
        hosts = [f"{i.path}/{name}" for i in storage for name in self._below(i.path, re.compile(r"host[0-9]{1,5}"))]
        disks = tuple(self._disk(folder, mounts) for host in hosts for folder in self._blocks(host))[:_MOST]
        return DriveFacts(
            device=self.place.id,
            present=True,
            configured=bool(self.place.interfaces),
            authorised=self._number(f"{self.place.path}/authorized") != 0,
            is_storage=bool(storage) if self.place.interfaces else None,
            drivers=tuple(sorted(set(drivers))),
            hosts=tuple(host.rpartition("/")[2] for host in hosts),
            disks=disks,
            mounts_known=mounts is not None,
            vanished=self._has_left(disks),
        )

    def _has_left(self, disks: tuple[Disk, ...]) -> bool:
        """Whether the device has left meanwhile. If reading failed, that may be about to show."""
        contents = [c for d in disks for c in (d.contents, *(v.contents for v in d.volumes)) if c is not None]
        patience = _LEAVING_S if any(c.reason == "failed" for c in contents) else 0.0
        ends = time.monotonic() + patience
        while self.tree.is_folder(self.place.path):
            if time.monotonic() >= ends:
                return False
            time.sleep(_LOOK_AGAIN_S)
        return True

    def _class(self, folder: str) -> int | None:
        reading = read_one(self.tree, f"{folder}/bInterfaceClass")
        return number_in(reading, 16) if isinstance(reading, bytes) else None

    def _driver(self, folder: str) -> str | None:
        target = self.tree.link(f"{folder}/driver")
        return text_of(target.rpartition("/")[2].encode(errors="replace")) if target else None

    def _below(self, folder: str, pattern: re.Pattern[str]) -> list[str]:
        names = [n for n, kind in self.tree.names(folder).items() if kind == "folder" and pattern.fullmatch(n)]
        return sorted(names, key=natural_key)

    def _blocks(self, host: str) -> Iterator[str]:
        """Folders of the disks of one adapter: `hostN/targetN:0:0/N:0:0:0/block/sda`."""
        for target in self._below(host, re.compile(r"target[0-9:]{5,20}")):
            for unit in self._below(f"{host}/{target}", _SCSI):
                folder = f"{host}/{target}/{unit}/block"
                yield from (f"{folder}/{name}" for name in self._below(folder, _DISK))

    def _disk(self, folder: str, mounts: Mounted | None) -> Disk:
        name = folder.rpartition("/")[2]
        unit = folder.rsplit("/", 2)[0]
        size = self._number(f"{folder}/size")
        sector = self._number(f"{folder}/queue/logical_block_size") or SECTOR
        parts = self._below(folder, re.compile(re.escape(name) + r"p?[0-9]{1,3}"))[:_MOST]
        return Disk(
            name=name,
            scsi=unit.rpartition("/")[2],
            bytes_=None if size is None else size * SECTOR,
            sector=sector,
            removable=self._flag(f"{folder}/removable"),
            read_only=self._flag(f"{folder}/ro"),
            state=self._text(f"{unit}/state"),
            requests=self._number(f"{unit}/iorequest_cnt", 16),
            failures=self._number(f"{unit}/ioerr_cnt", 16),
            contents=self._contents(folder, sector, whole_disk=True) if size else None,
            volumes=tuple(self._volume(f"{folder}/{part}", sector, mounts) for part in parts),
            mounts=self._mounts(folder, mounts),
            holders=self._holders(folder),
        )

    def _volume(self, folder: str, sector: int, mounts: Mounted | None) -> Volume:
        size, start = self._number(f"{folder}/size"), self._number(f"{folder}/start")
        return Volume(
            name=folder.rpartition("/")[2],
            number=self._number(f"{folder}/partition"),
            bytes_=None if size is None else size * SECTOR,
            start=None if start is None else start * SECTOR,
            read_only=self._flag(f"{folder}/ro"),
            contents=self._contents(folder, sector, whole_disk=False),
            mounts=self._mounts(folder, mounts),
            holders=self._holders(folder),
        )

    def _contents(self, folder: str, sector: int, whole_disk: bool) -> Contents | None:
        """From the drive itself if that is allowed, else what the system noted when the drive came; None where
        nobody knows."""
        number = self._text(f"{folder}/dev")
        if number is None or not re.fullmatch(r"[0-9]{1,4}:[0-9]{1,7}", number):
            return None
        reader = None if self.stuck else self.reader
        found = reader(folder.rpartition("/")[2], number, sector, whole_disk) if reader is not None else None
        if found is not None and found.reason == "blocked":
            self.stuck = True  # every further read would take as long
        if found is not None and found.reason is None:
            return found
        noted = noted_contents(self.tree, number)
        # A read that failed says more of the drive than what it told when it was still well.
        return noted if noted is not None and (found is None or found.reason == "permission") else found

    def _mounts(self, folder: str, mounts: Mounted | None) -> tuple[Mount, ...]:
        number = self._text(f"{folder}/dev")
        if mounts is None or number is None:
            return ()
        above = [self._text(f"sys/class/block/{holder}/dev") for holder in self._holders(folder)]
        name = folder.rpartition("/")[2]
        return tuple(m for key in (number, *above, f"/dev/{name}") if key for m in mounts.get(key, ()))

    def _holders(self, folder: str) -> tuple[str, ...]:
        """What the kernel has built on it: an unlocked container, a part of a set."""
        return tuple(sorted(self.tree.names(f"{folder}/holders"), key=natural_key))[:_MOST]

    def _text(self, path: str) -> str | None:
        reading = read_one(self.tree, path)
        return (text_of(reading) or None) if isinstance(reading, bytes) else None

    def _number(self, path: str, base: int = 10) -> int | None:
        text = self._text(path)
        return number_in(text.encode(), base) if text is not None else None

    def _flag(self, path: str) -> bool | None:
        return {"0": False, "1": True}.get(self._text(path) or "")
