"""A place that a log calls by the system's own name is said by the name of the device there."""

from wizard.bus.listing import Listing
from wizard.bus.model import Device, Snapshot
from wizard.bus.tree import BusTree
from wizard.report.words import place_words

LISTED = Listing(instance_id="USB\\VID_1234&PID_5678\\6&1&0&2", location="0x14200000", parts=("USBSTOR\\DISK\\X&0",))
TREE = BusTree(Snapshot(devices=(Device(id="1-2", parent="usb1", name="Fader Bank", listing=LISTED),)))


def test_the_device_is_named_whichever_of_its_names_is_used():
    for where in (
        "USB\\VID_1234&PID_5678\\6&1&0&2",
        "usb\\vid_1234&pid_5678\\6&1&0&2",
        "USBSTOR\\Disk\\X&0",
        "0x14200000",
    ):
        assert place_words(where, TREE) == f"Fader Bank ({where})"


def test_a_name_nobody_has_is_left_as_it_is():
    assert place_words("USB\\VID_9999", TREE) == "USB\\VID_9999"
