"""The facts about a drive from trees of files: captured from a real kernel, and made up for what that does not hold."""

import os
from pathlib import Path

import pytest

from wizard.bus.drive import Contents
from wizard.observe.drives import device_of_block, read_drive
from wizard.observe.drives_blocks import read_block
from wizard.observe.drives_mounts import noted_contents, read_mounts
from wizard.observe.sysfs.archive import open_archive
from wizard.observe.sysfs.disk import DiskTree

CAPTURE = Path(__file__).parent.parent / "reference" / "captures" / "storage.tar.gz"
CARD = "sys/devices/platform/loggers/usb1/1-2"


@pytest.fixture
def card(tmp_path: Path) -> Path:
    """One stick of 16 MB with one partition, invented."""
    device = tmp_path / CARD
    disk = device / "1-2:1.0/host3/target3:0:0/3:0:0:0/block/sdb"
    files = {
        device.parent / "speed": "480", device / "speed": "480", device / "authorized": "1",
        device / "1-2:1.0/bInterfaceClass": "08", disk / "size": "32768", disk / "removable": "1", disk / "ro": "0",
        disk / "dev": "8:16", disk / "queue/logical_block_size": "512", disk / "sdb1/partition": "1",
        disk / "sdb1/size": "30720", disk / "sdb1/start": "2048", disk / "sdb1/ro": "0", disk / "sdb1/dev": "8:17",
        disk.parent.parent / "state": "running", disk.parent.parent / "iorequest_cnt": "0x4f",
        disk.parent.parent / "ioerr_cnt": "0x1",
    }  # fmt: skip
    for path, text in files.items():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text + "\n")
    (device / "1-2:1.0/driver").symlink_to("../../../../../../bus/usb/drivers/usb-storage")
    listing = tmp_path / "sys/bus/usb/devices"
    listing.mkdir(parents=True)
    for name, path in (("usb1", device.parent), ("1-2", device), ("1-2:1.0", device / "1-2:1.0")):
        (listing / name).symlink_to(os.path.relpath(path, listing))
    blocks = tmp_path / "sys/class/block"
    blocks.mkdir(parents=True)
    (blocks / "sdb1").symlink_to(os.path.relpath(disk / "sdb1", blocks))
    return tmp_path


def written(root: Path, path: str, text: str) -> DiskTree:
    (root / path).parent.mkdir(parents=True, exist_ok=True)
    (root / path).write_text(text)
    return DiskTree(root)


def test_the_drives_of_the_lab_are_read_from_their_capture() -> None:
    """The topology of that capture: eight drives, the fifth write-protected, the last one on uas."""
    tree = open_archive(CAPTURE, lambda: None)
    drives = [read_drive(tree, f"2-{port}") for port in range(1, 9)]
    assert [d.drivers for d in drives] == [("usb-storage",)] * 7 + [("uas",)]
    assert [d.disks[0].bytes_ for d in drives] == [8 << 20] * 7 + [16 << 20]
    assert [d.disks[0].read_only for d in drives] == [False] * 4 + [True] + [False] * 3
    assert [len(d.disks[0].volumes) for d in drives] == [0, 0, 1, 1, 1, 1, 1, 1]
    assert not any(d.mounts_known for d in drives)
    assert device_of_block(tree, "sdg1") == "2-6"


def test_what_is_not_there_is_not_present() -> None:
    assert not read_drive(open_archive(CAPTURE, lambda: None), "7-7").present


def test_a_stick_is_read_from_bus_to_partition(card: Path) -> None:
    facts = read_drive(DiskTree(card), "1-2")
    (disk,) = facts.disks
    assert (facts.is_storage, facts.drivers, facts.hosts) == (True, ("usb-storage",), ("host3",))
    assert (disk.name, disk.scsi, disk.bytes_, disk.requests, disk.failures) == ("sdb", "3:0:0:0", 16 << 20, 79, 1)
    assert [(v.name, v.bytes_, v.start) for v in disk.volumes] == [("sdb1", 15 << 20, 1 << 20)]


MOUNTS = (
    "22 1 8:2 / / rw,relatime - ext4 /dev/sda2 rw\n"
    "90 22 8:17 / /media/pier/field\\040log ro,nosuid shared:1 - vfat /dev/sdb1 rw\n"
    "91 22 0:44 / /run/x rw - tmpfs tmpfs rw\n"
    "a line that is no mount\n"
)


def test_mounts_are_found_by_the_number_of_the_partition(card: Path) -> None:
    facts = read_drive(written(card, "proc/self/mountinfo", MOUNTS), "1-2")
    (mount,) = facts.disks[0].volumes[0].mounts
    assert (mount.where, mount.file_system, mount.read_only) == ("/media/pier/field log", "vfat", True)
    assert facts.mounts_known


