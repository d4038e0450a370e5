"""Windows' disks, partitions and volumes, read from records: on which bus, offline or read-only, with which letters.

Numbers and words as Microsoft documents MSFT_Disk, MSFT_Partition, MSFT_Volume, Win32_DiskDrive and
Win32_LogicalDisk; PowerShell prints words, CIM numbers.
"""

from dataclasses import dataclass

from wizard.observe.exports.records import Record
from wizard.observe.words import clean

_BUSES = {7: "usb", 11: "sata", 17: "nvme", 12: "sd", 3: "ata", 1: "scsi", 8: "raid", 10: "sas", 15: "virtual"}
_BASIC_DATA = "ebd0a0a2-b9e5-4433-87c0-68b6b72699c7"
_MBR_DATA = (0x01, 0x04, 0x06, 0x07, 0x0B, 0x0C, 0x0E)
_STYLES = {0: "raw", 1: "mbr", 2: "gpt"}
OFFLINE_REASONS = {
    1: "by policy",
    2: "it is reached another way",
    3: "it is a snapshot",
    4: "another disk has the same identity",
    5: "resources ran out",
    6: "writing failed badly",
    7: "its data must be checked first",
}
"""MSFT_Disk.OfflineReason, in our words."""


@dataclass(frozen=True)
class WinDisk:
    """One disk. `bus` in lower case (`usb`), `style` raw, mbr or gpt; None where not told. `reason` is the number of
    the offline reason."""

    number: int
    line: int = 0
    name: str | None = None
    bus: str | None = None
    style: str | None = None
    size: int | None = None
    offline: bool | None = None
    reason: int | None = None
    read_only: bool | None = None
    partitions: int | None = None
    instance_id: str | None = None
    failing: bool = False


@dataclass(frozen=True)
class WinVolume:
    """A partition or volume: its disk if told, its letter without colon, file system, and what Windows says of it.
    `for_people` is a partition meant to hold files, which Windows gives a letter. `paths` are the places it is reached
    at, Windows' own names of volumes among them, which join a partition to its volume."""

    line: int = 0
    disk: int | None = None
    number: int | None = None
    letter: str | None = None
    file_system: str | None = None
    size: int | None = None
    read_only: bool | None = None
    hidden: bool | None = None
    repair: str | None = None
    kind: str | None = None
    for_people: bool = False
    paths: tuple[str, ...] = ()


def disk_in(record: Record, line: int = 0) -> WinDisk | None:
    """The disk a record describes (MSFT_Disk or Win32_DiskDrive); None if it describes none."""
    style = record.text("partitionstyle")
    drive = record.text("deviceid", "name") or ""
    physical = drive.upper().startswith("\\\\.\\PHYSICALDRIVE")
    listed = "bustype" in record and (style is not None or "mediatype" in record or "isoffline" in record)
    if not physical and not listed:
        return None
    number = record.number("number", "disknumber", "index", *(() if physical else ("deviceid",)))
    if number is None and physical:
        digits = drive[17:]
        number = int(digits) if digits.isascii() and digits.isdigit() and len(digits) < 5 else None
    if number is None:
        return None
    return WinDisk(
        number=number,
        line=line,
        name=_clean(record.text("friendlyname", "model", "caption")),
        bus=_bus(record),
        style=_style(style),
        size=record.number("size"),
        offline=record.flag("isoffline"),
        reason=_reason(record),
        read_only=record.flag("isreadonly"),
        partitions=record.number("numberofpartitions", "partitions"),
        instance_id=_clean((record.text("pnpdeviceid") or "").replace("&amp;", "&")),
        failing=(record.text("status") or "").lower() in ("pred fail", "error")
        or (record.text("healthstatus") or "").lower() in ("unhealthy", "failing"),
    )


def volume_in(record: Record, line: int = 0) -> WinVolume | None:
    """The partition or volume a record describes; None if it describes none."""
    partition = "partitionnumber" in record and ("disknumber" in record or "offset" in record)
    volume = "drivetype" in record or "filesystemtype" in record or "filesystemlabel" in record
    if not partition and not volume:
        return None
    letter = (record.text("driveletter") or record.text("deviceid", "name") or "").strip("\0 :").upper()
    state = clean(record.text("operationalstatus") or "")
    return WinVolume(
        line=line,
        disk=record.number("disknumber"),
        number=record.number("partitionnumber"),
        letter=letter if len(letter) == 1 and letter.isalpha() else None,
        file_system=_clean(record.text("filesystem", "filesystemtype")),
        size=record.number("size"),
        read_only=record.flag("isreadonly"),
        hidden=record.flag("ishidden"),
        repair=state if "repair" in state.lower() or "scan needed" in state.lower() or "fix" in state.lower() else None,
        kind=_clean(record.text("drivetype")),
        for_people=partition and _for_people(record),
        paths=tuple(clean(path) for path in (*record.texts("accesspaths"), *record.texts("path"))),
    )


def _for_people(record: Record) -> bool:
    """By the type: GPT's basic data (Microsoft, PARTITION_INFORMATION_GPT), or MBR's FAT and NTFS types."""
    gpt = (record.text("gpttype") or "").strip("{}").lower()
    return gpt == _BASIC_DATA or record.number("mbrtype") in _MBR_DATA or record.text("type") in ("Basic", "IFS")


def _clean(text: str | None) -> str | None:
    return clean(text) or None if text else None


def _bus(record: Record) -> str | None:
    told = record.number("bustype")
    if told is not None:
        return _BUSES.get(told)
    word = record.text("bustype")
    if word:
        return word.lower()
    # Win32_DiskDrive says SCSI for a drive that talks UAS: then the bus is not told.
    return "usb" if (record.text("interfacetype") or "").upper() == "USB" else None


def _style(told: str | None) -> str | None:
    if told is None:
        return None
    return _STYLES.get(int(told)) if told.isascii() and told.isdigit() and len(told) < 3 else told.lower()


def _reason(record: Record) -> int | None:
    number = record.number("offlinereason")
    if number is not None:
        return number
    word = (record.text("offlinereason") or "").lower()
    words = {"policy": 1, "redundant path": 2, "snapshot": 3, "collision": 4, "resource exhaustion": 5}
    return words.get(word)
