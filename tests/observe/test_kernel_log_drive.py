"""Which complaints about drives count: only those about drives on USB, by what the log, the snapshot or the case says.

The rule is the project's contract of signs; the lines are the kernel's templates (Linux 6.1 drivers/usb/storage,
drivers/scsi, fs; the block layer's and older wording from memory) with invented values.
"""

import pytest

from wizard.bus.model import Device, Snapshot
from wizard.observe.kernel_log import read_signs

IO_ERROR = "blk_update_request: I/O error, dev sdb, sector 2048 op 0x0:(READ) flags 0x0 phys_seg 1 prio class 0"


def names(log: str, drive_case: bool = False, snapshot: Snapshot | None = None) -> list[str]:
    """The signs as `kind@where`."""
    return [f"{sign.kind}@{sign.where}" for sign in read_signs([log.encode()], snapshot, drive_case)]


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("sd 4:0:0:0: [sdc] tag#3 uas_eh_abort_handler 0 uas-tag 1 inflight: IN", "storage_abort@4:0:0:0"),
        ("sd 4:0:0:0: tag#26 uas_zap_pending 0 uas-tag 1 inflight:", "storage_abort@4:0:0:0"),
        ("sd 4:0:0:0: [sdc] tag#3 data cmplt err -71 uas-tag 1 inflight: CMD", "storage_abort@4:0:0:0"),
        ("scsi host4: uas_eh_device_reset_handler FAILED err -19", "storage_abort@host4"),
        ("sd 4:0:0:0: timing out command, waited 180s", "storage_abort@4:0:0:0"),
        ("sd 4:0:0:0: Device offlined - not ready after error recovery", "storage_offline@4:0:0:0"),
        ("scsi 4:0:0:0: rejecting I/O to dead device", "storage_offline@4:0:0:0"),
        ("sd 4:0:0:0: rejecting I/O to offline device", "storage_offline@4:0:0:0"),
        (
            "scsi: Device offlined - not ready after error recovery: host 4 channel 0 id 0 lun 0",
            "storage_offline@4:0:0:0",
        ),
        ("device offline error, dev sdc, sector 10 op 0x1:(WRITE)", "storage_offline@sdc"),
        ("sd 4:0:0:0: [sdc] tag#9 FAILED Result: hostbyte=DID_ERROR driverbyte=DRIVER_OK", "storage_io_error@sdc"),
        ("sd 4:0:0:0: [sdc] Read Capacity(10) failed: Result: hostbyte=DID_ERROR", "storage_io_error@sdc"),
        ("sd 4:0:0:0: SCSI error: return code = 0x00070000", "storage_io_error@4:0:0:0"),
        ("I/O error, dev sdc, sector 8 op 0x0:(READ) flags 0x80700", "storage_io_error@sdc"),
        ("print_req_error: critical medium error, dev sdc, sector 0 flags 0", "storage_io_error@sdc"),
        ("end_request: I/O error, dev sr0, sector 64", "storage_io_error@sr0"),
        ("Buffer I/O error on device sdc1, logical block 3", "storage_io_error@sdc"),
        ("lost page write due to I/O error on sdc1", "storage_io_error@sdc"),
        ("EXT4-fs error (device sdc1): ext4_lookup:1700: inode #2: comm sh: bad entry", "filesystem_error@sdc"),
        ("EXT4-fs (sdc1): warning: mounting fs with errors, running e2fsck is recommended", "filesystem_error@sdc"),
        ("FAT-fs (sdc1): Volume was not properly unmounted. Please run fsck.", "filesystem_error@sdc"),
        ("FAT-fs (sdc1): bogus number of reserved sectors", "filesystem_error@sdc"),
        ("exFAT-fs (sdc1): invalid boot record signature", "filesystem_error@sdc"),
        ("XFS (sdc1): metadata I/O error in xfs_trans_read_buf", "filesystem_error@sdc"),
        ("BTRFS error (device sdc1): bdev errs: wr 1, rd 0, flush 0", "filesystem_error@sdc"),
        ("JBD2: Error -5 detected when updating journal superblock for sdc1-8.", "filesystem_error@sdc"),
        ("Aborting journal on device sdc1-8.", "filesystem_error@sdc"),
        ("mount: unknown filesystem type 'invented'", "filesystem_error@-"),
    ],
)
def test_a_drive_complaint_is_read_when_the_trouble_is_about_a_drive(line: str, expected: str) -> None:
    assert names(line, drive_case=True) == [expected]
    assert names(f"Dec 16 12:54:10 host kernel: [   12.500000] {line}", drive_case=True) == [expected]


