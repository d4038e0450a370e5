"""`diskutil … -plist`: what is not mounted, not recognised, read-only. Disks are invented."""

import plistlib

from exported import export_of, kinds


def listed(*disks):
    return plistlib.dumps({"AllDisks": [], "AllDisksAndPartitions": list(disks), "WholeDisks": []})


def test_a_partition_nobody_recognised_is_told_and_system_parts_are_not():
    disk = {"DeviceIdentifier": "disk4", "Content": "FDisk_partition_scheme", "Size": 1, "Partitions": [
        {"DeviceIdentifier": "disk4s1", "Content": "Windows_NTFS", "Size": 1},
        {"DeviceIdentifier": "disk4s2", "Content": "EFI", "Size": 1},
        {"DeviceIdentifier": "disk4s3", "Content": "Apple_HFS", "VolumeName": "data", "Size": 1}]}  # fmt: skip
    assert set(kinds(listed(disk))) == {("macos_not_mounted", "disk4s1")}


def test_a_disk_without_a_table_is_told():
    assert set(kinds(listed({"DeviceIdentifier": "disk5", "Size": 1}))) == {("macos_disk_raw", "disk5")}


def test_a_container_with_volumes_is_in_order():
    disk = {"DeviceIdentifier": "disk5", "Content": "Apple_APFS_Container", "Partitions": [], "Size": 1,
            "APFSVolumes": [{"DeviceIdentifier": "disk5s1", "MountPoint": "/x", "VolumeName": "x"}]}  # fmt: skip
    assert kinds(listed(disk)) == {}


def test_what_is_asked_of_one_disk_tells_of_read_only_and_failing():
    info = {
        "WholeDisk": True,
        "DeviceIdentifier": "disk4",
        "BusProtocol": "USB",
        "Writable": False,
        "SMARTStatus": "Failing",
    }
    assert {kind for kind, _ in kinds(plistlib.dumps(info))} == {
        "macos_disk_read_only", "macos_disk_failing", "storage_io_error",
    }  # fmt: skip
    assert export_of(plistlib.dumps(info)).snapshot is None
