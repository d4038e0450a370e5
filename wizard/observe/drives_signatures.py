"""What the first bytes of a disk or partition are: a partition table, a file system, nothing. Knows bytes only.

Offsets are published, each with its source; a signature says what somebody once wrote, not that it is whole. Every
read is small, and there are few.
"""

from collections.abc import Callable
from dataclasses import dataclass

from wizard.bus.drive import Contents

ReadBytes = Callable[[int, int], bytes]
"""`read(offset, length)` gives at most `length` bytes, fewer at the end. Raises OSError."""

_HEAD = 4096
_SUPER_SECTORS = (512, 4096)  # sizes of a logical sector in use: from memory
_MBR_MAGIC = b"\x55\xaa"  # at 510: UEFI 2.10 §5.2.1
_MBR_FIRST, _MBR_ENTRY = 446, 16
_PROTECTIVE = 0xEE  # UEFI 2.10 §5.2.3
_EXTENDED = frozenset([0x05, 0x0F, 0x85])  # from memory

_MAGICS: tuple[tuple[str, int, bytes], ...] = (
    ("luks", 0, b"LUKS\xba\xbe"),  # LUKS2 On-Disk Format, §2.1
    ("bitlocker", 3, b"-FVE-FS-"),  # from memory
    ("ntfs", 3, b"NTFS    "),  # Microsoft, 'How NTFS works': OEM ID of the boot sector
    ("exfat", 3, b"EXFAT   "),  # Microsoft exFAT specification §3.1.2
    ("refs", 3, b"ReFS\0\0\0\0"),  # from memory
    ("xfs", 0, b"XFSB"),  # XFS Filesystem Structure, 'Superblocks'
    ("squashfs", 0, b"hsqs"),  # kernel handbook, filesystems/squashfs, and from memory
    ("fat", 82, b"FAT32   "),  # Microsoft FAT specification, BS_FilSysType
    ("fat", 54, b"FAT16   "),
    ("fat", 54, b"FAT12   "),
    ("fat", 54, b"FAT     "),
    ("apfs", 32, b"NXSB"),  # Apple File System Reference, nx_superblock_t
    ("lvm", 536, b"LVM2 001"),  # label in sector 1, type at 24: from memory
    ("ext", 1080, b"\x53\xef"),  # kernel handbook, filesystems/ext4: s_magic at 0x38 of the block at 1024
    ("hfsplus", 1024, b"H+"),  # Apple TN1150, Volume Header
    ("hfsplus", 1024, b"HX"),
    ("hfs", 1024, b"BD"),  # Inside Macintosh: Files, Master Directory Block
    ("f2fs", 1024, b"\x10\x20\xf5\xf2"),  # kernel handbook, filesystems/f2fs, and from memory
    ("swap", 4086, b"SWAPSPACE2"),  # man 8 mkswap, page of 4096 bytes
    ("iso9660", 32769, b"CD001"),  # ECMA-119 §8.1.2
    ("udf", 38913, b"NSR0"),  # ECMA-167 3/9.1, the usual place: from memory
    ("btrfs", 65600, b"_BHRfS_M"),  # btrfs on-disk format: superblock at 64 KiB, magic at 64
)


@dataclass(frozen=True)
class _Head:
    """The first bytes, and a way to more."""

    first: bytes
    read: ReadBytes

    def at(self, offset: int, length: int) -> bytes:
        end = offset + length
        return self.first[offset:end] if end <= len(self.first) else self.read(offset, length)

    def number(self, offset: int, length: int) -> int:
        return int.from_bytes(self.at(offset, length), "little")


def contents_of(read: ReadBytes, sector: int = 512, whole_disk: bool = True) -> Contents:
    """Look at a disk, or at a partition. Raises OSError if a read fails."""
    head = _Head(read(0, _HEAD), read)
    file_system = _file_system(head)
    table = _table(head, sector) if whole_disk and file_system not in ("fat", "ntfs", "exfat") else None
    if table is not None:
        # An installer's image is a file system and has a table: both are told.
        return table.model_copy(update={"file_system": file_system if file_system in ("iso9660", "udf") else None})
    if file_system is not None:
        return Contents(file_system=file_system, claims=_claims(file_system, head))
    return Contents(blank=not any(head.first) and not any(read(1 << 20, _HEAD)))


