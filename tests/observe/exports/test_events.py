"""Exported events of Windows: the raw kind and what its published meaning stands for, at the same place.

Field names as Get-WinEvent and its exports write them (Microsoft, Get-WinEvent; Windows Event Schema); meanings of
events from Microsoft's manifests and troubleshooting pages. Devices are invented.
"""

import json

import pytest
from exported import export_of, kinds

BROKEN = "USB\\VID_0000&PID_0002\\5&1a&0&6"
DEVICE = "USB\\VID_1234&PID_5678\\6&1&0&2"
GERMAN = (
    f"Beim Start des Geräts {BROKEN} ist ein Problem aufgetreten.\r\n\r\nTreibername: usb.inf\r\n"
    "Klassen-GUID: {36fc9e60-c465-11cf-8056-444553540000}\r\nDienst: \r\nUntere Filter: \r\nObere Filter: \r\n"
    "Problem: 0x2B\r\nProblemstatus: 0x0"
)


def pnp(number=411, **more):
    return {
        "Id": number,
        "ProviderName": "Microsoft-Windows-Kernel-PnP",
        "TimeCreated": "/Date(1586720770628)/",
        **more,
    }


UP = {("windows_event_411", BROKEN), ("windows_problem_43", BROKEN)}
NOT_UP = {("enumeration_failed", BROKEN), ("descriptor_read_failed", BROKEN)}


@pytest.mark.parametrize(
    "event",
    [
        pnp(Message=GERMAN),
        pnp(Properties=[{"Value": v} for v in (BROKEN, "usb.inf", "{36fc}", "", "", "", 43, 0)]),
        pnp(InstanceId=BROKEN, Problem="0x2b", Status="0x0"),
        pnp(EventData={"DeviceInstanceId": BROKEN, "Problem": "0x2B", "Status": "0x0"}),
        {
            "Event": {
                "System": {
                    "Provider": {"#attributes": {"Name": "Microsoft-Windows-Kernel-PnP"}},
                    "EventID": {"#text": 411, "#attributes": {"Qualifiers": ""}},
                    "TimeCreated": {"#attributes": {"SystemTime": "2020-04-12T19:46:10Z"}},
                },
                "EventData": {"DeviceInstanceId": BROKEN, "Problem": "0x2b", "Status": "0x0"},
            }
        },
        {
            "winlog": {
                "event_id": "411",
                "provider_name": "Microsoft-Windows-Kernel-PnP",
                "event_data": {"DeviceInstanceId": BROKEN, "Problem": "0x2b"},
            }
        },
        {
            "@timestamp": "2020-04-12T19:46:10Z",
            "winlog.event_id": 411,
            "winlog.provider_name": "Microsoft-Windows-Kernel-PnP",
            "winlog.event_data.DeviceInstanceId": BROKEN,
            "winlog.event_data.Problem": "0x2b",
        },
        {
            "EventID": 411,
            "SourceName": "Microsoft-Windows-Kernel-PnP",
            "EventTime": "2020-04-12 19:46:10",
            "Message": GERMAN,
        },
        {
            "EventID": 411,
            "InstanceId": 411,
            "Index": 7,
            "Source": "Microsoft-Windows-Kernel-PnP",
            "ReplacementStrings": [BROKEN, "usb.inf", "{36fc}", "", "", "", "0x2b", "0x0"],
            "TimeGenerated": "/Date(1586720770628)/",
        },
        pnp(
            Message=GERMAN,
            Bookmark={},
            UserId={"BinaryLength": 12, "AccountDomainSid": None, "Value": "S-1-5-18"},
            MatchedQueryIds=[],
            KeywordsDisplayNames=[],
            TimeCreated={"value": "/Date(1586720770628)/", "DisplayHint": 2, "DateTime": "Sonntag"},
        ),
        pnp(EventData={"Data": [{"Name": "DeviceInstanceId", "#text": BROKEN}, {"Name": "Problem", "#text": "0x2b"}]}),
    ],
    ids=[
        "localised message",
        "values in order",
        "flat",
        "nested",
        "log file",
        "shipper",
        "flat shipper",
        "another",
        "old",
        "whole",
        "named values",
    ],
)
def test_the_same_event_in_every_shape_says_the_same(event):
    assert set(kinds(event)) == UP | NOT_UP


def test_values_in_another_order_than_known_do_not_hide_the_message():
    assert ("windows_problem_43", BROKEN) in kinds(pnp(Message=GERMAN, Properties=[{"Value": n} for n in range(8)]))


def test_what_was_left_out_is_counted():
    assert export_of(pnp(InstanceId="DISPLAY\\X\\1", Problem=10)).notes == (
        "1 of the entries say nothing of USB, and were left out.",
    )


