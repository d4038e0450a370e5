"""From the readers of macOS' files to an export: signs and snapshot of reports, registry listings and disk lists."""

from collections.abc import Mapping, Sequence
from typing import Any

from wizard.bus.drive import with_disks
from wizard.bus.errors import BadInputError
from wizard.bus.sign import Sign
from wizard.observe.exports.export import Export
from wizard.observe.macos import registry
from wizard.observe.macos.drives import drives_of
from wizard.observe.macos.report import MacBus, buses_in
from wizard.observe.macos.report_text import reports_in_plist
from wizard.observe.macos.signs import report_signs
from wizard.observe.macos.tree import snapshot_of
from wizard.observe.macos.volumes import disk_signs, disks_in

EMPTY = (
    "The USB report is empty. From macOS 26 on the old report stays empty even with devices plugged in: "
    "make it with 'system_profiler -json SPUSBHostDataType'."
)


def mac_report(reports: Sequence[Mapping[str, Any]]) -> Export:
    """One report, or the older and the newer part of one."""
    joined: dict[str, Any] = {}
    for report in reports:
        joined.update({name: part for name, part in report.items() if part or name not in joined})
    return _of_buses(buses_in(joined))


def mac_registry(text: str) -> Export:
    """A listing of `ioreg`."""
    export = _of_buses(registry.buses_in(text))
    refused = tuple(
        Sign(kind=kind, where=place.text, lines=(1,), text=f"asked for {current} mA, which was refused")
        for place, current in registry.refused_power(text)
        for kind in ("macos_power_refused", "no_bus_power")
    )
    return Export(export.of, (*export.signs, *refused), export.snapshot, export.notes, export.drives)


def mac_plist(value: Any, name: str) -> Export:
    """A USB report or a disk list as a property list. Raises BadInputError if it is neither."""
    report = reports_in_plist(value)
    if report:
        return mac_report([report])
    disks = disks_in(value)
    if not disks:
        raise BadInputError(name, "it is a property list, but holds no USB report and no disks", "Export it again.")
    return Export("macos", disk_signs(disks))


def _of_buses(buses: Sequence[MacBus]) -> Export:
    if not buses:
        return Export("macos", notes=(EMPTY,))
    snapshot = snapshot_of(buses)
    drives = drives_of(snapshot, buses, ())
    return Export("macos", report_signs(buses), with_disks(snapshot, drives), drives=drives)
