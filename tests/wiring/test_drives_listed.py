"""The chain of a drive as Windows and macOS list it: from files exported there, and from looks by stand-ins.

All devices are invented; fields as Microsoft documents MSFT_Disk, MSFT_Partition, MSFT_Volume and Win32_DiskDrive, and
as Apple's tools write them. No real Windows and no real Mac was at hand.
"""

import json
import plistlib
from typing import Any

import pytest

from wizard import wiring
from wizard.bus.drive import DriveDocument
from wizard.bus.errors import BadInputError
from wizard.bus.model import Snapshot, System
from wizard.observe.asking import Answer
from wizard.observe.macos.look import look as look_at_mac
from wizard.observe.seen import Seen, Watcher
from wizard.observe.windows.look import look as look_at_windows
from wizard.wiring.drives_listed import drive_as_listed

PATH = "PCIROOT(0)#PCI(1400)#USBROOT(0)"
STICK = "USB\\VID_1234&PID_5678\\0001"
DISK = "USBSTOR\\DISK&VEN_INVENTED&PROD_STICK&REV_1.00\\0001&0"
GUID = "\\\\?\\Volume{11111111-2222-3333-4444-555555555555}\\"
GB = 10**9
DEVICES: list[dict[str, Any]] = [
    {"InstanceId": "USB\\ROOT_HUB30\\4&1&0&0", "Status": "OK", "LocationPaths": [PATH]},
    {"InstanceId": STICK, "Status": "OK", "FriendlyName": "Invented Stick", "LocationPaths": [f"{PATH}#USB(2)"],
     "Service": "USBSTOR", "CompatibleID": ["USB\\Class_08&SubClass_06&Prot_50"]},
    {"InstanceId": DISK, "Status": "OK", "Parent": STICK, "Service": "disk"},
]  # fmt: skip
WHOLE = {"Number": 1, "FriendlyName": "Stick", "BusType": 7, "PartitionStyle": 1, "Size": 16 * GB, "IsOffline": False,
         "IsReadOnly": False, "HealthStatus": 0, "NumberOfPartitions": 1}  # fmt: skip
DRIVE = {"DeviceID": "\\\\.\\PHYSICALDRIVE1", "Index": 1, "InterfaceType": "USB", "PNPDeviceID": DISK,
         "Status": "OK", "Partitions": 1, "Size": str(16 * GB)}  # fmt: skip
PART = {"DiskNumber": 1, "PartitionNumber": 1, "DriveLetter": "E", "Size": 16 * GB, "Offset": 1048576,
        "IsReadOnly": False, "IsHidden": False, "MbrType": 12, "AccessPaths": ["E:\\", GUID]}  # fmt: skip
VOLUME = {"DriveLetter": "E", "FileSystem": "FAT32", "DriveType": 2, "HealthStatus": 0, "Size": 16 * GB, "Path": GUID}


def windows(
    whole: Any = WHOLE, part: Any = PART, volume: Any = VOLUME, devices: Any = DEVICES, name: str = "1-2"
) -> DriveDocument:
    return wiring.drive(name, log=json.dumps([*devices, *(r for r in (whole, DRIVE, part, volume) if r)]))


def states(found: DriveDocument) -> dict[str, str]:
    return {link.link: link.state for link in found.links}


def test_a_sound_stick_is_whole_to_its_letter_and_its_errors_stay_unknown() -> None:
    found = windows()
    assert (found.opened, found.device, found.name) == (True, "1-2", "Invented Stick")
    assert {name for name, state in states(found).items() if state != "ok"} == {"io_errors"}
    assert states(found)["io_errors"] == "unknown"  # nothing counts them there
    assert found.observations == {"storage_transport": "bulk_only", "device_kind": "storage", "volume": "fine"}
    assert "not of this computer" in found.notes[0]


@pytest.mark.parametrize("name", ["1-2", "disk 1", "Disk 1", "E:", "e:\\", "\\\\.\\PHYSICALDRIVE1"])
def test_a_drive_is_found_by_the_names_windows_gives_it(name: str) -> None:
    assert windows(name=name).device == "1-2"


OFFLINE = {**WHOLE, "IsOffline": True, "OfflineReason": 4}
NO_LETTER = {**PART, "DriveLetter": "\0", "AccessPaths": [GUID]}
IN_A_FOLDER = {**PART, "DriveLetter": "\0", "AccessPaths": ["C:\\data\\", GUID]}
NAMELESS = {**VOLUME, "DriveLetter": None}


