"""Limits with their origin. Numbers only; who is held against them is decided elsewhere.

`status` words: confirmed = read in the named document; second-hand = in a document that quotes it;
derived = arithmetic on such values; field value = measured or stated for some hardware, not for all.
"""

from typing import NamedTuple


class Limit(NamedTuple):
    """A limit and where it comes from."""

    value: float
    source: str


FRAME_US = Limit(900.0, "USB 2.0 §5.6.4 and §5.7.4: 90 % of a 1 ms frame (second-hand)")
MICROFRAME_US = Limit(100.0, "USB 2.0 §5.6.4 and §5.7.4: 80 % of a 125 us microframe (second-hand)")
TRANSLATOR_US = Limit(900.0, "USB 2.0 §11.18.1: a translator's full-speed bus, 90 % of a 1 ms frame (second-hand)")

UNIT_LOAD_MA = 100.0
"""One unit load at low to high speed: USB 2.0 §7.2.1 (confirmed)."""
UNIT_LOAD_SUPER_MA = 150.0
"""One unit load at SuperSpeed: USB 3.2 §11.4.5, as Linux core/hub.c has it (confirmed there)."""
FULL_LOAD_MA = Limit(500.0, "USB 2.0 §7.2.1: five unit loads of 100 mA (confirmed)")
FULL_LOAD_SUPER_MA = Limit(900.0, "USB 3.2 §11.4.5: six unit loads of 150 mA (as Linux core/hub.c has it, confirmed)")
BEHIND_BUS_POWERED_MA = Limit(UNIT_LOAD_MA, "USB 2.0 §7.2.1.1: 100 mA a socket of a bus-powered hub (second-hand)")
BEHIND_BUS_POWERED_SUPER_MA = Limit(
    UNIT_LOAD_SUPER_MA, "USB 3.2 §11.4.5: 150 mA a socket of a bus-powered hub (as Linux core/hub.c has it, confirmed)"
)

ENDPOINT_BRACKET = (64.0, 254.0)
"""Field values for all endpoints of one xHCI controller: 64 on an older desktop chipset (Linux
drivers/usb/host/xhci-pci.c, limit_active_eps, confirmed), 96 on many (a silicon vendor's article, confirmed),
254 on later ones (a hub maker's knowledge base, second-hand)."""
ENDPOINT_BETWEEN = (96.0,)
ENDPOINT_OLD = (64.0, 96.0)
"""The ends that are left where the user tells that it is an older controller."""
ENDPOINT_RECENT = (96.0, 254.0)
"""The ends that are left for a later one: nobody vouches that none of them keeps 96 only."""
ENDPOINT_SOURCE = (
    "field values: 64 on an older desktop chipset (Linux xhci-pci.c, confirmed), 96 on many (a silicon vendor's "
    "article, confirmed), 254 on later ones (a hub maker's knowledge base, second-hand); the host does not report its "
    "own limit"
)
ENDPOINTS_PER_SLOT = 31
"""Endpoint contexts of one slot: Linux xhci.h EP_CTX_PER_DEV (confirmed)."""

ENDPOINT_NOTE = (
    "The standard's own ceiling is far away: 255 slots of 31 endpoints are 7,905 (often quoted as 7,906). "
    "That a USB 3 socket has 16 endpoints and a USB 2 device 32 is a rule of thumb without source; "
    "the standard gives every device 31"
)
"""xHCI §4.5.1 and arithmetic (derived); the rule of thumb is common practice (no source) and never a limit."""

ENDPOINT_LIMIT_BY_PCI: dict[tuple[str, str], Limit] = {
    ("8086", "1e31"): Limit(64.0, "Linux drivers/usb/host/xhci-pci.c: limit_active_eps = 64 (confirmed)"),
}
SLOT_LIMIT_BY_PCI: dict[tuple[str, str], Limit] = {
    ("1106", "3483"): Limit(32.0, "its datasheet, HCSPARAMS1: MaxSlots = 32 (confirmed)"),
}
PERIPHERALS_BY_PCI: dict[tuple[str, str], Limit] = {
    ("1106", "3483"): Limit(31.0, "its datasheet, section 2: up to 31 peripherals (confirmed)"),
}
"""What a controller's maker promises where that is less than its slots: a card's own limit."""
SLOT_BRACKET = (32.0, 255.0)
"""Lowest MaxSlots met in a datasheet (confirmed) and the highest the field allows (xHCI §5.3.3, as a
controller's datasheet mirrors it, confirmed there)."""
SLOT_SOURCE = "xHCI §5.3.3: 1 to 255 slots, 32 the lowest in a datasheet; the host did not report its own"
ADDRESSES = Limit(
    127.0, "USB 2.0 §9.4.6: seven-bit device address, 0 is for new devices (as Linux choose_devnum has it, confirmed)"
)

HUBS_IN_SERIES = Limit(5.0, "USB 2.0 §4.1.1: seven tiers, so five hubs between root and device (second-hand)")
