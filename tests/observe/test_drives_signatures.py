"""Crafted disks, byte by byte by the published layouts that `drives_signatures` cites."""

import struct

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wizard.bus.drive import Contents
from wizard.observe.drives_signatures import ReadBytes, contents_of

MIB = 1 << 20


class Image:
    """A disk of zeros with some bytes written onto it."""

    def __init__(self, size: int = 8 * MIB) -> None:
        self._bytes = bytearray(size)

    def write(self, offset: int, data: bytes) -> "Image":
        self._bytes[offset : offset + len(data)] = data
        return self

    def read(self, offset: int, length: int) -> bytes:
        return bytes(self._bytes[offset : offset + length])


def mbr(*partitions: tuple[int, int, int]) -> bytes:
    """UEFI 2.10 §5.2.1, from the entries at 446 on: type, first sector, sectors."""
    entries = b"".join(struct.pack("<B3xB3xII", 0, kind, first, count) for kind, first, count in partitions)
    return entries.ljust(64, b"\0") + b"\x55\xaa"


def gpt(last_sector: int, used: int) -> tuple[bytes, bytes]:
    """Header and entries: UEFI 2.10 §5.3.2 and §5.3.3; the check sums are not looked at."""
    header = b"EFI PART" + bytes(16) + struct.pack("<QQ", 1, last_sector) + bytes(32) + struct.pack("<QII", 2, 128, 128)
    return header, (b"\x01" * 16 + bytes(112)) * used


def fat(word: bytes, at: int, sectors: int) -> bytes:
    """Microsoft FAT specification: BPB_BytsPerSec 11, BPB_SecPerClus 13, BPB_NumFATs 16, BPB_TotSec32 32."""
    boot = bytearray(512)
    boot[0:3] = b"\xeb\x3c\x90"
    struct.pack_into("<HB", boot, 11, 512, 4)
    boot[16] = 2
    struct.pack_into("<I", boot, 32, sectors)
    boot[at : at + 8] = word
    boot[510:512] = b"\x55\xaa"
    return bytes(boot)


def ext(incompatible: int, compatible: int, blocks: int) -> bytes:
    """Kernel handbook, filesystems/ext4: from the superblock at 1024 on; blocks of 1024 bytes."""
    block = bytearray(0x68)
    struct.pack_into("<I", block, 4, blocks)
    block[0x38:0x3A] = b"\x53\xef"
    struct.pack_into("<II", block, 0x5C, compatible, incompatible)
    return bytes(block)


def test_an_empty_disk_is_blank() -> None:
    assert contents_of(Image().read) == Contents(blank=True)


def test_noise_is_neither_blank_nor_anything_known() -> None:
    found = contents_of(Image().write(0, b"\xa5\x5a\x11" * 4000).read)
    assert (found.blank, found.table, found.file_system) == (False, None, None)


def test_a_disk_that_begins_with_zeros_but_holds_something_later_is_not_blank() -> None:
    assert not contents_of(Image().write(MIB, b"x").read).blank


def test_a_table_of_the_old_kind_lists_its_partitions_and_where_they_end() -> None:
    found = contents_of(Image().write(446, mbr((0x83, 2048, 4096), (0x07, 6144, 2048))).read)
    assert (found.table, found.partitions, found.ends_at) == ("mbr", 2, 8192 * 512)


def test_a_table_without_partitions_is_still_a_table() -> None:
    assert contents_of(Image().write(446, mbr()).read) == Contents(table="mbr", partitions=0)


def test_a_table_of_the_newer_kind_says_how_large_its_disk_was() -> None:
    header, entries = gpt(last_sector=16383, used=3)
    image = Image().write(446, mbr((0xEE, 1, 16383))).write(512, header).write(1024, entries)
    found = contents_of(image.read)
    assert (found.table, found.partitions, found.ends_at, found.other_sector) == ("gpt", 3, 16384 * 512, None)