@pytest.mark.parametrize(
    ("records", "link", "state", "volume"),
    [
        ({"whole": OFFLINE}, "block_device", "fails", "offline"),
        ({"whole": {**WHOLE, "PartitionStyle": 0, "NumberOfPartitions": 0}, "part": None, "volume": None},
         "partition_table", "fails", "no_partition"),
        ({"whole": {**WHOLE, "NumberOfPartitions": 0}, "part": None, "volume": None},
         "partition_table", "fails", "no_partition"),
        ({"volume": {**VOLUME, "FileSystem": "RAW"}}, "file_system", "fails", "raw_or_wrong_size"),
        ({"part": NO_LETTER, "volume": NAMELESS}, "mounted", "fails", "no_letter"),
        ({"part": IN_A_FOLDER, "volume": NAMELESS}, "mounted", "ok", "fine"),
        ({"volume": {**VOLUME, "FileSystem": "ReFS"}}, "file_system", "ok", "fine"),
        ({"whole": {**WHOLE, "IsReadOnly": True}}, "read_only", "fails", "fine"),
        ({"whole": {**WHOLE, "Size": 0}, "part": None, "volume": None}, "size", "fails", "no_disk"),
        ({"whole": {**WHOLE, "HealthStatus": "Unhealthy"}}, "io_errors", "fails", "fine"),
    ],
)  # fmt: skip
def test_each_trouble_breaks_its_own_link(records: dict[str, Any], link: str, state: str, volume: str) -> None:
    found = windows(**records)
    assert (states(found)[link], found.observations["volume"]) == (state, volume)


def test_an_offline_disk_is_told_with_windows_reason() -> None:
    found = windows(OFFLINE)
    assert "another disk has the same identity" in found.words
    assert "copy them off" in found.words


def test_a_drive_whose_driver_did_not_start_says_the_code() -> None:
    broken = [DEVICES[0], {**DEVICES[1], "Status": "Error", "Problem": 10}, DEVICES[2]]
    found = windows(devices=broken)
    assert states(found)["driver"] == "fails"
    assert "problem code 10" in found.words


def test_a_device_without_a_disk_where_others_have_one_has_none() -> None:
    other = {"InstanceId": "USB\\VID_1234&PID_9999\\2", "Status": "OK", "LocationPaths": [f"{PATH}#USB(3)"],
             "Service": "USBSTOR", "CompatibleID": ["USB\\Class_08&SubClass_06&Prot_50"]}  # fmt: skip
    found = windows(devices=[*DEVICES, other], name="1-3")
    assert (states(found)["block_device"], found.observations["volume"]) == ("fails", "no_disk")


def test_without_a_list_of_disks_nothing_is_said_of_them() -> None:
    found = wiring.drive("1-2", log=json.dumps(DEVICES))
    assert states(found)["block_device"] == "unknown"
    assert "fails" not in states(found).values()
    assert "volume" not in found.observations


def test_a_device_that_is_not_listed_has_no_chain_and_no_name_is_guessed() -> None:
    found = windows(name="1-9")
    assert (found.opened, found.links) == (False, ())
    assert "1-9" in found.notes[0]
    with pytest.raises(BadInputError, match="no drive that the system lists"):
        windows(name="sdb")


def test_the_same_comes_from_a_look_at_this_pc() -> None:
    def section(name: str, *items: Any) -> str:
        return json.dumps({"section": name, "items": list(items)})

    answer = "\r\n".join([section("devices", *DEVICES), section("disks", WHOLE, PART, VOLUME, DRIVE)])
    seen = look_at_windows(
        Watcher(), lambda _w: Seen(Snapshot(system=System(os="windows"))), lambda _c: Answer(answer.encode())
    )
    found = drive_as_listed("1-2", seen, None, "nothing")
    assert states(found) == states(windows())


def test_a_system_that_lists_nothing_gives_a_document_without_links() -> None:
    found = drive_as_listed("1-2", Seen(Snapshot(), ("no bus",)), None, "nothing is told")
    assert (found.opened, found.links, found.notes) == (False, (), ("no bus", "nothing is told"))


def mac_report(*volumes: dict[str, Any], **medium: Any) -> dict[str, Any]:
    held = {"_name": "Stick", "bsd_name": "disk4", "partition_map_type": "guid_partition_map_type",
            "size_in_bytes": 16 * GB, "volumes": list(volumes), **medium}  # fmt: skip
    return {"SPUSBDataType": [{"_name": "USB31Bus", "_items": [
        {"_name": "Invented Stick", "location_id": "0x02100000 / 1", "device_speed": "high_speed",
         "vendor_id": "0x1234", "product_id": "0x5678", "Media": [held]}]}]}  # fmt: skip


FAT = {"_name": "DATA", "bsd_name": "disk4s1", "file_system": "MS-DOS FAT32", "mount_point": "/Volumes/DATA",
       "writable": "yes"}  # fmt: skip
