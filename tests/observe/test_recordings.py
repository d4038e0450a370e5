"""Recorded hardware: the observer sees replayed devices as the recordings' own attributes describe them.

`umockdev-run` shows the recording below /sys to one command; the look runs there as on a live system.
"""

import re
import subprocess
import sys
from pathlib import Path

import pytest

from wizard.bus.model import Snapshot
from wizard.observe.captured import look

RECORDINGS = Path(__file__).parents[1] / "reference/recordings"
REPLAYED = sorted(RECORDINGS.glob("*.umockdev"))
LOOK = "from wizard.observe.live import look; print(look().snapshot.model_dump_json(by_alias=True))"
SPEEDS = {"1.5": "low", "12": "full", "480": "high", "5000": "super"}


def recorded_devices(path):
    """Attributes of every USB device in a recording, by id; text attributes lose their newline."""
    devices, current = {}, None
    for line in path.read_text("utf-8").splitlines():
        if line.startswith("P: "):
            name = line.rpartition("/")[2]
            is_device = re.fullmatch(r"usb\d+|\d+-[\d.]+", name)
            current = devices.setdefault(name, {}) if is_device else None
        elif current is not None and line.startswith("A: "):
            key, _, value = line[3:].partition("=")
            current[key] = unescaped(value).strip()
    return devices


def unescaped(value):
    """umockdev writes line ends as \\n and bytes outside ASCII as octal numbers."""
    raw = re.sub(rb"\\([0-7]{3})", lambda m: bytes([int(m[1], 8)]), value.replace("\\n", "\n").encode())
    return raw.decode("utf-8")


@pytest.mark.recorded
@pytest.mark.parametrize("path", REPLAYED, ids=lambda path: path.stem)
def test_replayed_devices_are_seen_as_they_were_recorded(path):
    done = subprocess.run(
        ["umockdev-run", "-d", str(path), "--", sys.executable, "-c", LOOK],
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
        cwd=Path(__file__).parents[2],
    )
    snapshot = Snapshot.model_validate_json(done.stdout)
    expected = recorded_devices(path)
    assert {d.id for d in snapshot.devices} == set(expected)
    for device in snapshot.devices:
        told = expected[device.id]
        assert device.speed == SPEEDS[told["speed"]]
        assert (device.vid, device.pid) == (told["idVendor"], told["idProduct"])
        assert device.usb_version == told["version"]
        assert device.configuration == int(told["bConfigurationValue"])
        assert device.max_power_ma == int(told["bMaxPower"].removesuffix("mA"))
        assert device.self_powered == bool(int(told["bmAttributes"], 16) & 0x40)
        assert (device.hub.ports if device.hub else 0) == int(told["maxchild"])
        assert (device.product or "") == told.get("product", "")
        assert device.unreadable == ()
        if "power/control" in told:
            assert device.power_saving.allowed == (told["power/control"] == "auto")
    assert {c.kind for c in snapshot.controllers} <= {"xhci", "ehci"}


@pytest.fixture(scope="module")
def machine_a():
    """A laptop's `sys` tree with port folders of an older kernel, and no listing of the bus."""
    return look(RECORDINGS / "machine-a.sysfs.tgz").snapshot


def test_a_tree_without_a_listing_is_walked(machine_a):
    assert len(machine_a.devices) == 16
    assert {d.id for d in machine_a.devices if d.root} == {"usb1", "usb2", "usb3", "usb4"}
    assert {d.speed for d in machine_a.devices} == {"low", "full", "high", "super"}


def test_controllers_are_known_by_what_their_root_hubs_say_when_nothing_else_tells(machine_a):
    assert {c.id: c.kind for c in machine_a.controllers} == {
        "0000:00:14.0": "xhci",
        "0000:00:1a.0": "ehci",
        "0000:00:1d.0": "ehci",
    }


def test_port_folders_of_older_kernels_are_sockets_too(machine_a):
    sockets = {s.id: s for s in machine_a.sockets}
    assert sockets["3-1"].hub == "usb3"
    assert sockets["1-1.5"].hub == "1-1"
    # connect_type of these ports in the recording: "hardwired" and "hotplug"
    assert (sockets["1-1.1"].usable, sockets["1-1.1"].built_in) == (True, True)
    assert (sockets["1-1.2"].usable, sockets["1-1.2"].built_in) == (True, False)
    assert sum(s.usable is False for s in machine_a.sockets) > 0  # "not used"


def test_a_camera_has_all_its_settings_and_shows_the_one_in_use(machine_a):
    (camera,) = [d for d in machine_a.devices if any(i.class_code == 0x0E for i in d.interfaces)]
    streaming = camera.interfaces[1]
    assert (streaming.driver, streaming.active_alternate, len(streaming.alternates)) == ("uvcvideo", 0, 12)
    assert streaming.current().endpoints == ()
    largest = max(e.max_packet * e.transactions for a in streaming.alternates for e in a.endpoints)
    assert largest > 1024  # a high-bandwidth setting: more than one packet in a microframe


def test_power_saving_is_read(machine_a):
    savings = {d.id: d.power_saving for d in machine_a.devices}
    # control "auto", status "active" and "suspended" in the recording
    assert (savings["usb3"].allowed, savings["usb3"].state) == (True, "active")
    assert savings["usb2"].state == "suspended"
    assert savings["3-2.1"].allowed is False


def test_high_speed_hubs_with_one_translator_say_so(machine_a):
    hubs = {d.id: d.hub.translator for d in machine_a.devices if d.hub}
    assert hubs == {
        "1-1": "single",
        "2-1": "single",
        "3-2": "single",
        "usb1": "none",
        "usb2": "none",
        "usb3": "none",
        "usb4": "none",
    }
