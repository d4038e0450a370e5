"""Public outputs that may not be copied here: read in place, where somebody names a folder of them.

`PORTMEND_SYSTEM_SAMPLES` names it. What a person reads in each is written down here; files of other names need only be
read without a fault.
"""

import os
from pathlib import Path

import pytest
from exported import export_of

from wizard.observe.exports.sniffing import sort_of

FOLDER = Path(os.environ.get("PORTMEND_SYSTEM_SAMPLES", "."))
pytestmark = pytest.mark.skipif("PORTMEND_SYSTEM_SAMPLES" not in os.environ, reason="names no folder of samples")

SIGNS = {
    "event-text-411-usbxhci-problem-0x15.txt": {"windows_event_411", "windows_problem_21", "disconnect"},
    "event-text-disk-51-paging.txt": {"windows_event_51", "storage_io_error"},
    "event-text-kernelpnp-219-usbstor.txt": {"windows_event_219", "driver_failed"},
    "event-xml-kernelpnp-410-usbstor-unescaped.txt": {"windows_event_410", "connect"},
    "get-volume-full-repair-needed.txt": {"windows_volume_repair", "filesystem_error"},
    "pnputil-enum-devices-class-ports-disconnected-zh.txt": {"windows_problem_45", "disconnect"},
    "pnputil-problem-28-and-43.txt": set(),  # neither is on USB
    "get-pnpdevice-formatlist-phantom.txt": set(),  # a screen
    "setupapi-dev-log-no-driver-win7.log": set(),  # a PCI card
    "log-overcurrent-catalina.log": {"macos_over_current", "over_current"},
    "log-persistent-enumeration-failures.log": {"macos_gave_up", "enumeration_failed"},
    "log-iousbfamily-trouble-enumerating-10_9.log": {
        "macos_gave_up", "macos_trouble_enumerating", "enumeration_failed",
    },
    "log-ports-powering-off-and-enumerated.log": {
        "macos_terminated", "disconnect", "macos_enumerated", "connect", "macos_exclusive", "access_refused",
    },
    "diskutil-list-external-ntfs-apfs.plist.xml": {"macos_not_mounted"},
    "diskutil-list-external-apfs.plist.xml": set(),
    "spusb-json-m1pro-lg-ultrafine-unpartitioned-stick.json": {"macos_disk_raw"},
    "spusb-glpi-with-inserted-dvd.xml": {"macos_disk_raw"},  # a disc has none; the report does not call it a disc
}  # fmt: skip
DEVICES = {
    # Root hubs counted, one for each bus with a known number
    "pnputil-enum-devices-class-usb-zh.txt": 5,
    "wmi-7-cim_logicaldevice.txt": 8,
    "dxdiag-cuannan.txt": 4,
    "dxdiag-sagangromov.txt": 5,
    "dxdiag-zid0.txt": 2,
    "spusb-json-palm-fullspeed.json": 2,
    "spusb-json-m1pro-linux-volumes-comma-decimals.json": 5,
    "spusb-json-m1pro-lg-ultrafine-gpt-stick.json": 17,
    "usbhost-json-m4-samsung-t7.json": 4,
    "spusb-text-intel-dell-dock-7-hubs.txt": 27,
    "spusb-text-m1-nested-4port-hubs.txt": 3,
    "spusb-glpi3.xml": 18,
    "ioreg-iousb-m5-ch340-hub-filtered.txt": 5,
    "ioreg-iousbdevice-macbook2-1.txt": 9,
}


def files():
    return sorted(p for p in FOLDER.glob("*/*") if p.is_file()) if "PORTMEND_SYSTEM_SAMPLES" in os.environ else []


@pytest.mark.parametrize("path", files(), ids=lambda path: path.name)
def test_every_sample_is_known_for_what_it_is_and_read(path):
    data = path.read_bytes()
    assert sort_of(data[: 1 << 17]) is not None
    export = export_of(data)
    if path.name in SIGNS:
        assert {sign.kind for sign in export.signs} == SIGNS[path.name]
    if path.name in DEVICES:
        assert len(export.snapshot.devices) == DEVICES[path.name]


@pytest.mark.parametrize("path", files(), ids=lambda path: path.name)
def test_every_sample_is_read_as_utf_16_and_when_cut(path):
    text = path.read_bytes().decode("utf-8", "replace")
    if "<plist" not in text:
        assert {s.kind for s in export_of(text.encode("utf-16")).signs} >= SIGNS.get(path.name, set())
