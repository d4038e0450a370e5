"""The tree of the bus: what is plugged where, and which sockets are free."""

import pytest
from PySide6.QtCore import Qt

from wizard.bus.model import Device, Hub, Snapshot, Socket
from wizard.desktop.widgets.bus_view import BusView


def line_below(qtbot, snapshot, hub):
    """The quiet line about free sockets below a hub."""
    view = BusView()
    qtbot.addWidget(view)
    view.show_snapshot(snapshot)
    item = view.findItems(hub, Qt.MatchFlag.MatchContains | Qt.MatchFlag.MatchRecursive)[0]
    lines = [item.child(i) for i in range(item.childCount()) if item.child(i).text(0).startswith("free")]
    assert len(lines) == 1
    assert lines[0].data(0, Qt.ItemDataRole.CheckStateRole) is None
    return lines[0].text(0)


ROOT = Device(id="usb1", root=True, hub=Hub(ports=3), name="Root hub")
HUB = Device(id="1-1", parent="usb1", hub=Hub(ports=5), name="Desk hub")


def test_the_free_sockets_of_a_hub_are_named_by_number(qtbot):
    snapshot = Snapshot(
        devices=(ROOT, HUB, Device(id="1-1.1", parent="1-1", name="Camera"), Device(id="1-1.3", parent="1-1")),
        sockets=tuple(Socket(id=f"1-1.{n}", hub="1-1") for n in range(1, 6)),
    )
    assert line_below(qtbot, snapshot, "Desk hub") == "free: 2, 4, 5"


def test_without_a_list_of_sockets_the_number_of_ports_tells(qtbot):
    snapshot = Snapshot(devices=(ROOT, HUB, Device(id="1-1.1", parent="1-1"), Device(id="1-1.3", parent="1-1")))
    assert line_below(qtbot, snapshot, "Desk hub") == "free: 2, 4, 5"


@pytest.mark.parametrize(("ports", "told"), [(None, "free: unknown"), (1, "free: none")])
def test_a_full_hub_and_one_that_does_not_tell_are_not_the_same(qtbot, ports, told):
    hub = HUB.model_copy(update={"hub": Hub(ports=ports)})
    assert line_below(qtbot, Snapshot(devices=(ROOT, hub, Device(id="1-1.1", parent="1-1"))), "Desk hub") == told


def test_a_socket_is_taken_if_its_other_half_is_and_ports_led_nowhere_do_not_count(qtbot):
    snapshot = Snapshot(
        devices=(ROOT, Device(id="usb2", root=True, hub=Hub(ports=4)), Device(id="2-1", parent="usb2", name="Drive")),
        sockets=(
            Socket(id="1-1", hub="usb1", usable=True, peer="2-1"),
            Socket(id="1-2", hub="usb1", usable=False),
            Socket(id="1-3", hub="usb1", usable=True, built_in=True),
            Socket(id="1-4", hub="usb1", usable=True),
            Socket(id="1-5", hub="usb1"),
        ),
    )
    assert line_below(qtbot, snapshot, "Bus 1") == "free: 4; free, if led out at all: 5"