CONTAINER = {"_name": "disk4s2", "bsd_name": "disk4s2", "iocontent": "Apple_APFS"}


def mac(report: dict[str, Any], *disks: dict[str, Any]) -> DriveDocument:
    plist = plistlib.dumps({"AllDisksAndPartitions": list(disks)})
    nothing = Seen(Snapshot(system=System(os="macos")))
    seen = look_at_mac(
        Watcher(), lambda _w: nothing, lambda _c: Answer(json.dumps(report).encode()), lambda _c: Answer(plist)
    )
    return drive_as_listed("2-1", seen, None, "nothing")


def test_a_stick_on_a_mac_is_whole_to_its_files() -> None:
    found = mac(mac_report(FAT))
    assert {name for name, state in states(found).items() if state != "ok"} == {"io_errors"}
    assert (found.name, found.observations["volume"]) == ("Invented Stick", "fine")
    assert wiring.drive("disk4", log=json.dumps(mac_report(FAT))).device == "2-1"


@pytest.mark.parametrize(
    ("report", "link", "state"),
    [
        (mac_report({**FAT, "mount_point": None}), "mounted", "fails"),
        (mac_report({**FAT, "writable": "no"}), "read_only", "fails"),
        (mac_report(partition_map_type="unknown_partition_map_type"), "partition_table", "fails"),
        (mac_report({"_name": "disk4s1", "bsd_name": "disk4s1", "iocontent": "Linux"}), "file_system", "unknown"),
        (mac_report(CONTAINER), "mounted", "unknown"),
        (mac_report(FAT, smart_status="Failing"), "io_errors", "fails"),
    ],
)
def test_each_trouble_on_a_mac_breaks_its_own_link(report: dict[str, Any], link: str, state: str) -> None:
    assert states(mac(report))[link] == state


def test_a_container_is_reached_through_the_disk_made_of_it() -> None:
    made = {"DeviceIdentifier": "disk5", "APFSPhysicalStores": [{"DeviceIdentifier": "disk4s2"}],
            "APFSVolumes": [{"DeviceIdentifier": "disk5s1", "MountPoint": "/Volumes/Work"}]}  # fmt: skip
    assert states(mac(mac_report(CONTAINER), made))["mounted"] == "ok"


def test_the_newer_report_tells_of_no_disks_and_so_nothing_is_said_of_them() -> None:
    report = {"SPUSBHostDataType": [{"_name": "USB 3.1 Bus", "_items": [
        {"_name": "Invented Stick", "USBKeyLocationID": "0x02100000", "USBDeviceKeyLinkSpeed": "480 Mb/s",
         "USBDeviceKeyVendorID": "0x1234", "USBDeviceKeyProductID": "0x5678"}]}]}  # fmt: skip
    assert set(states(mac(report)).values()) == {"ok", "unknown"}


def test_signs_of_a_disk_are_told_of_the_device_it_hangs_on_and_fill_what_is_known_of_the_volume() -> None:
    look = wiring.look_live(log=json.dumps([*DEVICES, OFFLINE, DRIVE, PART, VOLUME]))
    stick = next(d for d in look.snapshot.devices if d.id == "1-2")
    assert stick.disks == ("disk 1", "E:")
    assert {s.where for s in look.signs} == {"disk 1"}
    case = wiring.new_case("drive_missing").model_copy(
        update={"subject": ("1-2",), "platform": "windows", "snapshot": look.snapshot}
    )
    facts = wiring.facts_of(case, look)
    assert (facts.observations["volume"], "volume" in facts.measured) == ("offline", True)
    told = case.model_copy(update={"observations": {"volume": "fine"}})
    assert wiring.facts_of(told, look).observations["volume"] == "fine"  # the user's word stands


def test_on_windows_the_chain_of_this_pc_comes_from_its_own_look(monkeypatch: pytest.MonkeyPatch) -> None:
    def looked() -> Seen:
        answer = "\r\n".join(
            json.dumps({"section": name, "items": items})
            for name, items in (("devices", DEVICES), ("disks", [OFFLINE, DRIVE, PART, VOLUME]))
        )
        return look_at_windows(Watcher(), lambda _w: Seen(Snapshot()), lambda _c: Answer(answer.encode()))

    monkeypatch.setattr("wizard.wiring.drives.platform.system", lambda: "Windows")
    monkeypatch.setattr("wizard.wiring.drives.live.look", looked)
    found = wiring.drive("E:")
    assert (found.device, found.observations["volume"]) == ("1-2", "offline")
    assert states(found)["block_device"] == "fails"
