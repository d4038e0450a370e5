"""The links of a drive's chain that are about what is on it: table, file system, mounts, write protection.

Knows facts as values; nothing here reads or writes.
"""

from collections.abc import Mapping, Sequence

from wizard.bus.drive import Contents, Disk, LinkName, LinkState, Volume
from wizard.diagnosis.drive_words import COPY_FIRST, Told, size_words, told

FOREIGN: Mapping[str, str] = {
    # What Linux does not read as it comes: common practice (no source)
    "apfs": "a newer Mac file system",
    "hfs": "an old Mac file system",
    "refs": "a Windows server file system",
    "bitlocker": "a Windows container locked with BitLocker",
}
_LOCKED = frozenset({"luks"})
_NOT_FOR_FILES: Mapping[str, str] = {"swap": "memory swapped out", "lvm": "a part of a volume group"}
_WHY = {
    "permission": "you may not read the drive itself, and the system has noted nothing",
    "vanished": "it left, or its medium was taken out",
    "blocked": "it did not answer in time",
    "failed": "reading it failed",
}


def _unread(contents: Contents | None) -> str | None:
    """Why nothing is known of the contents; None if it is."""
    if contents is None:
        return "nothing tells, for the drive itself was not read"
    return _WHY.get(contents.reason, "it could not be read") if contents.reason is not None else None


def parts_of(disk: Disk) -> Sequence[Volume | Disk]:
    """Where file systems may be: the partitions, or the whole disk."""
    return disk.volumes or (disk,)


def partition_table_link(disk: Disk | None) -> Told:
    """Whether the drive says how it is divided."""
    if disk is None or not disk.bytes_:
        return told("unknown", "There is nothing to look at.")
    contents = disk.contents
    why = _unread(contents)
    if contents is None or why is not None:
        if disk.volumes:
            return told("ok", f"{_partitions(len(disk.volumes))}, as the system reads it.")
        return told("unknown", f"No partition is listed; whether there is a table is not known: {why}.")
    if contents.table is not None:
        return _table(disk, contents)
    if contents.file_system is not None:
        return told("ok", f"None, and none is needed: {contents.file_system} spans the whole drive.")
    if contents.blank:
        return told(
            "fails", "It is empty: where the table should be there are only zeros.",
            f"A new drive has to be set up once, which wipes whatever is on it. {COPY_FIRST}",
        )  # fmt: skip
    return told(
        "fails", "There is neither a table nor a file system that is known here.",
        f"It may be damaged, made for other equipment, or locked. {COPY_FIRST}",
    )  # fmt: skip


def _table(disk: Disk, contents: Contents) -> Told:
    kind = {"mbr": "MBR", "gpt": "GPT"}.get(contents.table or "", contents.table or "")
    if contents.table == "gpt_lost":
        return told(
            "fails", "What is left of the table says that there was a newer one, and that is gone.",
            f"It was overwritten, or the drive was taken out of a case that hid it. {COPY_FIRST}",
        )  # fmt: skip
    if contents.other_sector is not None:
        return told(
            "fails",
            f"The table was made for sectors of {contents.other_sector} bytes; here the drive has {disk.sector}.",
            "The drive was set up in another case or dock that counts in another way: put it back there to "
            "read it. Decline any offer to format it.",
        )  # fmt: skip
    if contents.ends_at is not None and contents.ends_at > (disk.bytes_ or 0):
        return told(
            "fails",
            f"The table reaches to {size_words(contents.ends_at)}, but the drive holds {size_words(disk.bytes_ or 0)}.",
            "The drive gives a wrong size, was cut short when it was copied, or pretends to hold more than it does. "
            + COPY_FIRST,
        )  # fmt: skip
    count = len(disk.volumes) if disk.volumes else contents.partitions
    if count == 0:
        return told(
            "fails", f"There is a table ({kind}), but no partition in it.",
            f"It was never set up, or was wiped. {COPY_FIRST}",
        )  # fmt: skip
    if not disk.volumes:
        return told("unknown", f"There is a table ({kind}), but the system lists no partition of it.")
    return told("ok", f"{_partitions(len(disk.volumes))} ({kind}).")


def file_system_link(disk: Disk | None) -> Told:
    """Whether what is on it can be read by this system."""
    if disk is None or not disk.bytes_:
        return told("unknown", "There is nothing to look at.")
    named = {part.name: part for part in parts_of(disk) if name_of(part) is not None}
    names = {part: name_of(each) or "" for part, each in named.items()}
    shown = ", ".join(f"{name} on {part}" for part, name in names.items())
    short = [part for part in parts_of(disk) if _is_cut_short(part)]
    if short:
        return told(
            "fails", f"The file system on {short[0].name} takes itself to be larger than the partition is.",
            f"It was cut short when it was copied, or the drive gives a wrong size. {COPY_FIRST}",
        )  # fmt: skip
    readable = [part for part in named.values() if not is_foreign(part) and name_of(part) not in _NOT_FOR_FILES]
    if readable:
        return told("ok", f"{shown}.")
    if names:
        kinds = {FOREIGN.get(name) or _NOT_FOR_FILES.get(name, name) for name in names.values()}
        return told(
            "fails", f"There is {' and '.join(sorted(kinds))} ({shown}), which this system does not read as it comes.",
            "The drive may be perfectly well: read it on the system it was made for. Decline any offer to format it.",
        )  # fmt: skip
    return _no_file_system(disk)


