"""Lines about drives: which of them are about a drive on USB.

A line counts if it names uas or usb-storage, if a line of the same log says that its host or disk came in
that way, if its disk hangs on USB in the snapshot, or if the case is about a drive and nothing in the log
says that this one is not on USB. The answer may come later in the log than the line, so lines are kept
folded until the end. Knows what lines say from kernel_log_drive_patterns.
"""

import re
from typing import NamedTuple

from wizard.bus.model import Snapshot
from wizard.observe.kernel_log_drive_patterns import COMPLAINTS, DISK, HARMLESS, UNNAMED
from wizard.observe.kernel_log_fold import Entry, Fold

_ADDRESS = re.compile(rb"\b(?:sd|sr|st|sg|ses|scsi)\s(\d{1,5}):(\d{1,5}):(\d{1,5}):(\d{1,20}):?\s")
_OLD_ADDRESS = re.compile(rb"\bhost\s(\d{1,5})\schannel\s(\d{1,5})\sid\s(\d{1,5})\slun\s(\d{1,20})")
_HOST = re.compile(rb"\bscsi\s?(?:host)?(\d{1,5})\s?:\s")
_HOST_DRIVER = re.compile(
    rb"\bscsi\s?(?:host)?\d{1,5}\s?:\s+"
    rb"(uas\b|usb-storage|SCSI emulation for USB|[a-z][\w-]*\s*$)"
)
_ATTACHED = re.compile(rb"\bdisk\s(sd[a-z]{1,3})\sat\sscsi(\d{1,5}),")
_NAMED = re.compile(rb"\buas_|uas-tag|usb-storage|usb_stor")
_WHOLE_DISK = re.compile(r"(sd[a-z]{1,3}|sr\d{1,3})")
_MOST_NAMES = 10_000


class DriveLine(NamedTuple):
    """What one line says of a drive. `kind` is empty if it complains of nothing."""

    kind: str
    where: str
    host: str | None
    disk: str | None
    named: bool


def _address(line: bytes) -> tuple[str | None, str | None]:
    """SCSI address and host of a line, as far as it names them."""
    if match := _ADDRESS.search(line) or _OLD_ADDRESS.search(line):
        parts = [part.decode("ascii") for part in match.groups()]
        return ":".join(parts), f"host{parts[0]}"
    if match := _HOST.search(line):
        return None, f"host{match[1].decode('ascii')}"
    return None, None


def _disk(line: bytes) -> str | None:
    match = DISK.search(line)
    if match is None:
        return None
    name = next(found for found in match.groups() if found).decode("ascii")
    whole = _WHOLE_DISK.match(name)
    return whole[1] if whole else None


def _kind(line: bytes) -> str:
    kind = next((kind for kind, pattern in COMPLAINTS if pattern.search(line)), "")
    return "" if kind == "filesystem_error" and HARMLESS.search(line) else kind


def read_line(line: bytes) -> DriveLine:
    """What a line says of a drive."""
    address, host = _address(line)
    disk, kind = _disk(line), _kind(line)
    named = _NAMED.search(line) is not None
    if not (host or disk or named or UNNAMED.search(line)):
        # It names a disk of another sort, such as `nvme0n1` or `dm-0`.
        kind = ""
    nearest = (disk, address, host) if kind in ("storage_io_error", "filesystem_error") else (address, host, disk)
    where = next((name for name in nearest if name), "-")
    return DriveLine(kind, where, host, disk, named)


class Drives:
    """What a log tells of its drives, and which of its complaints are about drives on USB."""

    def __init__(self, snapshot: Snapshot | None, drive_case: bool) -> None:
        self._fold = Fold()
        self._drive_case = drive_case
        self._usb: set[str] = _usb_disks(snapshot)
        self._other: set[str] = set()
        self._host_of: dict[str, str] = {}
        self._other_drives_in_trouble = False

    def note_other_drive(self) -> None:
        """A line speaks of a drive on SATA: a disk of unknown host may be that one."""
        self._other_drives_in_trouble = True

    def learn(self, line: bytes, said: DriveLine) -> None:
        """Take in what a line tells about hosts and disks."""
        if len(self._usb) + len(self._other) + len(self._host_of) > _MOST_NAMES:
            return
        if said.host and said.disk:
            self._host_of[said.disk] = said.host
        if match := _ATTACHED.search(line):
            self._host_of[match[1].decode("ascii")] = f"host{match[2].decode('ascii')}"
        if said.named:
            self._usb.update(name for name in (said.host, said.disk) if name)
        if said.host and (match := _HOST_DRIVER.search(line)):
            (self._usb if match[1].startswith((b"uas", b"usb-s", b"SCSI")) else self._other).add(said.host)

    def add(self, said: DriveLine, line: int, stamp: str | None, text: bytes, count: int) -> Entry:
        """Count a complaint; whether it stays is decided at the end."""
        entry = self._fold.add(said.kind, said.where, line, stamp, text, count)
        entry.host, entry.disk = said.host or entry.host, said.disk or entry.disk
        entry.named = entry.named or said.named
        return entry

    def entries(self) -> tuple[Entry, ...]:
        """The complaints that are about drives on USB."""
        return tuple(entry for entry in self._fold.entries() if self._is_usb(entry))

    def _is_usb(self, entry: Entry) -> bool:
        disk_host = self._host_of.get(entry.disk) if entry.disk else None
        names = {name for name in (entry.host, entry.disk, disk_host) if name}
        if entry.named or names & self._usb:
            return True
        known_other = names & self._other or (self._other_drives_in_trouble and not names & self._usb)
        return self._drive_case and not known_other


def _usb_disks(snapshot: Snapshot | None) -> set[str]:
    """Disks and SCSI hosts that a snapshot places on USB."""
    devices = snapshot.devices if snapshot else ()
    return {name for device in devices for name in (*device.scsi_hosts, *device.disks)}