def test_repeats_fold_with_first_and_last_stamp_and_lines():
    later = pnp(Message=GERMAN, TimeCreated="/Date(1586720771628)/")
    data = "\n".join(json.dumps(e) for e in (pnp(Message=GERMAN), later)).encode()
    sign = next(s for s in export_of(data).signs if s.kind == "windows_event_411")
    assert (sign.count, sign.first, sign.last, sign.lines) == (
        2, "2020-04-12T19:46:10Z", "2020-04-12T19:46:11Z", (1, 2),
    )  # fmt: skip


@pytest.mark.parametrize("encoding", ["utf-16", "utf-8-sig", "cp1252"])
def test_the_encodings_of_powershell_make_no_difference(encoding):
    text = json.dumps([pnp(Message=GERMAN)], ensure_ascii=False).replace("/Date(", "\\/Date(")
    assert set(kinds(text.encode(encoding))) == UP | NOT_UP


@pytest.mark.parametrize(
    ("provider", "number", "more", "where", "kind"),
    [
        ("disk", 7, {"Message": "\\Device\\Harddisk2\\DR5, has a bad block."}, "disk 2", "storage_io_error"),
        ("disk", 11, {"Properties": [{"Value": "\\Device\\Harddisk1\\DR1"}]}, "disk 1", "storage_io_error"),
        ("disk", 51, {"Message": "An error on \\Device\\Harddisk3\\DR3"}, "disk 3", "storage_io_error"),
        ("disk", 153, {"Message": "The IO operation at block 1 for Disk 2 was retried."}, "disk 2", "storage_io_error"),
        ("disk", 157, {"Message": "Disk 2 has been surprise removed."}, "disk 2", "storage_offline"),
        ("UASPStor", 129, {"Message": "Reset to device, \\Device\\RaidPort1, was issued."}, "-", "storage_abort"),
        ("Ntfs", 55, {"DriveName": "E:"}, "E:", "filesystem_error"),
        ("Microsoft-Windows-Ntfs", 98, {"Message": "Volume E: needs to be taken offline"}, "E:", "filesystem_error"),
        ("Microsoft-Windows-USB-USBHUB3", 64, {"fid_PortNumber": 2}, "-", "enumeration_failed"),
        ("Microsoft-Windows-USB-USBHUB3", 102, {"fid_PortNumber": 2}, "-", "port_error"),
        ("Microsoft-Windows-USB-USBXHCI", 30, {"fid_Description": "x"}, "-", "controller_error"),
        ("Microsoft-Windows-Kernel-PnP", 1010, {"DeviceInstanceId": DEVICE}, DEVICE, "disconnect"),
        ("Microsoft-Windows-Kernel-PnP", 1011, {"DeviceInstanceId": BROKEN}, BROKEN, "enumeration_failed"),
        ("Microsoft-Windows-Kernel-PnP", 410, {"DeviceInstanceId": DEVICE}, DEVICE, "connect"),
        ("Microsoft-Windows-UserPnp", 20001, {"DeviceInstanceID": DEVICE, "InstallStatus": "0xe0000203"},
         DEVICE, "driver_failed"),
    ],
)  # fmt: skip
def test_each_event_stands_for_what_is_published(provider, number, more, where, kind):
    found = kinds({"ProviderName": provider, "Id": number, "TimeCreated": "2024-01-02T03:04:05Z", **more})
    assert found[f"windows_event_{number}", where] == 1
    assert found[kind, where] == 1


@pytest.mark.parametrize(
    "event",
    [
        pnp(InstanceId="HDAUDIO\\FUNC_01&VEN_10EC\\4&1&0&0001", Problem="0xa"),
        {"ProviderName": "storahci", "Id": 129, "Message": "Reset to device, \\Device\\RaidPort0, was issued."},
        {"ProviderName": "Service Control Manager", "Id": 7, "Message": "unrelated"},
        {"ProviderName": "Ntfs", "Id": 98, "Message": "Volume D: is healthy. No action is needed."},
    ],
    ids=["sound card", "internal drive", "another provider's number", "healthy"],
)
def test_what_is_not_about_usb_trouble_stands_for_nothing(event):
    assert not {kind for kind, _ in kinds(event)} & {
        "driver_failed",
        "storage_abort",
        "storage_io_error",
        "filesystem_error",
    }


def test_a_disk_known_to_hang_elsewhere_is_left_out():
    disk = {"Number": 2, "FriendlyName": "Inner", "BusType": 17, "PartitionStyle": 2, "IsOffline": False}
    event = {"ProviderName": "disk", "Id": 153, "Message": "The IO operation for Disk 2 was retried."}
    assert kinds([disk, event]) == {}
    assert ("storage_io_error", "disk 2") in kinds([{**disk, "BusType": 7}, event])


def test_the_problem_status_says_more_where_it_means_resources():
    found = kinds(pnp(InstanceId=DEVICE, Problem=10, Status="0xC000009A"))  # STATUS_INSUFFICIENT_RESOURCES, [MS-ERREF]
    assert {k for k, _ in found} == {
        "windows_event_411", "windows_problem_10", "driver_failed", "no_controller_resources",
    }  # fmt: skip