def test_a_table_made_for_other_sectors_is_told() -> None:
    header, entries = gpt(last_sector=2047, used=1)
    image = Image().write(446, mbr((0xEE, 1, 2047))).write(4096, header).write(8192, entries)
    found = contents_of(image.read, sector=512)
    assert (found.table, found.partitions, found.other_sector) == ("gpt", 1, 4096)


def test_a_mark_of_a_newer_table_that_is_gone_is_told() -> None:
    assert contents_of(Image().write(446, mbr((0xEE, 1, 16383))).read).table == "gpt_lost"


@pytest.mark.parametrize(
    ("name", "offset", "magic"),
    [
        ("luks", 0, b"LUKS\xba\xbe\x00\x02"),
        ("bitlocker", 3, b"-FVE-FS-"),
        ("ntfs", 3, b"NTFS    "),
        ("exfat", 3, b"EXFAT   "),
        ("xfs", 0, b"XFSB"),
        ("apfs", 32, b"NXSB"),
        ("hfsplus", 1024, b"H+\x00\x04"),
        ("hfsplus", 1024, b"HX\x00\x05"),
        ("hfs", 1024, b"BD"),
        ("btrfs", 65536 + 64, b"_BHRfS_M"),
        ("iso9660", 32769, b"CD001"),
        ("f2fs", 1024, b"\x10\x20\xf5\xf2"),
        ("swap", 4096 - 10, b"SWAPSPACE2"),
        ("lvm", 512 + 24, b"LVM2 001"),
    ],
)
def test_a_file_system_is_known_by_its_published_mark(name: str, offset: int, magic: bytes) -> None:
    assert contents_of(Image().write(offset, magic).read, whole_disk=False).file_system == name


@pytest.mark.parametrize(("word", "at"), [(b"FAT12   ", 54), (b"FAT16   ", 54), (b"FAT32   ", 82)])
def test_fat_is_no_table_though_it_ends_like_one(word: bytes, at: int) -> None:
    found = contents_of(Image().write(0, fat(word, at, 16384)).read)
    assert (found.table, found.file_system, found.claims) == (None, "fat", 16384 * 512)


def test_the_words_alone_do_not_make_a_fat() -> None:
    assert contents_of(Image().write(82, b"FAT32   ").read).file_system is None


@pytest.mark.parametrize(
    ("incompatible", "compatible", "name"), [(0x42, 0x4, "ext4"), (0x2, 0x4, "ext3"), (0x2, 0, "ext2")]
)
def test_ext_is_told_by_its_features_and_says_how_large_it_is(incompatible: int, compatible: int, name: str) -> None:
    found = contents_of(Image().write(1024, ext(incompatible, compatible, 7168)).read, whole_disk=False)
    assert (found.file_system, found.claims) == (name, 7168 * 1024)


def test_an_installer_image_is_a_file_system_and_has_a_table() -> None:
    found = contents_of(Image().write(446, mbr((0x17, 0, 4096))).write(32769, b"CD001").read)
    assert (found.table, found.file_system) == ("mbr", "iso9660")


def test_a_read_that_fails_is_not_swallowed() -> None:
    def fails(_offset: int, _length: int) -> bytes:
        raise OSError(5, "Input/output error")

    with pytest.raises(OSError, match="Input/output"):
        contents_of(fails)


def _reader(head: bytes, later: bytes) -> ReadBytes:
    def read(offset: int, length: int) -> bytes:
        assert length <= 1 << 20, "a look reads a little, whatever the disk says of itself"
        return (head[offset:] + later)[:length] if offset < len(head) else later[:length]

    return read


@given(st.binary(max_size=600), st.binary(max_size=600), st.sampled_from([512, 4096]), st.booleans(), st.booleans())
def test_any_bytes_are_looked_at_without_harm(
    head: bytes, later: bytes, sector: int, whole_disk: bool, marked: bool
) -> None:
    start = head.ljust(510, b"\x80")[:510] + b"\x55\xaaEFI PART" if marked else head
    contents_of(_reader(start, later), sector, whole_disk)