def _file_system(head: _Head) -> str | None:
    for name, offset, magic in _MAGICS:
        if head.at(offset, len(magic)) == magic and (name != "fat" or _is_fat(head)):
            return _which_ext(head) if name == "ext" else name
    return None


def _is_fat(head: _Head) -> bool:
    """The words are only informational: the figures of the boot sector must make sense, too (BPB_BytsPerSec,
    BPB_SecPerClus, BPB_NumFATs: Microsoft FAT specification)."""
    per_sector, per_cluster, tables = head.number(11, 2), head.number(13, 1), head.number(16, 1)
    return per_sector in (512, 1024, 2048, 4096) and per_cluster.bit_count() == 1 and tables in (1, 2)


def _which_ext(head: _Head) -> str:
    """ext4 has extents (INCOMPAT 0x40) or 64 bits (0x80), ext3 a journal (COMPAT 0x4): kernel handbook,
    filesystems/ext4, s_feature_compat at 0x5C and s_feature_incompat at 0x60."""
    if head.number(1024 + 0x60, 4) & 0xC0:
        return "ext4"
    return "ext3" if head.number(1024 + 0x5C, 4) & 0x4 else "ext2"


def _claims(name: str, head: _Head) -> int | None:
    """How many bytes the file system takes itself to have."""
    if name.startswith("ext"):  # s_blocks_count_lo at 0x4, s_log_block_size at 0x18
        return head.number(1024 + 4, 4) << (10 + min(head.number(1024 + 0x18, 4), 6))
    if name == "ntfs":  # total sectors at 0x28, bytes per sector at 0x0B
        return head.number(0x28, 8) * head.number(0x0B, 2)
    if name == "exfat":  # VolumeLength at 72, BytesPerSectorShift at 108: exFAT specification §3.1
        return head.number(72, 8) << min(head.number(108, 1), 12)
    if name == "fat":  # BPB_TotSec16 at 19, BPB_TotSec32 at 32
        return (head.number(19, 2) or head.number(32, 4)) * head.number(11, 2)
    return None


def _table(head: _Head, sector: int) -> Contents | None:
    for size in (sector, *(s for s in _SUPER_SECTORS if s != sector)):
        if head.at(size, 8) == b"EFI PART":  # in the second sector: UEFI 2.10 §5.3.2
            return _gpt(head, size, sector)
    return _mbr(head, sector) if head.at(510, 2) == _MBR_MAGIC else None


def _gpt(head: _Head, size: int, sector: int) -> Contents:
    """AlternateLBA at 32, the last sector of the disk it was made on; entries at 72, their number at 80 and size at
    84; an entry begins with its type, all zero if unused, and has its last sector at 40: UEFI 2.10 §5.3.2, §5.3.3."""
    first, count, length = head.number(size + 72, 8), head.number(size + 80, 4), head.number(size + 84, 4)
    used = None
    if 128 <= length <= 4096 and 0 < first < 1 << 32:
        raw = head.read(first * size, min(count, 128) * length)
        used = sum(any(raw[at : at + 16]) for at in range(0, len(raw), length))
    return Contents(
        table="gpt",
        partitions=used,
        ends_at=(head.number(size + 32, 8) + 1) * size,
        other_sector=size if size != sector else None,
    )


def _mbr(head: _Head, sector: int) -> Contents | None:
    """Four entries: boot mark at 0 (0 or 0x80), type at 4, first sector at 8, length at 12: UEFI 2.10 §5.2.1."""
    entries = [head.at(_MBR_FIRST + n * _MBR_ENTRY, _MBR_ENTRY) for n in range(4)]
    if any(entry[0] not in (0, 0x80) for entry in entries):
        return None  # these bytes are code of a boot sector
    used = [entry for entry in entries if entry[4] and int.from_bytes(entry[12:16], "little")]
    ends = [int.from_bytes(e[8:12], "little") + int.from_bytes(e[12:16], "little") for e in used]
    if any(entry[4] == _PROTECTIVE for entry in used):
        return Contents(table="gpt_lost", partitions=0)  # it says there is a GPT, and there is none
    # An extended entry holds more; how many is the system's to count.
    count = None if any(entry[4] in _EXTENDED for entry in used) else len(used)
    return Contents(table="mbr", partitions=count, ends_at=max(ends) * sector if ends else None)
