"""A look on Windows, with stand-ins for PowerShell and libusb: what is missing is said, and nothing stops the look.

No real Windows was at hand: the answers follow Microsoft's documentation and public outputs.
"""

import json
import stat
import sys

import pytest

from wizard.bus.errors import CancelledError
from wizard.bus.model import Snapshot, System
from wizard.observe import asking
from wizard.observe.asking import Answer
from wizard.observe.libusb import LESS
from wizard.observe.seen import Seen, Watcher
from wizard.observe.windows import powershell
from wizard.observe.windows.answers import told_in
from wizard.observe.windows.look import look

DEVICE = "USB\\VID_1234&PID_5678\\6&1&0&2"
ROOT = "USB\\ROOT_HUB30\\4&1&0&0"
PATH = "PCIROOT(0)#PCI(1400)#USBROOT(0)"


def section(name, *items):
    return json.dumps({"section": name, "items": list(items)}, ensure_ascii=False)


ANSWER = "\r\n".join(
    [
        section("system", {"Manufacturer": "Invented", "Model": "Tower"},
                {"BoardMaker": "Invented", "BoardModel": "B7"},
                {"SMBIOSBIOSVersion": "1.2", "ReleaseDate": "/Date(1586720770628)/"},
                {"Caption": "Windows 11", "Version": "10.0.22631"}),
        section("devices", {"PNPDeviceID": ROOT, "Name": "USB-Root-Hub"},
                {"PNPDeviceID": DEVICE, "Name": "Eingabegerät", "ConfigManagerErrorCode": 10}),
        section("properties", {"InstanceId": ROOT, "DEVPKEY_Device_LocationPaths": [PATH]},
                {"InstanceId": DEVICE, "DEVPKEY_Device_LocationPaths": [f"{PATH}#USB(2)"],
                 "DEVPKEY_Device_BusReportedDeviceDesc": "Fader Bank", "DEVPKEY_Device_DriverVersion": "1.0"}),
        section("plan", "2a737441-1930-4402-8d77-b2bebba308a3", "48e6b7a6-50f5-4782-a5d4-53bb8f07e226",
                "AC: 0x00000001", "DC: 0x00000001"),
        section("switches", {"InstanceName": f"{DEVICE}_0", "Enable": True}),
        section("events", {"Id": 411, "ProviderName": "Microsoft-Windows-Kernel-PnP",
                           "Values": [DEVICE, "x.inf", "{}", "", "", "", "10", "0"]}),
    ]
)  # fmt: skip


def nothing(_watcher):
    return Seen(Snapshot(system=System(os="windows")), (LESS,))


def looked(output=None, trouble=None):
    output = ANSWER.encode() if output is None else output
    return look(Watcher(), nothing, lambda _cancelled: Answer(output, trouble))


def test_names_places_problems_and_switches_come_from_windows():
    seen = looked()
    (device,) = [d for d in seen.snapshot.devices if not d.root]
    assert (device.id, device.name, device.listing.problem) == ("1-2", "Fader Bank", 10)
    assert device.listing.driver.version == "1.0"
    assert device.power_saving.allowed is True
    assert seen.snapshot.system.board_model == "B7"
    assert seen.snapshot.system.firmware_date == "2020-04-12"
    assert {s.kind for s in seen.signs} == {"windows_problem_10", "windows_event_411", "driver_failed"}
    assert LESS not in seen.notes


def test_a_plan_that_forbids_sleep_beats_the_switch_of_a_device():
    (device,) = [
        d for d in looked(ANSWER.replace(": 0x00000001", ": 0x00000000").encode()).snapshot.devices if not d.root
    ]
    assert device.power_saving.allowed is False


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "cp1252", "cp850"])
def test_the_wrong_code_page_costs_accents_at_most(encoding):
    (device,) = [d for d in looked(ANSWER.encode(encoding)).snapshot.devices if not d.root]
    assert (device.id, device.listing.problem) == ("1-2", 10)