@pytest.mark.parametrize(
    "line",
    [
        "EXT4-fs (sdc1): mounted filesystem with ordered data mode. Opts: errors=remount-ro",
        "EXT4-fs (sdc1): recovery complete",
        "sd 4:0:0:0: [sdc] 976773168 512-byte logical blocks: (500 GB/466 GiB)",
        "sd 4:0:0:0: [sdc] Attached SCSI removable disk",
        "sd 4:0:0:0: [sdc] No Caching mode page found",
        "scsi host4: uas",
    ],
)
def test_a_drive_that_starts_well_complains_of_nothing(line: str) -> None:
    assert names(line, drive_case=True) == []


def test_without_a_word_of_usb_a_drive_complaint_does_not_count_in_another_case() -> None:
    assert names(IO_ERROR) == []


@pytest.mark.parametrize(
    "arrival",
    [
        "scsi host6: uas\nsd 6:0:0:0: [sdb] Attached SCSI disk",
        "scsi host6: usb-storage 1-1:1.0\nsd 6:0:0:0: [sdb] Attached SCSI removable disk",
        "scsi6 : usb-storage 1-1:1.0\nsd 6:0:0:0: [sdb] Attached SCSI removable disk",
        "scsi6 : SCSI emulation for USB Mass Storage devices\nAttached scsi removable disk sdb at scsi6, channel 0",
        "sd 6:0:0:0: [sdb] tag#1 uas_eh_abort_handler 0 uas-tag 2 inflight: CMD",
    ],
)
def test_a_disk_that_came_in_over_usb_counts_whether_the_log_says_so_before_or_after(arrival: str) -> None:
    assert "storage_io_error@sdb" in names(f"{arrival}\n{IO_ERROR}")
    assert "storage_io_error@sdb" in names(f"{IO_ERROR}\n{arrival}")


@pytest.mark.parametrize("driver", ["ahci", "ata_piix", "mpt3sas", "virtio_scsi"])
def test_a_disk_on_another_bus_never_counts(driver: str) -> None:
    log = f"scsi host0: {driver}\nsd 0:0:0:0: [sdb] Attached SCSI disk\n{IO_ERROR}"
    assert names(log, drive_case=True) == []


def test_a_disk_of_unknown_host_does_not_count_beside_a_failing_sata_disk() -> None:
    log = f"ata3.00: exception Emask 0x0 SAct 0x0 SErr 0x0 action 0x6 frozen\n{IO_ERROR}"
    assert names(log, drive_case=True) == []


def test_a_usb_disk_still_counts_beside_a_failing_sata_disk() -> None:
    log = f"ata3.00: failed command: READ DMA\nscsi host6: uas\nsd 6:0:0:0: [sdb] Attached SCSI disk\n{IO_ERROR}"
    assert names(log) == ["storage_io_error@sdb"]


@pytest.mark.parametrize("device", ["nvme0n1", "mmcblk0", "dm-0", "vda", "md0"])
def test_what_cannot_be_a_usb_disk_never_counts(device: str) -> None:
    log = f"blk_update_request: I/O error, dev {device}, sector 1\nEXT4-fs error (device {device}): ext4_x:1: bad"
    assert names(log, drive_case=True) == []


def test_a_snapshot_that_places_the_disk_on_usb_settles_it() -> None:
    stick = Device.model_validate({"id": "1-1", "disks": ["sdb"]})
    assert names(IO_ERROR, snapshot=Snapshot(devices=(stick,))) == ["storage_io_error@sdb"]
    other = Device.model_validate({"id": "1-1", "disks": ["sdc"]})
    assert names(IO_ERROR, snapshot=Snapshot(devices=(other,))) == []


def test_a_message_of_the_usb_storage_driver_counts_even_as_a_scrap() -> None:
    assert names("uas_eh_abort_handler") == ["storage_abort@-"]


def test_no_space_left_is_a_full_disk_when_the_trouble_is_about_a_drive() -> None:
    assert names("No space left on device") == ["stream_no_space@-"]
    assert names("No space left on device", drive_case=True) == []
