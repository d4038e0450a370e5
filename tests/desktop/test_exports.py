"""Files that the built-in commands of other systems write are opened in the window like a capture."""

import pytest

from wizard.bus.errors import BadInputError
from wizard.desktop.wired import WiredEngine
from wizard.observe.seen import Watcher

DEVICES = """[
  {"InstanceId": "USB\\\\VID_1234&PID_5678\\\\5&1A2B&0&3", "KeyName": "DEVPKEY_Device_DeviceDesc", "Data": "Knob"},
  {"InstanceId": "USB\\\\VID_1234&PID_5678\\\\5&1A2B&0&3", "KeyName": "DEVPKEY_Device_Class", "Data": "HIDClass"}
]"""


@pytest.fixture(scope="module")
def engine():
    return WiredEngine()


def test_a_file_of_devices_stands_for_the_other_computers_bus(engine, tmp_path):
    file = tmp_path / "usb-devices.json"
    file.write_text(DEVICES, "utf-8")
    look = engine.look_captured(file, Watcher(), None)
    assert any(d.vid == 0x1234 or "1234" in str(d.vid) for d in look.snapshot.devices)
    assert any("exported file" in note for note in look.notes)


def test_a_file_that_lists_no_devices_says_where_it_belongs(engine, tmp_path):
    file = tmp_path / "usb-log.txt"
    file.write_text("[ 1.0] usb 1-1: new high-speed USB device number 2 using xhci_hcd\n", "utf-8")
    with pytest.raises(BadInputError, match="lists no devices"):
        engine.look_captured(file, Watcher(), None)


def test_a_capture_of_linux_is_still_read_as_one(engine, tmp_path):
    with pytest.raises(BadInputError):
        engine.look_captured(tmp_path / "nothing.tar.gz", Watcher(), None)
