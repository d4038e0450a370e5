"""How often hosts really serve a periodic endpoint: the power of two at or below what it declares, within what the
driver's schedule holds.

Linux's drivers are the measure where no other rule is published. For Windows' older stack (controllers other than xHCI)
its own table is: a low-speed endpoint is never served faster than every 8 ms, a high-speed one at least every 4 ms.
"""

from wizard.budget.bus_time import BusSpeed
from wizard.budget.schedule import power_of_two
from wizard.bus.model import ControllerKind, Endpoint

LONGEST_PERIOD: dict[ControllerKind, int] = {"uhci": 32, "ohci": 32, "ehci": 8, "xhci": 128, "other": 128}
"""Longest polling period in frames: the drivers' schedules hold 32 frames on UHCI and OHCI, 64 microframes on
EHCI (Linux 6.1, measured); xHCI polls slow endpoints every 128 ms (Linux xhci-mem.c, derived)."""

WINDOWS_OLDER: frozenset[ControllerKind] = frozenset({"uhci", "ohci", "ehci"})
"""Controllers that Windows' table speaks of: windows-driver-docs-ddi, usbspec, endpoint descriptor (confirmed)."""
WINDOWS_LOW_MS = (8, 32)
"""Shortest and longest period of a low-speed endpoint there, in ms; 16 lies between (confirmed)."""
WINDOWS_FULL_MS = 32
"""Longest period of a full-speed endpoint there, in ms (same document, from memory)."""
WINDOWS_HIGH = 32
"""Longest period of a high-speed interrupt endpoint there, in microframes (confirmed)."""
WINDOWS_LOW_FROM = {32: 36, 16: 16}
"""Declared ms from which a low-speed endpoint gets that period; everything shorter gets 8 ms (confirmed)."""


def is_windows_older(kind: ControllerKind, os: str | None) -> bool:
    """Whether Windows' own table holds here."""
    return os == "windows" and kind in WINDOWS_OLDER


def period_frames(endpoint: Endpoint, speed: BusSpeed, kind: ControllerKind, os: str | None = None) -> int:
    """Frames between two services of a low- or full-speed endpoint, as the host polls it."""
    declared = endpoint.interval_us // 1000
    if endpoint.type == "interrupt" and is_windows_older(kind, os):
        if speed == "low":
            return next((ms for ms, least in WINDOWS_LOW_FROM.items() if declared >= least), WINDOWS_LOW_MS[0])
        return power_of_two(declared, WINDOWS_FULL_MS)
    return power_of_two(declared, LONGEST_PERIOD[kind])


def period_microframes(endpoint: Endpoint, kind: ControllerKind, os: str | None = None) -> int:
    """Microframes between two services of a high-speed endpoint, as the host polls it.

    Linux's EHCI driver serves an interrupt endpoint of 2 or 4 microframes in every one (ehci-sched.c, measured).
    """
    declared = endpoint.interval_us // 125
    if endpoint.type == "interrupt" and is_windows_older(kind, os):
        return power_of_two(declared, WINDOWS_HIGH)
    slots = power_of_two(declared, 8 * min(LONGEST_PERIOD[kind], 32))
    return 1 if kind == "ehci" and endpoint.type == "interrupt" and slots < 8 else slots
