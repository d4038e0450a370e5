"""Current for a moment at start-up: what motors and disks may take before they take what they declare.

Typical figures, never a verdict: no descriptor tells a peak. What was told of a device comes first, then what its kind
is known for, then the class of a drive that declares enough to turn a disk.
"""

from collections.abc import Iterable
from math import fsum

from wizard.budget.entry import Part
from wizard.budget.limits import Limit
from wizard.budget.setup import Setup
from wizard.bus.model import Device
from wizard.bus.tree import BusTree

DISK_PEAK_MA = Limit(1000.0, "typical, from memory: a 2.5-inch disk running up on a USB 2 socket")
DISK_PEAK_SUPER_MA = Limit(1100.0, "typical, from memory: a 2.5-inch disk running up on a USB 3 socket")
"""The same as the kinds `disk_usb2` and `disk` have; a test holds them together."""

MAY_TURN_A_DISK_MA = 400
"""A bus-powered drive that declares less is a memory stick or a card reader: typical, from memory."""

STORAGE_CLASS = 0x08
"""Mass storage: USB-IF Defined Class Codes."""


def peak_of(device: Device, setup: Setup) -> float | None:
    """What a device may take for a moment at start-up in mA; None where nothing says it takes more than it declares."""
    told = setup.peak_ma.get(device.id)
    if told is not None:
        return told
    if device.typical is not None:
        return device.typical.peak_ma if not device.self_powered else None
    if device.self_powered or (device.max_power_ma or 0) < MAY_TURN_A_DISK_MA:
        return None
    if any(i.class_code == STORAGE_CLASS for i in device.interfaces):
        return (DISK_PEAK_SUPER_MA if device.is_super else DISK_PEAK_MA).value
    return None


def peak_together(tree: BusTree, parts: Iterable[Part], setup: Setup) -> float | None:
    """The sum in mA if all that run up do so at once, as after switching on; None if nothing here has a peak."""
    fed = tuple(parts)
    peaks = [peak_of(tree.devices[p.who], setup) if p.who in tree.devices else None for p in fed]
    if all(peak is None for peak in peaks):
        return None
    return fsum(max(p.used, peak or 0.0) for p, peak in zip(fed, peaks, strict=True))


def peak_words(peak: float | None, used: float | None, limit: float | None, one_socket: bool = False) -> str | None:
    """A sentence for a feed that bears what is declared but not the moment of start-up; None where it does."""
    if peak is None or limit is None or used is None or used > limit or peak <= limit:
        return None
    advice = "" if one_socket else ": switch them on one after another"
    return (
        f"For a moment at start-up motors and disks may take about {peak:g} mA here (typical), more than the "
        f"{limit:g} mA {'this socket owes' if one_socket else 'there are'}{advice}"
    )
