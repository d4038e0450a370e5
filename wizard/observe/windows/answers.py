"""What the one PowerShell process said, section by section, as values: strict, and content with what came.

Knows the sections of the script in `powershell`; reading one record is for others.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from wizard.bus.errors import BadInputError
from wizard.bus.model import Snapshot, System
from wizard.bus.sign import Sign
from wizard.observe.exports.decoding import text_of
from wizard.observe.exports.json_values import Value, start_of_json, values_in
from wizard.observe.exports.records import Record
from wizard.observe.exports.windows import Found, sorted_out
from wizard.observe.windows.devices import WinDevice
from wizard.observe.windows.disk_signs import disk_signs, not_usb, others_letters
from wizard.observe.windows.disks import WinDisk, WinVolume
from wizard.observe.windows.power import PowerPlan, plan_in, plan_note
from wizard.observe.windows.signs import WindowsSigns
from wizard.observe.windows.times import day_of
from wizard.observe.windows.tree import snapshot_of
from wizard.observe.words import clean

_RECORDS = ("devices", "properties", "disks", "events")
_GUESTS = ("vmware", "virtualbox", "virtual machine", "qemu", "kvm", "parallels", "xen", "bochs", "hvm domu")
"""Words in maker or model by which machines inside another are known: common practice (no source)."""

GUEST = (
    "This looks like a computer inside another one ({name}): it has only the USB devices that are passed on to it, "
    "and sockets, supply and controllers are not the real ones."
)


@dataclass(frozen=True)
class Told:
    """Snapshot, signs and sentences from what Windows said; `sections` are those that came, `disks` and
    `volumes` as listed."""

    snapshot: Snapshot
    signs: tuple[Sign, ...]
    notes: tuple[str, ...]
    sections: frozenset[str]
    disks: tuple[WinDisk, ...] = ()
    volumes: tuple[WinVolume, ...] = ()


def told_in(output: bytes) -> Told:
    """The answer taken apart. Nothing usable gives an empty snapshot; never raises."""
    sections = _sections(output)
    records = [Value(item, 0) for name in _RECORDS for item in sections.get(name, ())]
    found = sorted_out(records)
    plan = plan_in("\n".join(line for line in sections.get("plan", ()) if isinstance(line, str)))
    devices = _with_switches(found.devices, sections.get("switches", ()), plan)
    system, guest = _system(sections.get("system", ()))
    notes = [note for note in (GUEST.format(name=guest) if guest else None, plan_note(plan)) if note]
    return Told(
        snapshot_of(devices, system),
        _signs(found, devices),
        tuple(notes),
        frozenset(sections),
        tuple(found.disks),
        tuple(found.volumes),
    )


def _sections(output: bytes) -> dict[str, Sequence[Any]]:
    text = text_of(output)
    start = start_of_json(text)
    if start is None:
        return {}
    try:
        values, _ = values_in(text, start, "the answer of Windows")
    except BadInputError:
        return {}
    found: dict[str, Sequence[Any]] = {}
    for value in values:
        if isinstance(value.value, Mapping) and isinstance(value.value.get("section"), str):
            items = value.value.get("items")
            found[value.value["section"]] = items if isinstance(items, list) else [items]
    return found


def _signs(found: Found, devices: Sequence[WinDevice]) -> tuple[Sign, ...]:
    signs = WindowsSigns(devices, not_usb(found.disks), others_letters(found.disks, found.volumes))
    for device in devices:
        if device.is_here:  # what was unplugged long ago is no sign of anything now
            signs.device(device)
    for event in found.events:
        signs.event(event)
    return (*signs.signs(), *disk_signs(found.disks, found.volumes))


def _with_switches(devices: Sequence[WinDevice], switches: Sequence[Any], plan: PowerPlan) -> list[WinDevice]:
    """Whether each device may be put to sleep: never if the plan forbids it, else by the device's own switch."""
    told: dict[str, bool] = {}
    for item in switches:
        record = Record(item) if isinstance(item, Mapping) else None
        name, flag = (record.text("instancename"), record.flag("enable")) if record else (None, None)
        if name and flag is not None:
            told[clean(name).upper().removesuffix("_0")] = flag
    if plan.may_suspend is False:
        return [replace(device, switches_off=False) for device in devices]
    return [replace(device, switches_off=told.get(device.key)) for device in devices]


def _system(items: Sequence[Any]) -> tuple[System, str | None]:
    """The machine, and its name if it is a guest of another."""
    joined: dict[str, Any] = {}
    for item in items:
        if isinstance(item, Mapping):
            joined.update(item)
    record = Record(joined)

    def told(*names: str) -> str | None:
        text = record.text(*names)
        return clean(text) or None if text else None

    system = System(
        os="windows",
        version=told("caption"),
        kernel=told("version"),
        board_maker=told("boardmaker", "manufacturer"),
        board_model=told("boardmodel", "model"),
        firmware_version=told("smbiosbiosversion"),
        firmware_date=day_of(record.text("releasedate")),
    )
    name = " ".join(part for part in (told("manufacturer"), told("model")) if part)
    return system, name if any(word in name.lower() for word in _GUESTS) else None
