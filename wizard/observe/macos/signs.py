"""Signs from macOS' USB report: a device that asks for more than its socket offers, hubs too deep, a drive without a
readable table, volumes that are not mounted. Places are location ids; raw kinds begin with `macos_`.
"""

from collections.abc import Sequence

from wizard.bus.sign import Sign
from wizard.observe.kernel_log_fold import Fold
from wizard.observe.macos.report import MacBus, MacDevice, devices_of
from wizard.observe.macos.tree import is_hub

MOST_HUBS = 5
"""External hubs in a row: USB 2.0 §4.1.1."""


def report_signs(buses: Sequence[MacBus]) -> tuple[Sign, ...]:
    """What a report says that is trouble, or may be."""
    fold = Fold()
    for device in devices_of(buses):
        where = device.place.text if device.place is not None else "-"
        name = device.name or "unnamed device"
        if device.used is not None and device.available is not None and device.used > device.available:
            text = f"{name} asks for {device.used} mA, its socket offers {device.available} mA"
            _add(fold, ("macos_current_short", "no_bus_power"), where, text)
        if is_hub(device) and device.place is not None and len(device.place.ports) > MOST_HUBS:
            _add(fold, ("macos_hub_depth", "hub_too_deep"), where, f"{name}: more than {MOST_HUBS} hubs in a row")
        _media(fold, device, where, name)
    return tuple(entry.sign() for entry in fold.entries())


def _media(fold: Fold, device: MacDevice, where: str, name: str) -> None:
    for medium in device.media:
        if medium.map_type == "unknown" and not medium.optical:
            _add(fold, ("macos_disk_raw",), where, f"{name}: no partition table that macOS knows")
        if medium.health is not None and medium.health.lower() in ("failing", "failed"):
            _add(fold, ("macos_disk_failing", "storage_io_error"), where, f"{name} is reported as failing")


def _add(fold: Fold, kinds: Sequence[str], where: str, text: str) -> None:
    for kind in kinds:
        fold.add(kind, where, 1, None, text.encode("utf-8", "replace"))
