"""Captured trees of a real kernel: what we say of a bus against what that kernel itself listed.

`sys/kernel/debug/usb/devices` in a capture is the kernel's own reading of the same devices
(Documentation/driver-api/usb/usb.rst); our observer never looks at it.
"""

import re
import tarfile
from pathlib import Path

import pytest

from wizard.bus.model import MBPS
from wizard.observe.captured import look
from wizard.observe.words import clean

CAPTURES = sorted((Path(__file__).parents[1] / "reference/captures").glob("*.tar.gz"))
TYPES = {"Ctrl": "control", "Isoc": "isochronous", "Bulk": "bulk", "Int.": "interrupt"}


@pytest.fixture(params=CAPTURES, ids=lambda path: path.name.removesuffix(".tar.gz"), scope="module")
def capture(request):
    return look(request.param), listed(request.param)


def listed(path):
    """The kernel's listing as one dictionary per device, by the device's id."""
    with tarfile.open(path) as archive:
        text = archive.extractfile("sys/kernel/debug/usb/devices").read().decode("utf-8", "replace")
    devices, by_number = {}, {}
    for block in text.split("\nT:")[1:]:
        lines = ("T:" + block).splitlines()
        top = dict(re.findall(r"(\w+)#?= *([\w.]+)", lines[0]))
        bus, parent, port = int(top["Bus"]), int(top["Prnt"]), int(top["Port"]) + 1
        if parent == 0:
            identifier = f"usb{bus}"
        else:
            above = by_number[bus, parent]
            identifier = f"{bus}-{port}" if above.startswith("usb") else f"{above}.{port}"
        by_number[bus, int(top["Dev"])] = identifier
        devices[identifier] = {"top": top, "lines": lines[1:]}
    return devices


def fields(lines, letter):
    return [line for line in lines if line.startswith(letter + ":")]


def in_use(lines):
    """The lines of the configuration in use, which is marked with a star."""
    start = next(n for n, line in enumerate(lines) if line.startswith("C:*"))
    end = next((n for n, line in enumerate(lines) if n > start and line.startswith("C:")), len(lines))
    return lines[start:end]


def test_there_are_captures_of_every_kind():
    assert len(CAPTURES) == 10


def test_the_same_devices_are_there(capture):
    seen, kernel = capture
    assert {d.id for d in seen.snapshot.devices} == set(kernel)


def test_speed_and_number_of_sockets_agree(capture):
    seen, kernel = capture
    for device in seen.snapshot.devices:
        top = kernel[device.id]["top"]
        assert device.mbps == MBPS[device.speed] == float(top["Spd"])
        assert (device.hub.ports if device.hub else 0) == int(top["MxCh"])


def test_identity_agrees(capture):
    seen, kernel = capture
    for device in seen.snapshot.devices:
        lines = kernel[device.id]["lines"]
        version, class_code = re.search(r"Ver= *([\d.]+) Cls=(..)", fields(lines, "D")[0]).groups()
        vendor, product, release = re.search(
            r"Vendor=(\w+) ProdID=(\w+) Rev= *([\w.]+)", fields(lines, "P")[0]
        ).groups()
        assert (device.usb_version, device.class_code) == (version, int(class_code, 16))
        assert (device.vid, device.pid, device.release) == (vendor, product, release)


def test_names_agree_once_cleaned(capture):
    seen, kernel = capture
    for device in seen.snapshot.devices:
        block = "\n".join(kernel[device.id]["lines"])
        for told, label in ((device.product, "Product"), (device.manufacturer, "Manufacturer")):
            match = re.search(rf"^S:  {label}=(.*?)(?=\n[A-Z]:|\Z)", block, re.MULTILINE | re.DOTALL)
            expected = clean(match[1]) if match else ""
            # The listing has room for 100 characters of a text; the attribute is whole.
            assert (told or "")[: len(expected) if len(expected) >= 100 else None] == expected


def test_configuration_in_use_and_declared_power_agree(capture):
    seen, kernel = capture
    for device in seen.snapshot.devices:
        (line,) = [line for line in fields(kernel[device.id]["lines"], "C") if line.startswith("C:*")]
        count, value, attributes, power = re.search(
            r"#Ifs= *(\d+) Cfg#= *(\d+) Atr=(..) MxPwr= *(\d+)mA", line
        ).groups()
        assert len(device.interfaces) == int(count)
        # Interfaces of no number leave the configuration to an attribute; both ways must give it.
        assert device.configuration == int(value)
        assert device.max_power_ma == int(power)
        assert device.self_powered == bool(int(attributes, 16) & 0x40)


def test_interfaces_settings_and_drivers_agree(capture):
    seen, kernel = capture
    for device in seen.snapshot.devices:
        told = {
            (i.number, a.number, i.active_alternate == a.number, len(a.endpoints), i.driver or "(none)")
            for i in device.interfaces
            for a in i.alternates
        }
        expected = {
            (int(n), int(alternate), star == "*", int(count), driver)
            for star, n, alternate, count, driver in (
                re.match(r"I:(.) If#= *(\d+) Alt= *(\d+) #EPs= *(\d+) .*Driver=(.*)", line).groups()
                for line in fields(in_use(kernel[device.id]["lines"]), "I")
            )
        }
        assert told == expected


