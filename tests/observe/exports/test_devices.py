"""Device lists of Windows in every shape: problem codes, places, and the bus they tell of. Devices are invented."""

import json
from pathlib import Path

import pytest
from exported import export_of, kinds

from wizard.budget.ledger import build_ledger
from wizard.bus.tree import BusTree

PUBLISHED = Path(__file__).parents[2] / "reference" / "exports"
DEVICE = "USB\\VID_1234&PID_5678\\6&1&0&2"
PCI = "PCI\\VEN_8086&DEV_A36D&SUBSYS_86941043&REV_10\\3&11583659&0&A0"
ROOT = "USB\\ROOT_HUB30\\4&1&0&0"
HUB2, HUB3 = "USB\\VID_05E3&PID_0610\\5&2&0&3", "USB\\VID_05E3&PID_0620\\5&2&0&13"
STICK = "USB\\VID_0951&PID_1666\\SER1"
DISK = "USBSTOR\\Disk&Ven_Invented&Prod_Stick\\SER1&0"
PATH = "PCIROOT(0)#PCI(1400)#USBROOT(0)"

# Published meaning of each code ('Error codes in Device Manager'), and the kind nearest to it
MEANINGS = {
    10: "driver_failed", 12: "no_controller_resources", 14: None, 21: "disconnect", 22: "not_authorised",
    24: "driver_failed", 28: "driver_failed", 31: "driver_failed", 37: "driver_failed", 38: "driver_failed",
    39: "driver_failed", 42: "driver_failed", 43: "driver_failed", 45: "disconnect", 47: "disconnect",
    52: "driver_failed", 54: "reset",
}  # fmt: skip
CONNECTIONS = {
    # USB_CONNECTION_STATUS, usbioctl.h
    "DeviceFailedEnumeration": (2, "enumeration_failed"), "DeviceGeneralFailure": (3, "port_error"),
    "DeviceCausedOvercurrent": (4, "over_current"), "DeviceNotEnoughPower": (5, "no_bus_power"),
    "DeviceNotEnoughBandwidth": (6, "no_bandwidth"), "DeviceHubNestedTooDeeply": (7, "hub_too_deep"),
    "DeviceReset": (10, "reset"),
}  # fmt: skip
PLACEHOLDERS = {
    "RESET_FAILURE": "port_reset_failed", "DEVICE_DESCRIPTOR_FAILURE": "descriptor_read_failed",
    "CONFIG_DESCRIPTOR_FAILURE": "descriptor_read_failed", "SET_ADDRESS_FAILURE": "address_failed",
    "UNKNOWN": "enumeration_failed", "PORT_LINK_SSINACTIVE": "port_error",
}  # fmt: skip


def bus():
    return [
        {"InstanceId": PCI, "Service": "USBXHCI", "ClassGuid": "{36fc9e60-c465-11cf-8056-444553540000}",
         "BusNumber": 0, "Address": 0x140000},
        {"InstanceId": ROOT, "Service": "USBHUB3", "Parent": PCI, "LocationPaths": [PATH]},
        {"InstanceId": HUB2, "Service": "USBHUB3", "Parent": ROOT, "LocationPaths": [f"{PATH}#USB(3)", "ACPI(HS03)"],
         "ContainerId": "{aa}"},
        {"InstanceId": HUB3, "Service": "USBHUB3", "Parent": ROOT, "LocationPaths": f"{PATH}#USB(13)",
         "ContainerId": "{aa}"},
        {"InstanceId": STICK, "Service": "USBSTOR", "Parent": HUB3, "Address": 2, "ContainerId": "{bb}",
         "CompatibleIds": ["USB\\Class_08&SubClass_06&Prot_50"], "BusReportedDeviceDesc": "Invented Stick",
         "DriverDate": "/Date(1150848000000)/", "DriverProvider": "Somebody", "DriverVersion": "1.2"},
        {"InstanceId": DISK, "Parent": STICK, "ContainerId": "{bb}", "Problem": 10, "Class": "DiskDrive"},
    ]  # fmt: skip


@pytest.mark.parametrize("code", MEANINGS)
@pytest.mark.parametrize("field", ["Problem", "ConfigManagerErrorCode", "problem_code"])
def test_each_problem_code_gives_its_raw_kind_and_its_meaning(code, field):
    found = {kind for kind, where in kinds([{"InstanceId": DEVICE, "Status": "Error", field: code}]) if where == DEVICE}
    assert found == {f"windows_problem_{code}", *([MEANINGS[code]] if MEANINGS[code] else [])}


