"""macOS' USB report, older and newer, as JSON, text and property list: the bus, currents, and what stands out.

Keys and values as in public reports; devices are invented. Location ids: an Apple engineer, tcpdump-workers 2016-12-11.
"""

import json
import plistlib

import pytest
from exported import export_of, kinds

from wizard.budget.ledger import build_ledger
from wizard.bus.tree import BusTree
from wizard.observe.macos.places import Place, place_in


def device(name, location, speed="high_speed", used="100", offered="500", **more):
    return {"_name": name, "location_id": location, "device_speed": speed, "bus_power": offered, "bus_power_used": used,
            "vendor_id": "0x1234  (Invented Works)", "product_id": "0x00ab", **more}  # fmt: skip


def report(*devices, driver="AppleT6000USBXHCI"):
    return {"SPUSBDataType": [{"_name": "USB31Bus", "host_controller": driver, "_items": list(devices)}]}


NESTED = report(
    device("USB2.1 Hub", "0x02100000 / 1", _items=[device("Fader Bank", "0x02130000 / 4", "full_speed", "50")]),
    device("USB3.1 Hub", "0x02200000 / 2", "super_speed", "0", "900"),
)


def test_places_become_the_ids_of_every_system():
    snapshot = export_of(NESTED).snapshot
    assert {d.id: d.parent for d in snapshot.devices} == {
        "usb2": "bus-2", "2-1": "usb2", "2-1.3": "2-1", "2-2": "usb2",
    }  # fmt: skip
    fader = BusTree(snapshot).devices["2-1.3"]
    assert (fader.speed, fader.mbps, fader.max_power_ma, fader.vid, fader.pid) == ("full", 12.0, 50, "1234", "00ab")
    assert snapshot.controllers[0].kind == "xhci"


def test_the_ledger_works_on_it_and_leaves_the_unknown_unknown():
    ledger = build_ledger(export_of(NESTED).snapshot)
    current = {e.where: e for e in ledger if e.budget == "port_current"}
    assert current["2-1.3"].used == 50
    assert current["2-1.3"].limit == 500  # macOS offers the full load behind the hub: it has a supply of its own
    assert {e.state for e in ledger if e.budget == "endpoints"} == {"unknown"}


@pytest.mark.parametrize(
    ("told", "speed", "mbps"),
    [("low_speed", "low", 1.5), ("super_speed_plus", "super_plus", 10000.0), ("12 Mb/s", "full", 12.0),
     ("Up to 480 Mb/sec", "high", 480.0), ("5 Gb/s", "super", 5000.0), ("20 Gb/s", "super_plus", 20000.0),
     ("Up to 1.5 Mb/s", "low", 1.5), ("unheard of", None, None)],
)  # fmt: skip
def test_speeds_of_both_reports_and_of_the_text(told, speed, mbps):
    (found,) = [d for d in export_of(report(device("x", "0x01100000", told))).snapshot.devices if not d.root]
    assert (found.speed, found.mbps) == (speed, mbps)


def test_the_newer_report_has_other_keys_and_says_the_same():
    new = {
        "SPUSBDataType": [],
        "SPUSBHostDataType": [
            {"_name": "USB 3.1 Bus", "Driver": "AppleT8132USBXHCI", "USBKeyLocationID": "0x01000000", "_items": [
                {"_name": "Invented Drive", "USBDeviceKeyLinkSpeed": "10 Gb/s",
                 "USBDeviceKeyPowerAllocation": "4.48 W (896 mA)", "USBDeviceKeyProductID": "0x61fb",
                 "USBDeviceKeyVendorID": "0x04e8", "USBDeviceKeySerialNumber": "Not Provided",
                 "USBKeyHardwareType": "Removable", "USBKeyLocationID": "0x01200000"}]},
            {"_name": "USB 3.1 Bus", "Driver": "AppleT8132USBXHCI", "USBKeyLocationID": "0x02000000"},
        ],
    }  # fmt: skip
    snapshot = export_of(new).snapshot
    drive = BusTree(snapshot).devices["1-2"]
    assert (drive.speed, drive.max_power_ma, drive.serial) == ("super_plus", 896, None)
    assert [c.id for c in snapshot.controllers] == ["bus-1", "bus-2"]


def test_an_empty_report_says_which_one_to_make_instead():
    export = export_of({"SPUSBDataType": []})
    assert export.snapshot is None
    assert "SPUSBHostDataType" in export.notes[0]


