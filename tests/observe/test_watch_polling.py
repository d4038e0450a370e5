"""What changed between two looks is told once, in an order that makes sense."""

from pathlib import Path

from wizard.observe.sysfs.disk import DiskTree
from wizard.observe.usb_port import Answers, Listed
from wizard.observe.watch_listing import LibusbLister, SysfsLister
from wizard.observe.watch_polling import Present, differences


def kinds(before: dict[str, Present], after: dict[str, Present]) -> list[tuple[str, str]]:
    return [(c.kind, c.where) for c in differences(before, after)]


def test_nothing_changed_is_nothing_told() -> None:
    roll = {"usb1": Present(1), "1-1": Present(2, 480.0, "active", over_current={"1-1.1": 3})}
    assert kinds(roll, dict(roll)) == []


def test_a_hub_leaves_after_what_hangs_on_it_and_comes_before_it() -> None:
    tree = {"usb1": Present(1), "1-2": Present(2), "1-2.10": Present(4), "1-2.9": Present(3)}
    root = {"usb1": Present(1)}
    assert kinds(tree, root) == [("disconnect", "1-2.10"), ("disconnect", "1-2.9"), ("disconnect", "1-2")]
    assert kinds(root, tree) == [("connect", "1-2"), ("connect", "1-2.9"), ("connect", "1-2.10")]


def test_another_address_means_it_left_and_came_back_between_the_looks() -> None:
    assert kinds({"1-1": Present(5)}, {"1-1": Present(6)}) == [("disconnect", "1-1"), ("connect", "1-1")]


def test_speed_power_saving_and_too_much_current_are_told() -> None:
    before = {"1-1": Present(5, 5000.0, "active", 1, {"1-1.1": 0, "1-1.2": 4})}
    after = {"1-1": Present(5, 480.0, "suspended", 2, {"1-1.1": 2, "1-1.2": 4})}
    changes = list(differences(before, after))
    assert [c.kind for c in changes] == ["speed_changed", "reconfigured", "suspended", "over_current"]
    assert changes[0].text == "from 5000 to 480 Mbit/s"
    assert (changes[-1].where, changes[-1].count) == ("1-1.1", 2)
    assert kinds(after, {"1-1": Present(5, 480.0, "active", 2)}) == [("resumed", "1-1")]


def test_sockets_of_the_pc_that_doze_are_no_news() -> None:
    assert kinds({"usb1": Present(1, state="active")}, {"usb1": Present(1, state="suspended")}) == []


def tree_with(tmp_path: Path, name: str, **attributes: str) -> None:
    folder = tmp_path / "sys/bus/usb/devices" / name
    for attribute, value in attributes.items():
        file = folder / attribute.replace("__", "/")
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(f"{value}\n")


def test_linux_lists_what_can_be_read_without_waiting(tmp_path: Path) -> None:
    tree_with(tmp_path, "usb1", devnum="1", speed="480", maxchild="2", power__runtime_status="active")
    port = tmp_path / "sys/bus/usb/devices/usb1/1-0:1.0/usb1-port2/over_current_count"
    port.parent.mkdir(parents=True)
    port.write_text("7\n")
    tree_with(tmp_path, "1-2", devnum="3", speed="1.5")
    tree_with(tmp_path, "1-9", speed="12")  # left while it was read: without a number
    tree_with(tmp_path, "junk", devnum="3")
    roll = SysfsLister(lambda: DiskTree(tmp_path)).take()
    assert roll == {
        "usb1": Present(1, 480.0, "active", over_current={"1-2": 7}),
        "1-2": Present(3, 1.5, None, over_current={}),
    }


def test_values_that_make_no_sense_are_unknown(tmp_path: Path) -> None:
    tree_with(tmp_path, "1-2", devnum="3", speed="9" * 400, maxchild="99999999", power__runtime_status="\x1b[31m")
    roll = SysfsLister(lambda: DiskTree(tmp_path)).take()
    assert roll is not None
    assert roll["1-2"].mbps is None
    assert roll["1-2"].state == "[31m"


def test_no_listing_is_no_roll(tmp_path: Path) -> None:
    assert SysfsLister(lambda: DiskTree(tmp_path)).take() is None


class Port:
    """libusb with a fixed list."""

    def __init__(self, *listed: Listed) -> None:
        self._listed = listed

    def listed(self) -> "list[Listed]":
        return list(self._listed)


def listed(bus: int, address: int, *ports: int, code: int = 9) -> Listed:
    return Listed(bus, address, ports, 3, bytes([18, 1, 0, 2, code]), None, Answers)


def test_libusb_gives_the_ids_of_a_look() -> None:
    lister = LibusbLister(Port(listed(1, 4, 2, 1), listed(1, 1), listed(2, 9, code=0)))  # type: ignore[arg-type]  # a list will do where the port gives an iterator
    roll = lister.take()
    assert roll is not None
    assert {name: one.address for name, one in roll.items()} == {"1-2.1": 4, "usb1": 1, "2-?9": 9}
    assert roll["1-2.1"].mbps == 480.0
