"""The pace of a control on Windows and macOS, with stand-ins for hidapi. No such machine was at hand."""

import platform

import pytest

from wizard import wiring
from wizard.bus.errors import BadInputError
from wizard.bus.model import Device, Snapshot
from wizard.observe import pace_hid
from wizard.wiring import pacing_hid
from wizard.wiring.pacing_hid import control_devices, control_pace

BUS = Snapshot(devices=(Device(id="1-4", parent="usb1", vid="1234", pid="5678"), Device(id="1-5", parent="usb1")))


class Handle:
    def __init__(self, *reports):
        self.reports = list(reports)

    def read(self, _length, timeout_ms=0):
        if not self.reports:
            raise OSError("gone")
        return self.reports.pop(0)

    def close(self):
        pass


class Port:
    def __init__(self, usage=5, handle=None):
        self.usage, self.handle = usage, handle

    def listed(self):
        return [{"path": b"p1", "vendor_id": 0x1234, "product_id": 0x5678, "usage_page": 1, "usage": self.usage,
                 "product_string": "Invented Pad", "interface_number": 0}]  # fmt: skip

    def open(self, _path):
        if self.handle is None:
            raise OSError("open failed")
        return self.handle


def test_reports_are_counted_and_the_end_is_told():
    found = control_pace("1-4", 5.0, snapshot=BUS, port=Port(handle=Handle([1], [2], [3])))
    assert (found.reports, found.path, found.name, found.opened) == (3, "p1", "Invented Pad", True)
    assert "left the bus" in found.notes[0]


@pytest.mark.parametrize(
    ("device", "port", "words"),
    [
        ("1-4", Port(usage=2), "kept by the system"),
        ("1-4", Port(), "can't be opened"),
        ("1-5", Port(), "no input here"),
    ],
)
def test_what_can_not_be_measured_says_why(device, port, words):
    found = control_pace(device, 5.0, snapshot=BUS, port=port)
    assert not found.opened
    assert words in found.notes[0]
    assert found.verdict == "no_reports"


def test_without_the_library_nothing_is_guessed(monkeypatch):
    monkeypatch.setattr(pacing_hid, "open_hidapi", lambda: None)
    assert control_pace("1-4", 5.0, snapshot=BUS).notes == (pace_hid.NO_HIDAPI,)
    assert control_devices(BUS) == ()


def test_a_name_nobody_has_is_refused():
    with pytest.raises(BadInputError, match="no device whose pace"):
        control_pace("9-9", 5.0, snapshot=BUS, port=Port())


def test_a_kept_control_is_offered_with_its_reason():
    (mouse,) = control_devices(BUS, Port(usage=2))
    assert not mouse.readable
    assert "Mice and keyboards" in (mouse.why or "")


@pytest.mark.parametrize("system", ["Windows", "Darwin"])
def test_these_systems_are_read_this_way(monkeypatch, system):
    monkeypatch.setattr(platform, "system", lambda: system)
    monkeypatch.setattr(pacing_hid, "open_hidapi", lambda: Port(usage=2))
    assert [d.path for d in wiring.pace_devices(BUS)] == ["p1"]
