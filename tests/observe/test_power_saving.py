"""Power saving as Linux's files tell it: Documentation/ABI/testing/sysfs-bus-usb and sysfs-devices-power."""

from pathlib import Path

import pytest
from sysfs_builder import SysfsTree

from wizard.bus.model import PowerSaving
from wizard.observe.linux import look


def saving(tree: SysfsTree, name: str) -> PowerSaving:
    found = next(d for d in look(tree.root).snapshot.devices if d.id == name).power_saving
    assert found is not None
    return found


@pytest.fixture
def tree(tmp_path: Path) -> SysfsTree:
    made = SysfsTree(tmp_path / "tree")
    made.root_hub()
    return made


def test_resting_states_of_the_cable_are_read_on_both_sides_of_the_bus(tree: SysfsTree) -> None:
    tree.device("1-1", **{"power/usb2_hardware_lpm": "y"})
    lpm = {"power/usb3_hardware_lpm_u1": "enabled", "power/usb3_hardware_lpm_u2": "disabled"}
    tree.device("1-2", speed="5000", **lpm)
    tree.device("1-3", **{"power/usb2_hardware_lpm": "n"})
    tree.device("1-4")
    assert [saving(tree, f"1-{n}").link_states for n in range(1, 5)] == [("l1",), ("u1",), (), None]


def test_whether_it_has_slept_is_read(tree: SysfsTree) -> None:
    tree.device("1-1", **{"power/runtime_suspended_time": "0"})
    tree.device("1-2", **{"power/runtime_suspended_time": "81234"})
    assert [saving(tree, f"1-{n}").has_slept for n in (1, 2)] == [False, True]


def test_a_delay_of_less_than_nothing_keeps_it_awake(tree: SysfsTree) -> None:
    """driver-api/usb/power-management: a negative delay prevents autosuspend."""
    tree.device("1-1", **{"power/autosuspend_delay_ms": "-1000"})
    assert (saving(tree, "1-1").allowed, saving(tree, "1-1").may_sleep) == (True, False)
