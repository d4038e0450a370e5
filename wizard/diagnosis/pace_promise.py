"""How often the host asks an input device for reports: what the device's descriptor promises, as the host keeps it.

Polling intervals: USB 2.0 §5.7.4 and Table 9-13, rounded to powers of two as hosts do (`wizard.budget.periodic`).
"""

from wizard.budget.bus_time import bus_speed
from wizard.budget.periodic import period_frames, period_microframes
from wizard.budget.schedule import power_of_two
from wizard.bus.model import ControllerKind, Device, Endpoint, Interface
from wizard.bus.tree import BusTree

INPUT_CLASS = 0x03
"""Human interface devices: USB-IF Defined Class Codes."""

_MOST_FORCED = 128


def promised_ms(tree: BusTree, device_id: str, interface: int | None, forced: int | None = None) -> float | None:
    """Milliseconds between two polls of an interface; of the fastest input interface where none is named.

    `forced` is an interval in ms that the system was told to use instead. None where nothing tells.
    """
    device = tree.devices.get(device_id)
    if device is None:
        return None
    controller = tree.controller_of(device_id)
    kind = controller.kind if controller is not None else "other"
    os = tree.snapshot.system.os
    if forced and device.speed in ("low", "full"):
        return float(power_of_two(forced, _MOST_FORCED))
    waits = [
        wait for endpoint in _endpoints(device, interface) if (wait := _wait_ms(device, endpoint, kind, os)) is not None
    ]
    return min(waits) if waits else None


def _endpoints(device: Device, number: int | None) -> list[Endpoint]:
    chosen = [i for i in device.interfaces if (i.number == number if number is not None else _is_input(i))]
    settings = [setting for i in chosen if (setting := i.current()) is not None]
    return [e for s in settings for e in s.endpoints if e.type == "interrupt" and e.is_in and e.interval_us > 0]


def _is_input(interface: Interface) -> bool:
    return interface.class_code == INPUT_CLASS


def _wait_ms(device: Device, endpoint: Endpoint, kind: ControllerKind, os: str | None) -> float | None:
    if device.is_super:
        return endpoint.interval_us / 1000
    speed = bus_speed(device.speed)
    if speed is None:
        return None
    if speed == "high":
        return period_microframes(endpoint, kind, os) / 8
    return float(period_frames(endpoint, speed, kind, os))