def _no_file_system(disk: Disk) -> Told:
    reasons = [_unread(part.contents) for part in parts_of(disk)]
    if all(reasons):
        return told("unknown", f"Not known: {reasons[0]}.")
    if all(part.contents is not None and part.contents.blank for part in parts_of(disk)):
        return told("fails", "There is none: where it should begin there are only zeros.", COPY_FIRST)
    return told(
        "fails", "There is none that is known here.",
        f"It may be damaged, made for other equipment, or locked. {COPY_FIRST}",
    )  # fmt: skip


def name_of(part: Volume | Disk) -> str | None:
    """The file system of a partition: as mounted, or as it looks."""
    if part.contents is not None and part.contents.file_system is not None:
        return part.contents.file_system
    return part.mounts[0].file_system if part.mounts else None


def is_foreign(part: Volume | Disk) -> bool:
    """Whether this system does not read the file system as it comes: by what the system says, else by the name."""
    if part.mounts or (part.contents is not None and part.contents.readable is not None):
        return not part.mounts and part.contents is not None and part.contents.readable is False
    return name_of(part) in FOREIGN


def _is_cut_short(part: Volume | Disk) -> bool:
    claims = part.contents.claims if part.contents is not None else None
    return claims is not None and part.bytes_ is not None and claims > part.bytes_


def mounted_link(disk: Disk | None, mounts_known: bool) -> Told:
    """Whether the files can be reached."""
    if disk is None or not disk.bytes_:
        return told("unknown", "There is nothing to look at.")
    mounts = [mount for part in parts_of(disk) for mount in part.mounts]
    if mounts:
        return told("ok", f"Its files are at {', '.join(sorted({m.where for m in mounts})[:4])}.")
    if not mounts_known:
        return told("unknown", "What is mounted is not told here.")
    locked = [part.name for part in parts_of(disk) if name_of(part) in _LOCKED and not part.holders]
    if locked:
        return told("fails", f"{locked[0]} is locked.", "Open it with its password in the file manager.")
    follows = "Open it in the file manager. If that is refused, the links above tell why."
    if file_system_link(disk).state == "unknown":
        follows = "Why can't be told here, because what is on it could not be read."
    return told("fails", "It is not mounted, so no program sees its files.", follows, "filesystem_error")


def read_only_link(disk: Disk | None) -> Told:
    """Whether it may be written to."""
    if disk is None:
        return told("unknown", "There is nothing to look at.")
    if disk.read_only:
        return told(
            "fails", "It is write-protected: the drive itself says so.",
            f"Look for a small slider on it. Without one, a memory that turns read-only is dying. {COPY_FIRST}",
            "filesystem_error",
        )  # fmt: skip
    mounts = [mount for part in parts_of(disk) for mount in part.mounts]
    if mounts and all(mount.read_only for mount in mounts):
        return told(
            "fails",
            "It is mounted for reading only."
            if disk.read_only is None
            else "It may be written to, but is mounted for reading only.",
            "The system does so after errors of the file system, or because it was told to. Look at the errors below.",
            "filesystem_error",
        )  # fmt: skip
    if disk.read_only is None and not any(mount.read_only is False for mount in mounts):
        return told("unknown", "The system does not tell.")
    return told("ok", "It may be written to.")


def volume_observation(disk: Disk | None, states: Mapping[LinkName, LinkState]) -> str | None:
    """What disk management would show; None where that is not known."""
    if states["driver"] != "ok":
        return None
    if disk is None or disk.bytes_ == 0:
        return "no_disk"
    if states["block_device"] == "fails":
        return "offline"
    if states["size"] == "fails":
        return "raw_or_wrong_size"
    if states["partition_table"] == "fails":
        return "no_partition" if _is_bare(disk) else "raw_or_wrong_size"
    if states["file_system"] == "fails":
        foreign = any(is_foreign(part) for part in parts_of(disk))
        return "foreign_filesystem" if foreign else "raw_or_wrong_size"
    if states["mounted"] == "ok":
        return "fine"
    # Only a file system that is known can be called healthy and merely out of reach.
    return "no_letter" if states["mounted"] == "fails" and states["file_system"] == "ok" else None


def _is_bare(disk: Disk) -> bool:
    """Neither a table nor anything that looks like one: what is called 'not initialised'."""
    contents = disk.contents
    return contents is not None and (contents.table is None or (contents.table == "mbr" and contents.partitions == 0))


def _partitions(count: int) -> str:
    return "1 partition" if count == 1 else f"{count} partitions"
