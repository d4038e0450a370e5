"""Who hangs on whom, even where a snapshot contradicts itself."""

from builders import controller, device, hub, root, snapshot
from hypothesis import given
from hypothesis import strategies as st

from wizard.bus.model import Device
from wizard.bus.tree import BusTree, natural_key


def test_a_path_runs_from_the_device_to_its_root_hub() -> None:
    tree = BusTree(snapshot(controller(), root(), hub("1-1"), device("1-1.2")))
    assert [d.id for d in tree.path("1-1.2")] == ["1-1.2", "1-1", "usb1"]
    assert tree.controller_of("1-1.2") == controller()


def test_a_device_whose_hub_is_missing_has_no_root() -> None:
    tree = BusTree(snapshot(controller(), root(), device("1-1.2")))
    assert tree.root_of("1-1.2") is None
    assert tree.controller_of("1-1.2") is None


def test_a_ring_of_hubs_is_walked_once() -> None:
    ring = [Device(id="a", parent="b", hub={}), Device(id="b", parent="a", hub={})]
    tree = BusTree(snapshot(*ring))
    assert [d.id for d in tree.below("a")] == ["b"]
    assert [d.id for d in tree.path("a")] == ["a", "b"]


def test_ports_count_as_people_do() -> None:
    assert sorted(["1-10", "1-2", "1-1.10", "usb1"], key=natural_key) == ["1-1.10", "1-2", "1-10", "usb1"]


@given(st.lists(st.text()))
def test_any_ids_can_be_put_in_order(ids: list[str]) -> None:
    backwards = ids[::-1]
    assert sorted(ids, key=natural_key) == sorted(backwards, key=natural_key)
