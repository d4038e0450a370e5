"""How long one transaction occupies the bus, by USB 2.0 §5.11.3. Knows no schedule and no limit.

Whole-number arithmetic as in Linux `usb_calc_bus_time` (drivers/usb/core/hcd.c, confirmed), so that sums can be
held against a kernel's own accounting; it stays within 0.1 % of the standard's formula. At high speed the kernel
cuts off what is below a nanosecond; here it is rounded. Bit stuffing is the
worst case of 7/6. Host_Delay is 1000 ns (high speed 5 ns) and Hub_LS_Setup 333 ns, as Linux has them
(include/linux/usb/hcd.h, confirmed); the standard leaves both to the host.
"""

from typing import Literal

from wizard.bus.model import ControllerKind, Endpoint, Speed

HOST_DELAY_NS = 1000
HOST_DELAY_HIGH_NS = 5
HUB_LS_SETUP_NS = 333

BusSpeed = Literal["low", "full", "high"]


def transaction_ns(speed: BusSpeed, is_in: bool, isochronous: bool, payload: int) -> int:
    """Nanoseconds of one transaction with `payload` bytes, handshake and gaps included.

    Raises ValueError for a negative payload. Isochronous transfers do not exist at low speed (USB 2.0 §5.6.1).
    """
    if payload < 0:
        raise ValueError(f"a payload can't be negative: {payload}")
    bits = 7 * 8 * payload // 6
    if speed == "low":
        fixed = 64060 if is_in else 64107
        per_bit = 67667 if is_in else 66700  # picoseconds times 0.1
        return fixed + 2 * HUB_LS_SETUP_NS + HOST_DELAY_NS + per_bit * (31 + 10 * bits) // 1000
    if speed == "full":
        fixed = (7268 if is_in else 6265) if isochronous else 9107
        return fixed + HOST_DELAY_NS + 8354 * (31 + 10 * bits) // 1000
    return (_high_speed_ps(isochronous, payload) + 500) // 1000


def _high_speed_ps(isochronous: bool, payload: int) -> int:
    """Picoseconds at high speed, where the whole-number arithmetic is the formula itself."""
    overhead_bytes = 38 if isochronous else 55
    bits = 7 * 8 * payload // 6
    return overhead_bytes * 8 * 2083 + 2083 * (3 + bits) + 1000 * HOST_DELAY_HIGH_NS


def service_ns(speed: BusSpeed, endpoint: Endpoint) -> int:
    """Nanoseconds of one service of a periodic endpoint: each packet of a high-bandwidth one pays in full."""
    one = transaction_ns(speed, endpoint.is_in, endpoint.type == "isochronous", endpoint.max_packet)
    return one * (endpoint.transactions if speed == "high" else 1)


def booked_us(kind: ControllerKind, speed: BusSpeed, endpoint: Endpoint) -> float:
    """Microseconds a host driver books for one service, with its own rounding (Linux 6.1, measured).

    UHCI books floor + 1, OHCI floor, EHCI the ceiling, with the packets of one microframe as one long packet.
    Other controllers keep no such account: the exact time is returned.
    """
    ns = service_ns(speed, endpoint)
    if kind == "uhci":
        return ns // 1000 + 1
    if kind == "ohci":
        return ns // 1000
    if kind == "ehci":
        if speed == "high":
            ns = _high_speed_ps(endpoint.type == "isochronous", endpoint.max_packet * endpoint.transactions) // 1000
        return -(-ns // 1000)
    return ns / 1000


def bus_speed(speed: Speed | None) -> BusSpeed | None:
    """The speed on the USB 2 wires, or None for SuperSpeed and for what is not known."""
    return None if speed is None or speed == "super" or speed == "super_plus" else speed
