"""Two looks at one bus in one: libusb's speeds and descriptors, the system's names, drivers and problems."""

from wizard.bus.listing import Listing
from wizard.bus.model import Controller, Device, Hub, Interface, Pci, Snapshot, Socket, System
from wizard.bus.tree import BusTree
from wizard.observe.merging import merged


def seen(*devices, bus=2, pci=("8086", "a36d")):
    root = Device(id=f"usb{bus}", parent=f"bus-{bus}", root=True, hub=Hub(), vid=pci[0], pid=pci[1])
    return Snapshot(
        controllers=(Controller(id=f"bus-{bus}", kind="xhci"),),
        devices=(*devices, root),
        sockets=tuple(Socket(id=d.id, hub=d.parent) for d in devices),
    )


def listed(*devices, bus=1, pci=("8086", "a36d")):
    owner = Controller(id="0000:00:14.0", kind="xhci", pci=Pci(vendor=pci[0], device=pci[1]))
    root = Device(id=f"usb{bus}", parent=owner.id, root=True, hub=Hub())
    return Snapshot(system=System(os="windows", board_maker="B"), controllers=(owner,), devices=(*devices, root))


def named(identifier, vid="1234", pid="5678", **more):
    return Device(
        id=identifier, parent=f"usb{identifier[0]}", vid=vid, pid=pid, name="Fader Bank",
        listing=Listing(instance_id=f"USB\\{identifier}"), **more,
    )  # fmt: skip


FADER = Device(id="2-3", parent="usb2", vid="1234", pid="5678", speed="full", max_power_ma=100, name="input device",
               interfaces=(Interface(number=0),))  # fmt: skip


def test_bus_numbers_are_libusbs_and_names_the_systems():
    both = merged(seen(FADER), listed(named("1-3", interfaces=(Interface(number=0, driver="HidUsb"),))))
    tree = BusTree(both)
    device = tree.devices["2-3"]
    assert (device.name, device.speed, device.max_power_ma) == ("Fader Bank", "full", 100)
    assert device.interfaces[0].driver == "HidUsb"
    assert tree.controller_of("2-3").id == "0000:00:14.0"
    assert both.system.board_maker == "B"
    assert [c.id for c in both.controllers] == ["0000:00:14.0"]


def test_a_device_only_the_system_knows_is_added():
    broken = Device(id="1-6", parent="usb1", name="Unknown", listing=Listing(instance_id="USB\\VID_0000", problem=43))
    both = merged(seen(FADER), listed(named("1-3"), broken))
    assert BusTree(both).devices["2-6"].listing.problem == 43


def test_two_that_disagree_about_a_socket_are_both_kept():
    both = merged(seen(FADER), listed(named("1-3", pid="9999"), named("1-4")))
    assert {"2-3", "?-2-3", "2-4"} <= {d.id for d in both.devices}
    assert BusTree(both).devices["?-2-3"].parent is None
    assert BusTree(both).devices["2-3"].listing is None


def test_buses_are_told_apart_by_who_sits_on_them():
    ours = seen(FADER)
    other = Device(id="usb5", parent="bus-5", root=True, hub=Hub())
    ours = ours.model_copy(
        update={"devices": (*ours.devices, other), "controllers": (*ours.controllers, Controller(id="bus-5"))}
    )
    theirs = listed(named("1-3"))
    spare = Device(id="usb2", parent="0000:05:00.0", root=True, hub=Hub())
    theirs = theirs.model_copy(
        update={
            "devices": (*theirs.devices, spare),
            "controllers": (*theirs.controllers, Controller(id="0000:05:00.0")),
        }
    )
    tree = BusTree(merged(ours, theirs))
    assert tree.devices["2-3"].name == "Fader Bank"
    assert tree.devices["usb2"].parent == "0000:00:14.0"
    assert len([d for d in tree.devices.values() if d.root]) == 3


def test_one_look_alone_stands_as_it_is():
    assert merged(Snapshot(), listed(named("1-3"))) == listed(named("1-3"))
    assert merged(seen(FADER), Snapshot(system=System(os="windows"))).devices == seen(FADER).devices
