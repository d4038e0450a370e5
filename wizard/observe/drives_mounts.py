"""What the system has noted about disks: where they are mounted, and what its helper found on them when they came.

Knows the table of mounts (man 5 proc, /proc/pid/mountinfo) and udev's notes (`/run/udev/data`, written by
systemd-udevd: their form is from memory).
"""

import re
from collections.abc import Mapping

from wizard.bus.drive import Contents, Mount
from wizard.observe.sysfs.tree import Tree, read_one

Mounted = Mapping[str, tuple[Mount, ...]]
"""Mounts by the number of their device (`8:1`) and by its path (`/dev/sda1`)."""

_LONGEST = 4 * 1024 * 1024
_ESCAPE = re.compile(r"\\([0-7]{3})")
_TABLES = {"dos": "mbr", "gpt": "gpt"}
_NAMES = {
    # What blkid calls them, in the words used here: man 8 blkid, and from memory
    "vfat": "fat",
    "crypto_LUKS": "luks",
    "LVM2_member": "lvm",
    "BitLocker": "bitlocker",
    "ReFS": "refs",
}


def read_mounts(tree: Tree) -> Mounted | None:
    """All mounts; None where the table can't be read, as in a capture without it."""
    reading = read_one(tree, "proc/self/mountinfo", _LONGEST)
    if not isinstance(reading, bytes):
        return None
    found: dict[str, tuple[Mount, ...]] = {}
    for line in reading.decode("utf-8", errors="replace").splitlines():
        parsed = _mount(line)
        if parsed is not None:
            key, mount = parsed
            found[key] = (*found.get(key, ()), mount)
    return found


def _mount(line: str) -> tuple[str, Mount] | None:
    """`36 35 98:0 /root /where options … - ext4 /dev/sda1 options`; blanks are written as octal numbers."""
    left, dash, right = line.partition(" - ")
    before, after = left.split(" "), right.split(" ")
    if not dash or len(before) < 6 or len(after) < 3:
        return None
    options = {*before[5].split(","), *after[2].split(",")}
    where = _ESCAPE.sub(lambda found: chr(int(found[1], 8)), before[4])
    mount = Mount(where=where[:500], file_system=after[0][:60], read_only="ro" in options)
    # Some file systems (btrfs) give a number of their own that no disk has; then only the path tells.
    key = after[1] if before[2].startswith("0:") and after[1].startswith("/dev/") else before[2]
    return key, mount


def noted_contents(tree: Tree, number: str) -> Contents | None:
    """What udev noted of the block device `8:1`; None if it has no note of its contents."""
    reading = read_one(tree, f"run/udev/data/b{number}", _LONGEST)
    if not isinstance(reading, bytes):
        return None
    values: dict[str, str] = {}
    for line in reading.decode("utf-8", errors="replace").splitlines():
        if line.startswith("E:"):
            name, _, value = line[2:].partition("=")
            values[name] = value
    if "ID_FS_TYPE" not in values and "ID_PART_TABLE_TYPE" not in values:
        # Notes without either: its helper looked and knew nothing, or never looked. That is no knowledge.
        return None
    system = values.get("ID_FS_TYPE")
    table = values.get("ID_PART_TABLE_TYPE")
    return Contents(
        table=_TABLES.get(table, table) if table else None,
        file_system=_NAMES.get(system, system) if system else None,
        source="system",
    )