@pytest.mark.parametrize("told", ["CM_PROB_FAILED_START", "10 (0x0A) [CM_PROB_FAILED_START]", "0xa", "Code 10", "10"])
def test_a_problem_may_be_told_by_name_or_number(told):
    assert ("windows_problem_10", DEVICE) in kinds({"Instance ID": DEVICE, "Problem Code": told})


def test_a_whole_object_of_powershell_is_one_device():
    whole = {
        "Class": "USB", "FriendlyName": "Fader", "InstanceId": DEVICE, "Problem": 10, "ConfigManagerErrorCode": 10,
        "ProblemDescription": "x", "PNPDeviceID": DEVICE, "DeviceID": DEVICE, "PowerManagementCapabilities": None,
        "HardwareID": ["USB\\VID_1234&PID_5678&REV_0100"], "CimClass": {"CimSuperClassName": "CIM_LogicalDevice",
        "CimClassProperties": ["Caption", {"Name": "Problem", "Value": None}]}, "CimInstanceProperties": [
        {"Name": "Status", "Value": "Error", "CimType": 14}], "CimSystemProperties": {"ServerName": "HOST"},
    }  # fmt: skip
    assert kinds(whole) == {("windows_problem_10", DEVICE): 1, ("driver_failed", DEVICE): 1}
    assert len(export_of([whole]).snapshot.devices) == 1


@pytest.mark.parametrize("hardware_id", PLACEHOLDERS)
def test_a_device_that_never_came_up_is_told_from_one_that_failed_later(hardware_id):
    broken = {"InstanceId": "USB\\VID_0000&PID_0009\\5&1&0&6", "Problem": 43, "HardwareID": [f"USB\\{hardware_id}"]}
    assert PLACEHOLDERS[hardware_id] in {kind for kind, _ in kinds([broken])}
    assert "driver_failed" not in {kind for kind, _ in kinds([broken])}


@pytest.mark.parametrize("state", CONNECTIONS)
def test_connection_states_stand_for_their_meaning(state):
    number, kind = CONNECTIONS[state]
    for told in (state, number):
        found = {k for k, _ in kinds([{"InstanceId": DEVICE, "ConnectionStatus": told}])}
        assert found == {f"windows_connection_{number}", kind}


def test_location_paths_and_parents_make_the_bus():
    snapshot = export_of(bus()).snapshot
    tree = BusTree(snapshot)
    assert {d.id: d.parent for d in snapshot.devices} == {
        "usb1": "0000:00:14.0", "1-3": "usb1", "1-13": "usb1", "1-13.2": "1-13",
    }  # fmt: skip
    assert tree.controllers["0000:00:14.0"].kind == "xhci"
    assert tree.sockets["1-3"].peer == "1-13"
    stick = tree.devices["1-13.2"]
    assert (stick.name, stick.vid, stick.interfaces[0].class_code) == ("Invented Stick", "0951", 8)
    assert stick.listing.driver.date == "2006-06-21"
    assert build_ledger(snapshot)


def test_a_sign_of_a_part_is_known_to_be_of_the_device():
    export = export_of(bus())
    sign = next(s for s in export.signs if s.kind == "windows_problem_10")
    assert sign.where == DISK
    assert BusTree(export.snapshot).place_of(sign.where) == "1-13.2"


def test_unknown_endpoints_stay_unknown():
    snapshot = export_of(bus()).snapshot
    assert BusTree(snapshot).devices["1-13.2"].is_unread
    (entry,) = [e for e in build_ledger(snapshot) if e.budget == "endpoints"]
    assert entry.state == "unknown"


def test_single_properties_are_put_together():
    properties = [
        {"InstanceId": entry["InstanceId"], "KeyName": f"DEVPKEY_Device_{name}", "Type": 18, "Data": value}
        for entry in bus()
        for name, value in entry.items()
        if name != "InstanceId"
    ]
    assert [d.id for d in export_of(properties).snapshot.devices] == [d.id for d in export_of(bus()).snapshot.devices]


@pytest.mark.parametrize("wrap", [lambda v: {"value": v, "Count": len(v)}, lambda v: {"devices": v}, lambda v: [v]])
def test_wrappers_are_opened(wrap):
    assert len(export_of(wrap(bus())).snapshot.devices) == 4


def test_a_device_without_a_place_has_a_neutral_id_and_no_parent():
    (device,) = export_of([{"InstanceId": DEVICE, "FriendlyName": "Fader Bank", "Status": "OK"}]).snapshot.devices
    assert (device.id, device.parent, device.name) == ("?-?1", None, "Fader Bank")
    assert device.listing.instance_id == DEVICE


