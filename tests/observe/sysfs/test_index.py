"""Names of devices, sockets and interfaces, and finding them in a tree however deep or odd."""

import pytest
from sysfs_builder import SysfsTree

from wizard.observe.sysfs.disk import DiskTree
from wizard.observe.sysfs.index import DevicePlace, device_of_interface, find_devices, is_device, socket_id


@pytest.mark.parametrize(
    ("name", "parent"),
    [("1-4", "usb1"), ("1-4.2", "1-4"), ("12-4.2.10", "12-4.2"), ("usb3", "0000:00:14.0")],
)
def test_the_name_of_a_device_tells_where_it_hangs(name, parent):
    assert DevicePlace(name, f"sys/devices/0000:00:14.0/{name}").parent == parent


@pytest.mark.parametrize(("hub", "port", "name"), [("usb1", 4, "1-4"), ("1-4", 2, "1-4.2"), ("usb12", 10, "12-10")])
def test_a_socket_is_called_what_a_device_in_it_would_be(hub, port, name):
    assert socket_id(hub, port) == name


@pytest.mark.parametrize(
    ("name", "owner"),
    [
        ("1-4:1.0", ("1-4", 1, 0)),
        ("1-4.2:2.11", ("1-4.2", 2, 11)),
        ("3-0:1.0", ("usb3", 1, 0)),
        ("1-4", None),
        ("usb1:1.0", None),
        ("1-4:1", None),
        ("1-..:1.0", None),
    ],
)
def test_the_name_of_an_interface_tells_its_device(name, owner):
    assert device_of_interface(name) == owner


@pytest.mark.parametrize("name", ["usb", "usb0", "usb1x", "1-0", "1-4.", "1-4..2", "1-4:1.0", "power", "١-٤"])
def test_other_names_are_no_devices(name):
    assert not is_device(name)


def test_root_hubs_in_the_listing_itself_have_no_known_controller(tmp_path):
    folder = tmp_path / "sys/bus/usb/devices/usb1"
    folder.mkdir(parents=True)
    (found,) = find_devices(DiskTree(tmp_path)).devices
    assert (found.id, found.parent) == ("usb1", "")


def test_walking_does_not_follow_links_and_ends(tmp_path):
    tree = SysfsTree(tmp_path / "tree", listing=False)
    tree.root_hub()
    tree.device("1-2")
    (tree.folders["1-2"] / "1-3").symlink_to("..")
    (tree.root / "sys/devices/again").symlink_to(".")
    assert [d.id for d in find_devices(DiskTree(tree.root)).devices] == ["1-2", "usb1"]


def test_a_tree_deeper_than_any_machine_is_walked_only_so_far(tmp_path):
    folder = tmp_path / "sys/devices"
    for _ in range(100):
        folder = folder / "d"
    (folder / "usb1").mkdir(parents=True)
    assert find_devices(DiskTree(tmp_path)).devices == ()
