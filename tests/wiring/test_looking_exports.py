"""A look at an exported file: its devices take the place of this computer's, its signs are told."""

import json

import pytest

from wizard import wiring
from wizard.bus.errors import BadInputError
from wizard.bus.model import Device, Snapshot, System
from wizard.bus.sign import Sign
from wizard.observe import live
from wizard.observe.seen import Seen
from wizard.wiring.looking import read_signs

REPORT = {"SPUSBDataType": [{"_name": "USB31Bus", "_items": [
    {"_name": "Camera", "location_id": "0x01100000", "bus_power": "100", "bus_power_used": "500"}]}]}  # fmt: skip
EVENT = {"Id": 411, "ProviderName": "Microsoft-Windows-Kernel-PnP", "InstanceId": "USB\\VID_1&PID_2\\3", "Problem": 10}
OWN = Sign(kind="windows_problem_22", where="x")


@pytest.fixture(autouse=True)
def this_computer(monkeypatch):
    here = Snapshot(system=System(os="linux"), devices=(Device(id="usb1", root=True),))
    monkeypatch.setattr(live, "look", lambda *_: Seen(here, ("own note",), (OWN,)))


def looked(value):
    return wiring.look_live(log=iter([json.dumps(value).encode()]))


def test_a_file_that_lists_devices_is_looked_at_instead():
    look = looked(REPORT)
    assert [d.id for d in look.snapshot.devices] == ["1-1", "usb1"]
    assert {e.budget for e in look.ledger} >= {"port_current", "hub_depth"}
    assert {s.kind for s in look.signs} == {"macos_current_short", "no_bus_power"}
    assert any("exported file (macOS)" in note for note in look.notes)


def test_events_alone_leave_this_computers_bus_and_say_that_it_is_another():
    look = looked(EVENT)
    assert [d.id for d in look.snapshot.devices] == ["usb1"]
    assert {s.kind for s in look.signs} == {"windows_event_411", "windows_problem_10", "driver_failed"}
    assert any("log is from Windows" in note for note in look.notes)


def test_signs_of_the_systems_own_list_are_part_of_a_look():
    assert wiring.look_live().signs == (OWN,)


def test_a_broken_export_is_refused():
    with pytest.raises(BadInputError, match="broken or cut off"):
        wiring.look_live(log=iter([b'[{"Id": ']))


def test_a_case_keeps_going_with_a_broken_one():
    assert read_signs('[{"Id": ') == ()
    assert {s.kind for s in read_signs(json.dumps(EVENT))} == {
        "windows_event_411",
        "windows_problem_10",
        "driver_failed",
    }


def test_a_kernel_log_goes_to_its_own_reader():
    assert {s.kind for s in read_signs("usb 1-1: device descriptor read/64, error -71")} == {"descriptor_read_failed"}


def test_a_file_that_lists_devices_opens_as_a_capture_does(tmp_path):
    path = tmp_path / "usb-report.json"
    path.write_text(json.dumps(REPORT))
    look = wiring.look_captured(path)
    assert [d.id for d in look.snapshot.devices] == ["1-1", "usb1"]
    assert {s.kind for s in look.signs} == {"macos_current_short", "no_bus_power"}
    assert any("exported file (macOS)" in note for note in look.notes)


def test_a_file_of_events_is_no_capture_and_the_answer_says_where_it_belongs(tmp_path):
    path = tmp_path / "usb-events.json"
    path.write_text(json.dumps(EVENT))
    with pytest.raises(BadInputError, match=r"lists no devices.*--log"):
        wiring.look_captured(path)


def test_what_is_neither_a_capture_nor_a_list_is_refused_as_no_capture(tmp_path):
    path = tmp_path / "diary.txt"
    path.write_text("nothing much")
    with pytest.raises(BadInputError, match="archive"):
        wiring.look_captured(path)