def test_old_reports_sort_their_keys_by_a_letter_and_know_apple_by_a_word():
    old = {"_dataType": "SPUSBDataType", "_items": [{"_name": "USB Bus", "host_controller": "AppleUSBUHCI", "_items": [
        {"_name": "Keys", "a_product_id": "0x0304", "b_vendor_id": "apple_vendor_id", "e_device_speed": "low_speed",
         "g_location_id": "0x5d200000", "h_bus_power": "500", "j_bus_power_used": "100"}]}]}  # fmt: skip
    for data in (plistlib.dumps([old]), plistlib.dumps([old], fmt=plistlib.FMT_BINARY)):
        keys = BusTree(export_of(data).snapshot).devices["93-2"]
        assert (keys.vid, keys.pid, keys.speed, keys.max_power_ma) == ("05ac", "0304", "low", 100)


TEXT = """2025-03-13 10:19:45.178 system_profiler[8:9] SPUSBDevice: IOCreatePlugInInterfaceForService failed 0xe00002be
USB:

    USB 3.1 Bus:

      Host Controller Driver: AppleUSBXHCITR
      PCI Device ID: 0x15ec

        Dock: left:

          Product ID: 0x0b40
          Vendor ID: 0x8087  (Invented)
          Speed: Up to 10 Gb/s
          Location ID: 0x02300000 / 1
          Current Available (mA): 900
          Current Required (mA): 0

            Drive:

              Product ID: 0x0001
              Location ID: 0x02310000 / 3
              Media:
                Stick:
                  Capacity: 2,11 GB (2 109 671 424 bytes)
                  Partition Map Type: Unknown
                  Volumes:
                    DATA:
                      Mount Point: /Volumes/DATA

Memory:

    Slots:
"""


def test_the_report_as_text_is_the_same_tree():
    export = export_of(TEXT.encode())
    assert {d.id: d.name for d in export.snapshot.devices if not d.root} == {"2-3": "Dock: left", "2-3.1": "Drive"}
    assert {(s.kind, s.where) for s in export.signs} == {("macos_disk_raw", "0x02310000")}


def test_more_current_than_the_socket_offers_is_told():
    found = kinds(report(device("Camera", "0x01100000", used="500", offered="100")))
    assert set(found) == {("macos_current_short", "0x01100000"), ("no_bus_power", "0x01100000")}


def test_a_sixth_hub_in_a_row_is_too_deep():
    hub = device("Hub", "0x01111111")
    for digits in ("11111", "1111", "111", "11", "1"):
        hub = device("Hub", f"0x01{digits:0<6}", _items=[hub])
    assert set(kinds(report(hub))) == {("macos_hub_depth", "0x01111111"), ("hub_too_deep", "0x01111111")}


def test_a_device_whose_hub_is_not_listed_hangs_on_no_other():
    text = (
        '+-o Invented@02112530  <class IOUSBHostDevice, id 0x1\n    {\n      "USBSpeed" = 3\n      "idVendor" = 6790\n'
    )
    (device_,) = [d for d in export_of(text.encode()).snapshot.devices if not d.root]
    assert (device_.id, device_.parent, device_.speed, device_.vid) == ("2-1.1.2.5.3", "2-1.1.2.5", "high", "1a86")


def test_refused_current_in_the_registry_is_told():
    text = '+-o Camera@01100000  <class IOUSBHostDevice, id 0x1\n  {\n    "kUSBFailedRequestedPower" = 900\n'
    assert ("no_bus_power", "0x01100000") in kinds(text.encode())


@pytest.mark.parametrize(
    ("told", "number"),
    [("0x03543000 / 8", 0x03543000), ("0xfd500000", 0xFD500000), ("fa140000", 0xFA140000), (34678064, 0x02112530)],
)
def test_location_ids_in_each_spelling(told, number):
    assert place_in(told) == Place(number)


@pytest.mark.parametrize("told", ["", "0x", "zz", None, True, "0x123456789", -1, 1 << 32])
def test_what_is_no_location_id_is_none(told):
    assert place_in(told) is None


def test_a_socket_of_a_hub_has_a_place_of_its_own():
    assert Place(0x15000000).socket(2) == Place(0x15200000)
    assert Place(0x02113311).socket(3) == Place(0x02113311)  # no digit is left
    assert Place(0x02113310).parent == "2-1.1.3.3"


def test_two_devices_at_one_place_are_both_kept():
    snapshot = export_of(json.loads(json.dumps(report(device("a", "0x01100000"), device("b", "0x01100000"))))).snapshot
    assert {d.id for d in snapshot.devices} == {"usb1", "1-1", "1-1?2"}