def test_what_is_gone_is_in_no_picture():
    gone = {"InstanceId": DEVICE, "Status": "Unknown", "Present": False, "Problem": "CM_PROB_PHANTOM"}
    export = export_of([gone])
    assert export.snapshot is None
    assert {s.kind for s in export.signs} == {"windows_problem_45", "disconnect"}


def test_a_controller_made_of_software_is_no_real_one():
    virtual = [
        {"InstanceId": "ROOT\\VUSB\\0000", "Service": "invented"},
        {"InstanceId": ROOT, "Parent": "ROOT\\VUSB\\0000"},
        {"InstanceId": DEVICE, "Parent": ROOT, "Address": 2},
    ]
    assert [c.id for c in export_of(virtual).snapshot.controllers] == ["vhci-1"]


PNPUTIL = f"""Microsoft PnP Utility

Instance ID:                {DEVICE}
Device Description:         发明的设备
Class Name:                 USB
Status:                     Problem
Problem Code:               28 (0x1C) [CM_PROB_FAILED_INSTALL]

Instance ID:                {STICK}
Device Description:         Stick
Status:                     Disconnected
"""
WMIC = (
    f"\r\r\n\r\r\nCaption=Fader\r\r\nConfigManagerErrorCode=10\r\r\nDeviceID={DEVICE.replace('&', '&amp;')}\r\r\n\r\r\n"
)
LISTED = f"Class       : USB\nInstanceId  : {DEVICE}\nProblem     : CM_PROB_FAILED_POST_START\n"


@pytest.mark.parametrize(
    ("text", "codes"), [(PNPUTIL, {28, 45}), (WMIC, {10}), (LISTED, {43})], ids=["pnputil", "wmic", "list"]
)
def test_lists_for_people_are_read_too(text, codes):
    for data in (text.encode(), text.encode("utf-16")):
        found = {kind for kind, _ in kinds(data) if kind.startswith("windows_problem_")}
        assert found == {f"windows_problem_{code}" for code in codes}


CSV = f'#TYPE Selected.CimInstance\n"Class","InstanceId","Problem"\n"USB","{DEVICE}","CM_PROB_FAILED_START"\n'


def test_values_between_commas_are_read_too():
    assert set(kinds(CSV.encode())) == {("windows_problem_10", DEVICE), ("driver_failed", DEVICE)}
    assert set(kinds(CSV.replace(",", ";").encode("utf-16"))) == set(kinds(CSV.encode()))


def test_a_uas_disk_counts_unless_the_list_says_it_hangs_elsewhere():
    event = {"Id": 411, "ProviderName": "Microsoft-Windows-Kernel-PnP", "Problem": 10}
    disk = "SCSI\\DISK&VEN_INVENTED&PROD_SSD\\7&1&0&000000"
    assert ("windows_problem_10", disk) in kinds({**event, "InstanceId": disk})
    assert kinds([{"InstanceId": disk, "Parent": "PCI\\VEN_1&DEV_2\\3"}, {**event, "InstanceId": disk}]) == {}
    assert kinds({**event, "InstanceId": "SCSI\\DISK&VEN_NVME&PROD_X\\5&1&0"}) == {}


def test_a_published_list_is_read():
    snapshot = export_of((PUBLISHED / "pnputil-enum-interfaces-and-ids-doc.txt").read_bytes()).snapshot
    assert {(d.vid, d.pid) for d in snapshot.devices} == {("045e", "0840"), ("045e", "07a5")}


def test_a_table_with_cut_names_says_so():
    text = (
        "Status Class FriendlyName InstanceId\n------ ----- ------------ ----------\n"
        "OK     USB   Fader        USB\\VID_12...\n"
    )
    export = export_of(text.encode())
    assert export.snapshot is None
    assert any("cuts off" in note for note in export.notes)


REGISTRY = (
    "Windows Registry Editor Version 5.00\n\n"
    "[HKEY_LOCAL_MACHINE\\SYSTEM\\CurrentControlSet\\Enum\\USB\\VID_1234&PID_5678\\6&1&0&2]\n"
    '"Capabilities"=dword:00000080\n"HardwareID"=hex(7):55,00,53,00,\\\n  42,00,00,00,00,00\n'
    '"ConfigFlags"=dword:00000041\n"Mfg"="@oem1.inf,%x%;Invented"\n'
)
SETUP = (
    f">>>  [Device Install (Hardware initiated) - {DEVICE}]\n>>>  Section start 2018/09/17 23:04:29.978\n"
    "!    dvi:  Selecting driver failed(0xe0000228)\n<<<  Section end 2018/09/17 23:04:31.000\n"
    "<<<  [Exit status: FAILURE(0xe0000228)]\n"
)


