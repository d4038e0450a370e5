"""Where input devices are, on trees captured from a real kernel and on ones made up."""

from pathlib import Path

import pytest

from wizard.observe.pace_places import find_places, forced_poll_ms, place_at, with_rights
from wizard.observe.rights import reading_refused
from wizard.observe.sysfs.archive import ArchiveTree, open_archive
from wizard.observe.sysfs.disk import DiskTree

CAPTURES = Path(__file__).parent.parent / "reference" / "captures"

# HID 1.11 Appendix B and E: a mouse's X and Y are `Input (Data, Variable, Relative)`, 81 06; a joystick's 81 02.
RELATIVE = bytes.fromhex("05010902a1010901a10005010930093115812581750895028106c0c0")
ABSOLUTE = bytes.fromhex("05010904a10109300931150026ff7f751095028102c0")


def captured(name: str) -> ArchiveTree:
    return open_archive(CAPTURES / f"{name}.tar.gz", lambda: None)


def test_event_and_raw_nodes_of_the_lab_joysticks_are_found_with_their_interfaces() -> None:
    found = {(p.kind, p.path): (p.device, p.interface, p.name) for p in find_places(captured("joystick"))}
    assert found[("event", "/dev/input/event3")] == ("1-1", 0, "Lab Lab joystick 1 kHz")
    assert found[("event", "/dev/input/event4")][0] == "1-2"
    assert found[("hidraw", "/dev/hidraw0")][:2] == ("1-1", 0)


@pytest.mark.parametrize("path", ["/dev/input/event3", "/dev/hidraw0"])
def test_a_node_is_found_by_its_path(path: str) -> None:
    place = place_at(captured("joystick"), path)
    assert place is not None
    assert place.device == "1-1"


@pytest.mark.parametrize("path", ["/dev/input/mouse0", "/dev/sda", "/dev/input/event3x", "event3", "/dev/hidraw", ""])
def test_other_paths_are_no_place(path: str) -> None:
    assert place_at(captured("joystick"), path) is None


def raw_tree(top: Path, descriptor: bytes) -> DiskTree:
    folder = top / "sys/class/hidraw/hidraw0/device"
    folder.mkdir(parents=True)
    (folder / "report_descriptor").write_bytes(descriptor)
    (folder / "uevent").write_text("DRIVER=hid-generic\nHID_NAME=Pier focus wheel\n")
    return DiskTree(top)


@pytest.mark.parametrize(
    ("descriptor", "relative"),
    [(RELATIVE, True), (ABSOLUTE, False), (b"\xfe\x03\x00abc" + ABSOLUTE, False), (b"", False)],
)
def test_a_raw_device_tells_ways_or_positions(tmp_path: Path, descriptor: bytes, relative: bool) -> None:
    (place,) = find_places(raw_tree(tmp_path, descriptor))
    assert (place.relative, place.name, place.device) == (relative, "Pier focus wheel", None)


def test_a_polling_interval_somebody_forced_on_the_kernel_is_known(tmp_path: Path) -> None:
    folder = tmp_path / "sys/module/usbhid/parameters"
    folder.mkdir(parents=True)
    (folder / "mousepoll").write_text("2\n")
    (folder / "jspoll").write_text("0\n")
    tree = DiskTree(tmp_path)
    assert [forced_poll_ms(tree, sort) for sort in ("mouse", "joystick", "keyboard", None)] == [2, None, None, None]


def test_an_empty_machine_has_no_places(tmp_path: Path) -> None:
    assert find_places(DiskTree(tmp_path)) == ()


def test_a_node_that_is_not_there_says_so_and_offers_no_right(tmp_path: Path) -> None:
    (place,) = find_places(raw_tree(tmp_path, ABSOLUTE))
    told = with_rights(place, None, None)
    if Path("/dev/hidraw0").exists():
        pytest.skip("this machine has such a node")
    assert (told.readable, told.mend) == (False, None)


def test_a_right_is_named_for_this_device_only() -> None:
    refusal = reading_refused("/dev/input/event3", "input", "1209", "0001")
    assert refusal.mend is not None
    assert "setfacl -m u:$USER:r /dev/input/event3" in refusal.mend
    assert 'ATTRS{idVendor}=="1209", ATTRS{idProduct}=="0001", TAG+="uaccess"' in refusal.mend
    assert "takes the right back" in refusal.mend