def test_a_mount_with_a_number_of_its_own_is_found_by_its_path(card: Path) -> None:
    tree = written(card, "proc/self/mountinfo", "90 22 0:51 / /media/archive rw - btrfs /dev/sdb1 rw\n")
    assert read_drive(tree, "1-2").disks[0].volumes[0].mounts[0].where == "/media/archive"


def test_a_locked_container_that_was_opened_is_mounted_through_it(card: Path) -> None:
    partition = card / CARD / "1-2:1.0/host3/target3:0:0/3:0:0:0/block/sdb/sdb1"
    (partition / "holders/dm-0").mkdir(parents=True)
    written(card, "sys/class/block/dm-0/dev", "253:0\n")
    tree = written(card, "proc/self/mountinfo", "9 1 253:0 / /media/safe rw - ext4 /dev/mapper/luks-1 rw\n")
    assert read_drive(tree, "1-2").disks[0].volumes[0].mounts[0].where == "/media/safe"


def test_a_long_table_of_mounts_is_read_to_its_end(tmp_path: Path) -> None:
    lines = "".join(f"{n} 1 0:{n} / /somewhere/{n:0200d} rw - tmpfs tmpfs rw\n" for n in range(500))
    mounts = read_mounts(written(tmp_path, "proc/self/mountinfo", lines + MOUNTS))
    assert mounts is not None
    assert "8:17" in mounts


def test_what_udev_noted_stands_in_for_what_may_not_be_read(card: Path) -> None:
    tree = written(card, "run/udev/data/b8:17", "S:disk/by-uuid/1\nE:ID_FS_TYPE=vfat\nE:ID_FS_USAGE=filesystem\n")

    def refused(_name: str, _number: str, _sector: int, _whole: bool) -> Contents:
        return Contents(reason="permission")

    contents = read_drive(tree, "1-2", refused).disks[0].volumes[0].contents
    assert contents == Contents(file_system="fat", source="system")


def test_notes_from_better_days_do_not_stand_in_for_a_read_that_failed(card: Path) -> None:
    tree = written(card, "run/udev/data/b8:17", "E:ID_FS_TYPE=vfat\n")

    def fails(_name: str, _number: str, _sector: int, _whole: bool) -> Contents:
        return Contents(reason="failed")

    assert read_drive(tree, "1-2", fails).disks[0].volumes[0].contents == Contents(reason="failed")


def test_after_one_read_that_never_came_back_no_other_is_tried(card: Path) -> None:
    tried = []

    def hangs(name: str, _number: str, _sector: int, _whole: bool) -> Contents:
        tried.append(name)
        return Contents(reason="blocked")

    read_drive(DiskTree(card), "1-2", hangs)
    assert tried == ["sdb"]


def test_notes_without_contents_are_no_knowledge(tmp_path: Path) -> None:
    assert noted_contents(written(tmp_path, "run/udev/data/b8:0", "E:ID_SERIAL=X\n"), "8:0") is None


def test_a_drive_that_leaves_while_it_is_read_is_told(card: Path) -> None:
    def leaves(_name: str, _number: str, _sector: int, _whole: bool) -> Contents:
        if (card / CARD).exists():
            (card / CARD).rename(card / "gone")
        return Contents(reason="vanished")

    assert read_drive(DiskTree(card), "1-2", leaves).vanished


def test_only_the_block_device_of_that_number_is_read(tmp_path: Path) -> None:
    """A name may be another's by now; and in /dev there may be anything."""
    (tmp_path / "sdb").write_bytes(b"LUKS\xba\xbe" + bytes(9000))
    (tmp_path / "sdc").symlink_to(tmp_path / "sdb")
    assert read_block("sdb", "8:16", 512, True, tmp_path).reason == "vanished"
    assert read_block("sdc", "8:32", 512, True, tmp_path).reason is not None
    assert read_block("sdd", "8:48", 512, True, tmp_path).reason == "vanished"


@pytest.mark.skipif(os.name == "nt", reason="pipes with names are Unix's")
def test_a_node_that_would_block_does_not(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "sdb")
    assert read_block("sdb", "8:16", 512, True, tmp_path).reason == "vanished"


@pytest.mark.parametrize("hostile", ["", "\xff\xfe", "1 2 3", " - ", "E:", "E:ID_FS_TYPE", "9" * 5000])
def test_hostile_notes_and_mounts_harm_nothing(card: Path, hostile: str) -> None:
    written(card, "run/udev/data/b8:16", hostile)
    read_drive(written(card, "proc/self/mountinfo", hostile), "1-2")
