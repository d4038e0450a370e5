"""A look on macOS, with stand-ins for system_profiler, diskutil and libusb. No real Mac was at hand."""

import json
import plistlib
import stat
import sys

import pytest

from wizard.bus.model import Controller, Device, Hub, Snapshot, System
from wizard.observe.asking import Answer
from wizard.observe.libusb import LESS
from wizard.observe.macos import commands
from wizard.observe.macos.look import NO_REPORT, look
from wizard.observe.seen import Seen, Watcher

REPORT = {
    "SPHardwareDataType": [{"machine_model": "Invented1,1", "boot_rom_version": "9.9"}],
    "SPUSBDataType": [{"_name": "USB31Bus", "host_controller": "AppleT6000USBXHCI", "_items": [
        {"_name": "Fader Bank", "location_id": "0x02100000 / 1", "device_speed": "full_speed", "bus_power": "500",
         "bus_power_used": "600", "vendor_id": "0x1234", "product_id": "0x5678"}]}],
}  # fmt: skip
DISKS = plistlib.dumps({"AllDisksAndPartitions": [{"DeviceIdentifier": "disk4", "Size": 1}]})


def usb(_watcher):
    device = Device(
        id="2-1", parent="usb2", vid="1234", pid="5678", speed="full", usb_version="2.00", name="unknown device"
    )
    root = Device(id="usb2", parent="bus-2", root=True, hub=Hub())
    return Seen(
        Snapshot(system=System(os="macos"), controllers=(Controller(id="bus-2"),), devices=(device, root)), (LESS,)
    )


def looked(report=None, disks=DISKS):
    report = json.dumps(REPORT).encode() if report is None else report
    return look(Watcher(), usb, lambda _c: Answer(report), lambda _c: Answer(disks))


def test_both_looks_are_one_by_location():
    seen = looked()
    (device,) = [d for d in seen.snapshot.devices if not d.root]
    assert (device.id, device.name, device.usb_version, device.max_power_ma) == ("2-1", "Fader Bank", "2.00", 600)
    assert device.listing.location == "0x02100000"
    assert (seen.snapshot.system.board_model, seen.snapshot.system.firmware_version) == ("Invented1,1", "9.9")
    assert {s.kind for s in seen.signs} == {"macos_current_short", "no_bus_power", "macos_disk_raw"}
    assert LESS not in seen.notes


@pytest.mark.parametrize(
    "report", [b"", b"system_profiler: not found", b"{", b'{"SPUSBDataType": []}', b'{"SPUSBDataType": 3}']
)
def test_without_a_report_libusb_alone_speaks(report):
    seen = looked(report, b"<plist")
    assert [d.name for d in seen.snapshot.devices if not d.root] == ["unknown device"]
    assert NO_REPORT in seen.notes
    assert LESS in seen.notes


def test_warnings_before_the_report_do_no_harm():
    noise = b"2025-03-13 10:19:45.178 system_profiler[8:9] SPUSBDevice: failed 0xe00002be\n" * 7
    assert looked(noise + json.dumps(REPORT, indent=2).encode()).snapshot == looked().snapshot


def test_the_commands_are_asked_as_documented(tmp_path):
    path = tmp_path / "stand-in"
    path.write_text(f"#!{sys.executable}\nimport sys\nprint(' '.join(sys.argv[1:]))\n")
    path.chmod(path.stat().st_mode | stat.S_IXUSR)
    assert commands.ask_report(program=str(path)).output.decode().split() == list(commands.REPORT[1:])
    assert commands.ask_disks(program=str(path)).output.decode().split() == list(commands.DISKS[1:])
    for line in (" ".join(commands.REPORT), " ".join(commands.DISKS)):
        assert line in (commands.__doc__ or "")
