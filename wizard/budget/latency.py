"""How late an input can reach the host because of the bus alone: polling, translation and hubs.

A figure to hold a complaint against, never a fault: a limit does not exist. What the device, the driver and
the program add is not in it.
"""

from wizard.budget.bus_time import bus_speed, service_ns
from wizard.budget.entry import Entry, Part
from wizard.budget.polling import period_frames, period_microframes
from wizard.budget.scope import Scope
from wizard.budget.ways import translator_of
from wizard.bus.model import Device, Endpoint
from wizard.bus.tree import BusTree

INPUT_CLASS = 0x03
"""Human interface devices: USB-IF Defined Class Codes."""

TRANSLATION_MS = 1.0
"""A translated report is fetched in the frame after the one it was polled in, at the latest: USB 2.0 §11.18
(second-hand)."""

HUB_MS = {"low": 7e-5, "full": 7e-5, "high": 7.9e-5}
"""Delay of one hub: 70 ns at full speed (from memory), 36 bit times and 4 ns at high speed (USB 2.0 §7.1.14.2,
second-hand)."""


def latency_entries(tree: BusTree, scope: Scope) -> tuple[Entry, ...]:
    """`latency` of every input device in scope whose polling is known, in natural order."""
    entries = (_latency(tree, device) for device in scope.devices(tree))
    return tuple(e for e in entries if e is not None)


def _inputs(device: Device) -> list[Endpoint]:
    return [
        e
        for i in device.interfaces
        if i.class_code == INPUT_CLASS and (setting := i.current()) is not None
        for e in setting.endpoints
        if e.type == "interrupt" and e.is_in and e.interval_us > 0
    ]


def _latency(tree: BusTree, device: Device) -> Entry | None:
    speed = bus_speed(device.speed)
    polled = _inputs(device)
    if speed is None or not polled:
        return None
    controller = tree.controller_of(device.id)
    kind = controller.kind if controller is not None else "other"
    os = tree.snapshot.system.os

    def waits_ms(endpoint: Endpoint) -> float:
        if speed == "high":
            return period_microframes(endpoint, kind, os) / 8
        return float(period_frames(endpoint, speed, kind, os))

    slowest = max(polled, key=waits_ms)
    translator = translator_of(tree, device)
    translated = translator is not None and not translator.startswith("usb")
    hubs = len([d for d in tree.path(device.id)[1:] if not d.root])
    fixed = service_ns(speed, slowest) / 1e6 + hubs * HUB_MS[speed]
    worst = waits_ms(slowest) + fixed + (TRANSLATION_MS if translated else 0.0)
    return Entry(
        budget="latency",
        where=device.id,
        used=worst,
        limit=None,
        unit="ms",
        state="unknown",
        basis="declared",
        limit_basis="unknown",
        source="polling interval as the host uses it, USB 2.0 §5.7.4; translation §11.18; bus time §5.11.3",
        parts=(Part(who=device.id, endpoint=slowest.address, used=worst),),
        typical=waits_ms(slowest) / 2 + fixed + (TRANSLATION_MS / 2 if translated else 0.0),
    )
