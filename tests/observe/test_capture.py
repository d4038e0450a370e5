"""What is recorded of a machine: what the observers read, whole, and nothing else."""

import threading
from collections.abc import Sequence
from pathlib import Path

import pytest
from sysfs_builder import SysfsTree

from wizard.observe.capture import record
from wizard.observe.linux import look
from wizard.observe.seen import Watcher
from wizard.observe.sysfs.disk import DiskTree
from wizard.observe.sysfs.tree import ATTRIBUTE_LIMIT, Reading


@pytest.fixture
def machine(tmp_path: Path) -> SysfsTree:
    made = SysfsTree(tmp_path / "tree")
    made.root_hub()
    made.hub("1-1")
    made.device("1-1.2")
    return made


def test_every_device_and_its_way_from_the_listing_is_recorded(machine: SysfsTree) -> None:
    recorded = record(DiskTree(machine.root), Watcher())
    assert [d.id for d in recorded.snapshot.devices] == [d.id for d in look(machine.root).snapshot.devices]
    for device in recorded.snapshot.devices:
        assert f"sys/bus/usb/devices/{device.id}" in recorded.links
    assert sum(path.endswith("/descriptors") for path in recorded.files) == 3


def test_files_nobody_reads_are_not_recorded(machine: SysfsTree) -> None:
    (machine.folders["1-1.2"] / "diary").write_text("dear diary")
    (machine.root / "home").mkdir()
    (machine.root / "home/letter").write_text("dear reader")
    recorded = record(DiskTree(machine.root), Watcher())
    assert not [data for data in recorded.files.values() if b"dear" in data]


def test_input_devices_that_do_not_hang_on_the_bus_are_nobodys_business(machine: SysfsTree) -> None:
    folder = machine.root / "sys/devices/platform/radio/input/input7/event7"
    (folder / "device").mkdir(parents=True)
    (folder / "device/name").write_text("somebody's headset\n")
    listing = machine.root / "sys/class/input"
    listing.mkdir(parents=True)
    (listing / "event7").symlink_to("../../devices/platform/radio/input/input7/event7")
    recorded = record(DiskTree(machine.root), Watcher())
    assert not [path for path in (*recorded.files, *recorded.links) if "event7" in path]


def test_links_that_leave_the_tree_are_not_followed(machine: SysfsTree, tmp_path: Path) -> None:
    (tmp_path / "secret").write_text("secret")
    driver = machine.folders["1-1.2"] / "product"
    driver.unlink()
    driver.symlink_to(tmp_path / "secret")
    recorded = record(DiskTree(machine.root), Watcher())
    assert b"secret" not in recorded.files.values()


class _Stuck(DiskTree):
    """A tree in which one file never comes back until told to."""

    def __init__(self, top: Path, go_on: threading.Event) -> None:
        super().__init__(top)
        self._go_on = go_on

    def read_into(
        self, found: dict[str, Reading], folder: str, names: Sequence[str], limit: int = ATTRIBUTE_LIMIT
    ) -> None:
        if folder.endswith("/1-1") and "serial" in names:
            self._go_on.wait(20)
        super().read_into(found, folder, names, limit)


def test_what_is_stuck_is_left_out_and_comes_too_late(machine: SysfsTree) -> None:
    go_on = threading.Event()
    recorded = record(_Stuck(machine.root, go_on), Watcher())
    before = len(recorded.files)
    go_on.set()
    assert [d.id for d in recorded.snapshot.devices] == ["1-1", "1-1.2", "usb1"]
    assert not [path for path in recorded.files if path.endswith("/1-1/serial")]
    assert any(u.reason == "blocked" for d in recorded.snapshot.devices for u in d.unreadable)
    assert len(recorded.files) == before
