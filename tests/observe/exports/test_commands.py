"""The commands shown to people are the same everywhere, and what they give is read."""

import json
import tomllib
from pathlib import Path

from exported import export_of

ROOT = Path(__file__).parents[3]


def commands():
    texts = tomllib.loads((ROOT / "resources" / "texts" / "en" / "exports.toml").read_text("utf-8"))
    return [part["command"] for part in texts["exports"].values() if isinstance(part, dict)]


def test_the_window_and_the_readme_show_the_same_commands():
    readme = (ROOT / "README.md").read_text("utf-8")
    assert len(commands()) == 4
    assert all(f"\n{command}\n" in readme for command in commands())


def test_what_the_device_command_gives_is_a_bus():
    # The shape of Get-PnpDeviceProperty: one record for each property, also those without a value (Microsoft)
    root = "USB\\ROOT_HUB30\\4&1&0&0"
    path = "PCIROOT(0)#PCI(1400)#USBROOT(0)"
    properties = [
        (root, "DEVPKEY_Device_LocationPaths", [path]),
        (root, "DEVPKEY_Device_FriendlyName", None),
        ("USB\\VID_1234&PID_5678\\S1", "DEVPKEY_Device_LocationPaths", [f"{path}#USB(4)"]),
        ("USB\\VID_1234&PID_5678\\S1", "DEVPKEY_NAME", "Fader Bank"),
        ("USB\\VID_1234&PID_5678\\S1", "DEVPKEY_Device_ProblemCode", 10),
        ("USB\\VID_1234&PID_5678\\S1", "{a8b865dd-2e3d-4094-ad97-e593a70c75d6} 26", 7),
    ]
    text = json.dumps([dict(zip(("InstanceId", "KeyName", "Data"), p, strict=True)) for p in properties])
    export = export_of(text.encode("utf-16"))
    assert {d.id: d.name for d in export.snapshot.devices if not d.root} == {"1-4": "Fader Bank"}
    assert "windows_problem_10" in {s.kind for s in export.signs}