@pytest.mark.parametrize("trouble", ["missing", "slow", "failed", "too_long"])
def test_silence_is_said_and_the_look_goes_on(trouble):
    seen = looked(b"", trouble)
    assert any("stay unknown" in note for note in seen.notes)
    assert LESS in seen.notes
    assert seen.signs == ()


def test_what_came_before_the_time_was_up_counts():
    seen = looked(ANSWER[: ANSWER.index('{"section": "plan"') + 30].encode(), "slow")
    assert [d.id for d in seen.snapshot.devices if not d.root] == ["1-2"]
    assert any("did not answer in time" in note for note in seen.notes)


@pytest.mark.parametrize(
    "output", [b"", b"Access denied\r\n", b"{", b'{"section": 7}', b'{"section": "devices", "items": 3}', b"[]"]
)
def test_any_other_answer_is_no_answer(output):
    assert told_in(output).snapshot.devices == ()
    assert any("lists no USB devices" in note for note in looked(output).notes)


def test_a_machine_inside_another_is_said_to_be_one():
    notes = looked(ANSWER.replace('"Model": "Tower"', '"Model": "Virtual Machine"').encode()).notes
    assert any("inside another one (Invented Virtual Machine)" in note for note in notes)


def test_a_wish_to_stop_reaches_both():
    def see(watcher):
        raise CancelledError("looking")

    with pytest.raises(CancelledError):
        look(Watcher(cancelled=lambda: True), see, lambda _cancelled: Answer(trouble="cancelled"))


def stand_in(tmp_path, code):
    path = tmp_path / "powershell.exe"
    path.write_text(f"#!{sys.executable}\nimport sys, time\n{code}\n", "utf-8")
    path.chmod(path.stat().st_mode | stat.S_IXUSR)
    return str(path)


def test_one_process_is_started_without_profile_or_questions_and_says_it_all(tmp_path):
    program = stand_in(tmp_path, f"sys.stdout.buffer.write({ANSWER!r}.encode() if '-NoProfile' in sys.argv else b'')")
    seen = look(Watcher(), nothing, lambda cancelled: powershell.ask_windows(cancelled, program))
    assert [d.name for d in seen.snapshot.devices if not d.root] == ["Fader Bank"]


def test_a_slow_one_is_given_up_with_what_it_said(tmp_path, monkeypatch):
    monkeypatch.setattr(powershell, "SECONDS", 1.0)
    first = "\n".join(ANSWER.split("\r\n")[:3])
    program = stand_in(tmp_path, f"sys.stdout.buffer.write({first!r}.encode()); sys.stdout.flush(); time.sleep(60)")
    seen = look(Watcher(), nothing, lambda cancelled: powershell.ask_windows(cancelled, program))
    assert [d.id for d in seen.snapshot.devices if not d.root] == ["1-2"]


def test_ten_megabytes_of_answer_are_read(tmp_path):
    many = section("devices", *({"PNPDeviceID": f"USB\\VID_1&PID_2\\S{n}", "Name": "x" * 3000} for n in range(3300)))
    assert len(many) > 10_000_000
    program = stand_in(tmp_path, f"sys.stdout.write({many!r})")
    assert len(told_in(powershell.ask_windows(program=program).output).snapshot.devices) == 3300


def test_the_script_fits_a_command_line_and_is_one_argument():
    script = powershell.SCRIPT
    assert '"' not in script
    assert script.isascii()
    assert len(script) < 8000  # CreateProcess allows 32 767 characters
    assert script.count("{") == script.count("}")
    assert script.count("(") == script.count(")")
    # Only commands that read
    for verb in (
        "Set-",
        "Remove-",
        "Disable-",
        "Enable-",
        "Restart-",
        "Invoke-Expression",
        "Start-Process",
        "Out-File",
    ):
        assert verb not in script


def test_a_missing_powershell_is_no_fault():
    assert asking.ask(("/nowhere/powershell.exe",), 1.0).trouble == "missing"
