"""The commands shown to people are the same everywhere, and what they give is read."""

import json
import tomllib
from pathlib import Path

from exported import export_of

from wizard import wiring

ROOT = Path(__file__).parents[3]


def commands():
    texts = tomllib.loads((ROOT / "resources" / "texts" / "en" / "exports.toml").read_text("utf-8"))
    return [part["command"] for part in texts["exports"].values() if isinstance(part, dict)]


def test_the_window_and_the_readme_show_the_same_commands():
    readme = (ROOT / "README.md").read_text("utf-8")
    assert len(commands()) == 4
    assert all(f"\n{command}\n" in readme for command in commands())


def test_what_the_device_command_gives_is_a_bus():
    # The shape of Get-PnpDeviceProperty: one record for each property, also those without a value (Microsoft)
    root = "USB\\ROOT_HUB30\\4&1&0&0"
    path = "PCIROOT(0)#PCI(1400)#USBROOT(0)"
    properties = [
        (root, "DEVPKEY_Device_LocationPaths", [path]),
        (root, "DEVPKEY_Device_FriendlyName", None),
        ("USB\\VID_1234&PID_5678\\S1", "DEVPKEY_Device_LocationPaths", [f"{path}#USB(4)"]),
        ("USB\\VID_1234&PID_5678\\S1", "DEVPKEY_NAME", "Fader Bank"),
        ("USB\\VID_1234&PID_5678\\S1", "DEVPKEY_Device_ProblemCode", 10),
        ("USB\\VID_1234&PID_5678\\S1", "{a8b865dd-2e3d-4094-ad97-e593a70c75d6} 26", 7),
    ]
    text = json.dumps([dict(zip(("InstanceId", "KeyName", "Data"), p, strict=True)) for p in properties])
    export = export_of(text.encode("utf-16"))
    assert {d.id: d.name for d in export.snapshot.devices if not d.root} == {"1-4": "Fader Bank"}
    assert "windows_problem_10" in {s.kind for s in export.signs}


def test_what_the_device_command_gives_follows_a_drive_to_its_letter():
    # Devices as properties one by one, then disks, partitions and volumes as PowerShell prints them (Microsoft):
    # words for the bus and the table, a zero character where there is no letter. The drive talks UAS, and so its disk
    # is called SCSI; the other disk is the computer's own.
    path = "PCIROOT(0)#PCI(1400)#USBROOT(0)"
    stick, disk = "USB\\VID_1234&PID_5678\\S1", "SCSI\\DISK&VEN_INVENTED&PROD_BOX\\6&1&0&000000"
    inner = "SCSI\\DISK&VEN_NVME&PROD_INVENTED\\5&1&0&000000"
    properties = [
        ("USB\\ROOT_HUB30\\4&1&0&0", "DEVPKEY_Device_LocationPaths", [path]),
        (stick, "DEVPKEY_Device_LocationPaths", [f"{path}#USB(4)"]),
        (stick, "DEVPKEY_Device_Service", "UASPStor"),
        (stick, "DEVPKEY_Device_CompatibleIds", ["USB\\Class_08&SubClass_06&Prot_62"]),
        (disk, "DEVPKEY_Device_Parent", stick),
        (inner, "DEVPKEY_Device_Parent", "PCI\\VEN_1234&DEV_5678\\3&1&0&E8"),
    ]
    records = [dict(zip(("InstanceId", "KeyName", "Data"), p, strict=True)) for p in properties]
    guid = "\\\\?\\Volume{11111111-2222-3333-4444-555555555555}\\"
    for number, name, bus in ((0, inner, "NVMe"), (1, disk, "USB")):
        drive = f"\\\\.\\PHYSICALDRIVE{number}"
        records += [
            {"DeviceID": drive, "Index": number, "InterfaceType": "SCSI", "PNPDeviceID": name},
            {"Number": number, "BusType": bus, "PartitionStyle": "GPT", "Size": 10**12, "IsOffline": False,
             "OfflineReason": None, "IsReadOnly": False, "HealthStatus": "Healthy", "NumberOfPartitions": 1},
        ]  # fmt: skip
    records += [
        {"DiskNumber": 1, "PartitionNumber": 1, "DriveLetter": "\0", "Size": 10**12, "Offset": 1048576,
         "IsReadOnly": False, "IsHidden": False, "GptType": "{ebd0a0a2-b9e5-4433-87c0-68b6b72699c7}",
         "MbrType": None, "AccessPaths": [guid]},
        {"DriveLetter": None, "FileSystem": "NTFS", "DriveType": "Fixed", "OperationalStatus": "OK", "Size": 10**12,
         "Path": guid},
    ]  # fmt: skip
    export = export_of(json.dumps(records).encode("utf-16"))
    (facts,) = [f for f in export.drives if f.disks]
    assert (facts.device, facts.drivers, facts.disks[0].name) == ("1-4", ("UASPStor",), "disk 1")
    assert [v.contents.file_system for v in facts.disks[0].volumes] == ["ntfs"]
    assert {(s.kind, s.where) for s in export.signs} == {("windows_no_letter", "disk 1")}
    found = wiring.drive("1-4", log=json.dumps(records))
    assert found.observations["volume"] == "no_letter"
    assert found.observations["storage_transport"] == "uas"