def test_a_registry_export_tells_of_flags_but_not_of_the_bus():
    export = export_of(REGISTRY.encode("utf-16"))
    assert {s.kind for s in export.signs} == {"windows_problem_22", "not_authorised"}
    assert export.snapshot is None


def test_a_set_up_log_tells_which_device_found_no_driver():
    signs = {s.kind: s for s in export_of(SETUP.encode()).signs}
    assert {"windows_setup_failed", "windows_problem_28", "driver_failed"} == set(signs)
    assert (signs["driver_failed"].where, signs["driver_failed"].first) == (DEVICE, "2018/09/17 23:04:29")


def test_a_power_plan_is_said_in_words():
    text = (
        "GUID: 2a737441-1930-4402-8d77-b2bebba308a3\n GUID: 48e6b7a6-50f5-4782-a5d4-53bb8f07e226  (réglage)\n"
        "  Index CA : 0x00000000\n  Index CC : 0x00000001\n"
    )
    assert export_of(text.encode()).notes == (
        "Power plan: to put idle USB devices to sleep is not allowed on mains, allowed on battery.",
    )


DXDIAG = """------------------
System Information
------------------
      Operating System: Windows 11
-----------
USB Devices
-----------
+ USB Root Hub (USB 3.0)
| Vendor/Product ID: 0x8086, 0x7A60
| Matching Device ID: USB\\ROOT_HUB30
|
+-+ Generic USB Hub
| | Vendor/Product ID: 0x05E3, 0x0608
| | Location: Port_#0005.Hub_#0001
| | Service: USBHUB3
| |
| +-+ Invented Faders
| | | Vendor/Product ID: 0x1234, 0x5678
| | | Location: Port_#0003.Hub_#0002
| | | Service: usbccgp
| | |
| | +-+ A part of it
| | | | Location: 0000.0014.0000.005.003.000.000.000.000
"""


def test_the_tree_of_dxdiag_is_a_bus():
    snapshot = export_of(DXDIAG.encode()).snapshot
    assert {d.id: d.pid for d in snapshot.devices} == {"usb1": None, "1-5": "0608", "1-5.3": "5678"}


def test_a_disk_that_is_offline_because_of_a_twin_says_so():
    disk = {"Number": 1, "FriendlyName": "Backup", "BusType": "USB", "PartitionStyle": "RAW", "IsOffline": True,
            "OfflineReason": 4, "IsReadOnly": True}  # fmt: skip
    assert {k for k, w in kinds([disk]) if w == "disk 1"} == {
        "windows_disk_offline_4", "storage_offline", "windows_disk_read_only", "windows_disk_raw",
    }  # fmt: skip


def test_a_partition_for_files_without_a_letter_is_told():
    disk = {"Number": 3, "FriendlyName": "Stick", "BusType": 7, "PartitionStyle": 2, "IsOffline": False}
    basic = "{ebd0a0a2-b9e5-4433-87c0-68b6b72699c7}"
    part = {"DiskNumber": 3, "PartitionNumber": 1, "DriveLetter": "\u0000", "GptType": basic, "IsHidden": False}
    assert ("windows_no_letter", "disk 3") in kinds([disk, part])
    assert kinds([disk, {**part, "DriveLetter": "E"}]) == {}
    assert kinds([disk, {**part, "GptType": "{c12a7328-f81f-11d2-ba4b-00a0c93ec93b}"}]) == {}  # EFI system partition


def test_the_fast_half_of_a_socket_is_known_by_the_firmwares_name():
    entries = bus()
    entries[3]["LocationPaths"] = [f"{PATH}#USB(13)", "ACPI(_SB_)#ACPI(PCI0)#ACPI(XHC_)#ACPI(RHUB)#ACPI(SS03)"]
    sockets = BusTree(export_of(entries).snapshot).sockets
    assert (sockets["1-13"].generation, sockets["1-3"].generation) == ("usb3", None)


def test_the_export_may_be_as_long_as_a_busy_year():
    many = [{"InstanceId": f"USB\\VID_1234&PID_5678\\S{n}", "Problem": 10} for n in range(3000)]
    assert len(export_of(json.dumps(many).encode()).snapshot.devices) == 3000