def test_every_endpoint_agrees_as_the_kernel_uses_it(capture):
    """Type, packet size and interval, those that had to be repaired included."""
    seen, kernel = capture
    for device in seen.snapshot.devices:
        told = [
            (e.address, e.type, e.max_packet * (e.transactions if device.speed == "high" else 1), e.interval_us)
            for i in device.interfaces
            for a in i.alternates
            for e in a.endpoints
        ]
        expected = []
        for line in fields(in_use(kernel[device.id]["lines"]), "E"):
            address, kind, packet, interval, unit = re.match(
                r"E: +Ad=(..)\(.\) Atr=..\((....)\) MxPS= *(\d+) Ivl=(\d+)(.s)", line
            ).groups()
            periodic = kind in ("Isoc", "Int.")
            microseconds = int(interval) * (1000 if unit == "ms" else 1) if periodic else 0
            expected.append((int(address, 16), TYPES[kind], int(packet), microseconds))
        assert told == expected


def test_every_device_hangs_on_a_hub_or_controller_that_is_there(capture):
    seen, _ = capture
    controllers = {c.id for c in seen.snapshot.controllers}
    devices = {d.id for d in seen.snapshot.devices}
    for device in seen.snapshot.devices:
        assert device.parent in (controllers if device.root else devices)


def test_every_hub_has_one_socket_for_each_of_its_ports(capture):
    seen, _ = capture
    for device in seen.snapshot.devices:
        sockets = [s for s in seen.snapshot.sockets if s.hub == device.id]
        assert len(sockets) == (device.hub.ports if device.hub else 0)


def test_both_halves_of_a_socket_name_each_other(capture):
    seen, _ = capture
    peers = {s.id: s.peer for s in seen.snapshot.sockets if s.peer}
    assert all(peers.get(peer) == identifier for identifier, peer in peers.items())


def test_controllers_are_told_apart_and_know_their_slots():
    basic = look(next(p for p in CAPTURES if p.name.startswith("basic"))).snapshot
    kinds = {c.id: (c.kind, c.slot_limit) for c in basic.controllers}
    assert kinds == {
        # HCSPARAMS1 = 0x08001040 in this capture: 64 slots (xHCI 1.2 §5.3.3)
        "0000:00:08.0": ("xhci", 64),
        "0000:00:07.0": ("uhci", None),
        "0000:00:1c.0": ("uhci", None),
        "0000:00:1c.1": ("uhci", None),
        "0000:00:1c.2": ("uhci", None),
        "0000:00:1c.7": ("ehci", None),
    }
    assert {s.generation for s in basic.sockets if s.hub in ("usb6", "usb7")} == {"usb3"}
    assert {s.generation for s in basic.sockets if s.hub == "usb1"} == {"usb2"}


def test_descriptors_the_kernel_complained_about_are_told_and_no_others():
    hostile = look(next(p for p in CAPTURES if p.name.startswith("hostile"))).snapshot
    troubled = {d.id for d in hostile.devices if d.unreadable}
    # The same capture's kernel log: "config index 0 descriptor too short", "invalid descriptor of length 1",
    # "invalid maxpacket 2000", "descriptor too short" name these four among the devices that came up.
    assert troubled == {"1-7", "1-8", "1-9", "1-10"}
    assert all(u.reason == "garbled" for d in hostile.devices for u in d.unreadable)


def test_every_repair_the_kernel_made_is_told():
    path = next(p for p in CAPTURES if p.name.startswith("odd"))
    with tarfile.open(path) as archive:
        log = archive.extractfile("dmesg").read().decode("utf-8", "replace")
    repaired = set(re.findall(r"usb (\d+-\d+): config 1 .*(?:invalid|duplicate|is Bulk)", log))
    assert len(repaired) == 11
    assert {d.id for d in look(path).snapshot.devices if d.unreadable} == repaired


def test_hostile_names_can_not_steer_a_terminal():
    hostile = look(next(p for p in CAPTURES if p.name.startswith("hostile"))).snapshot
    texts = [t for d in hostile.devices for t in (d.name, d.product, d.manufacturer, d.serial) if t]
    assert any("<script>" in text for text in texts)  # plain text stays as it is; escaping is the reader's
    assert all(text.isprintable() for text in texts)


def test_five_hubs_in_a_row_are_followed_to_the_keyboard():
    deep = look(next(p for p in CAPTURES if p.name.startswith("deep"))).snapshot
    assert max(d.id.count(".") for d in deep.devices) == 5


def test_a_capture_of_another_machine_is_not_taken_for_this_one():
    seen = look(CAPTURES[0])
    assert seen.snapshot.system.os == "linux"
    assert seen.snapshot.system.kernel.startswith("6.1")
