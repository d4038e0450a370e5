"""macOS' log text in its forms: hub count, power and the rest become signs at their location id.

Lines follow the wording of public reports; where none was found, the wording is invented after Apple's own names
(IOUSBHostFamilyDefinitions.h) and says so.
"""

import pytest
from exported import export_of, kinds

UNIFIED = (
    "2023-01-01 15:30:26.299126+0800 0x26c Default 0x0 0 0 kernel: (IOUSBHostFamily) 000644.852304 HS13@14900000: "
)
CONSOLE = "default\t12:41:13.975465-0400\tkernel\t000617.204586 AppleUSB20HubPort@fa140000: "
DMESG = "[116709.481242]: 116709.481240 AppleUSB20XHCIPort@01400000: "


@pytest.mark.parametrize(
    ("line", "where", "kind", "stamp"),
    [
        (CONSOLE + "AppleUSBHostPort::interruptOccurred: overcurrent detected with port status 0x4000", "0xfa140000",
         "over_current", "12:41:13.975465-0400"),
        (DMESG + "AppleUSBHostPort::disconnect: persistent enumeration failures", "0x01400000", "enumeration_failed",
         "116709.481242"),
        (UNIFIED + "AppleUSBHostPort::terminateDevice: destroying 0x1/2/3 (Hub): port is powering off", "0x14900000",
         "disconnect", "2023-01-01 15:30:26.299126+0800"),
        (UNIFIED + "AppleUSBHostPort::enumerateDeviceComplete_block_invoke: enumerated 0x1/2/3 (x) at 12 Mbps",
         "0x14900000", "connect", "2023-01-01 15:30:26.299126+0800"),
        (UNIFIED + "IOUSBHostDevice::start: capability descriptors are missing", "0x14900000", "descriptor_odd", None),
        ("USBF:\t12.669\tThe IOUSBFamily gave up enumerating a USB device.  (Port 2 of Hub at 0x15000000)",
         "0x15200000", "enumeration_failed", None),
        # Wording invented after Apple's names: no public line was found
        (UNIFIED + "AppleUSBHostResources: refused: kUSBHostReturnNoPower", "0x14900000", "no_bus_power",
         None),
        (UNIFIED + "IOUSBHostDevice: 0xe0005001 on setConfiguration", "0x14900000", "no_bus_power", None),
        (UNIFIED + "AppleUSBHub: hub count exceeded", "0x14900000", "hub_too_deep", None),
        (UNIFIED + "AppleUSBHub: device exceeds maximum tier limit", "0x14900000", "hub_too_deep", None),
        (UNIFIED + "IOUSBHostPipe: kIOReturnNotResponding", "0x14900000", "transfer_error", None),
    ],
)  # fmt: skip
def test_each_message_is_a_sign_at_its_place(line, where, kind, stamp):
    signs = {s.kind: s for s in export_of((line + "\n").encode()).signs}
    assert signs[kind].where == where
    assert any(name.startswith("macos_") and s.where == where for name, s in signs.items())
    if stamp is not None:
        assert signs[kind].first == stamp


def test_repeats_are_counted_and_other_lines_are_not():
    noise = "[116708.996811]: LQM-WiFi:TX(FF:FF) AC<SU MS NB> not responding\n"
    data = (noise + DMESG + "persistent enumeration failures\n") * 500
    assert kinds(data.encode())["enumeration_failed", "0x01400000"] == 500


def test_a_drive_that_left_without_being_ejected_is_told():
    line = "Nov 24 07:30:18 host diskarbitrationd[49]: removed disk, id = /dev/disk8s2 ; kind = disk disappeared\n"
    assert {kind for kind, _ in kinds(line.encode())} == {"macos_not_ejected", "storage_offline", "disconnect"}


def test_a_log_is_read_in_chunks_and_in_utf_16():
    data = (CONSOLE + "overcurrent detected\n").encode()
    assert kinds(data)["over_current", "0xfa140000"] == 1
    assert ("over_current", "0xfa140000") in kinds(data.decode().encode("utf-16"))
