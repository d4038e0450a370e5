"""One endpoint descriptor read as the host will use it. Knows speeds and their limits; not where an endpoint lies.

Fields: USB 2.0 §9.6.6, Table 9-13; SuperSpeed companions: USB 3.2 §9.6.7 and §9.6.8. Values outside
the standard are repaired the way Linux repairs them before it reserves anything (measured on Linux
6.1: the kernel's own listing in the reference captures `odd-endpoints` and `hostile`; what is done
about companions is from memory of drivers/usb/core/config.c), and every repair is told as a sentence.
"""

from typing import NamedTuple

from wizard.bus.model import Endpoint, Speed, TransferType

ENDPOINT_LENGTH = 7
"""Bytes of an endpoint descriptor: USB 2.0 §9.6.6, Table 9-13 (audio ones have 9)."""
COMPANION = 0x30
"""bDescriptorType SUPERSPEED_USB_ENDPOINT_COMPANION: USB 3.2 §9.4."""
PLUS_COMPANION = 0x31
"""bDescriptorType SUPERSPEEDPLUS_ISOCHRONOUS_ENDPOINT_COMPANION: USB 3.2 §9.4."""

_TYPES: tuple[TransferType, ...] = ("control", "isochronous", "bulk", "interrupt")  # bmAttributes bits 1..0

_LARGEST: dict[Speed, dict[TransferType, int]] = {
    # USB 2.0 §5.5.3, §5.6.3, §5.7.3, §5.8.3; low speed has neither isochronous nor bulk (§5.6.3, §5.8.3)
    "low": {"control": 8, "isochronous": 0, "bulk": 0, "interrupt": 8},
    "full": {"control": 64, "isochronous": 1023, "bulk": 64, "interrupt": 64},
    # Bulk has 512 by the standard; Linux lets 1024 pass, because there are devices that use it.
    "high": {"control": 64, "isochronous": 1024, "bulk": 1024, "interrupt": 1024},
    # USB 3.2 §9.6.6 (wMaxPacketSize)
    "super": {"control": 512, "isochronous": 1024, "bulk": 1024, "interrupt": 1024},
    "super_plus": {"control": 512, "isochronous": 1024, "bulk": 1024, "interrupt": 1024},
}


class EndpointFields(NamedTuple):
    """The four fields of an endpoint descriptor that matter, as numbers straight from the bytes."""

    address: int
    attributes: int
    w_max_packet: int
    b_interval: int


class Companion(NamedTuple):
    """What the SuperSpeed companions add: bMaxBurst, bmAttributes, bytes per service interval."""

    max_burst: int
    attributes: int
    bytes_per_interval: int


def companion_of(following: bytes) -> Companion | None:
    """The companion descriptors at the start of `following`, the bytes after an endpoint descriptor.

    None if the first descriptor there is no SuperSpeed companion (6 bytes, USB 3.2 §9.6.7). A
    SuperSpeedPlus isochronous companion (8 bytes, §9.6.8) after it replaces the byte count.
    """
    if len(following) < 6 or following[0] < 6 or following[1] != COMPANION:
        return None
    burst, attributes = following[2], following[3]
    count = int.from_bytes(following[4:6], "little")
    plus = following[following[0] :]
    if attributes & 0x80 and len(plus) >= 8 and plus[0] >= 8 and plus[1] == PLUS_COMPANION:
        count = int.from_bytes(plus[4:8], "little")
    return Companion(burst, attributes, count)


def read_endpoint(
    fields: EndpointFields, speed: Speed, companion: Companion | None
) -> tuple[Endpoint, tuple[str, ...]]:
    """The endpoint as the host uses it at `speed`, and a sentence for every value that had to be repaired."""
    told: list[str] = []
    kind = _TYPES[fields.attributes & 3]
    if speed == "low" and kind == "bulk":
        told.append("is a bulk endpoint, which low speed does not have; used as an interrupt endpoint")
        kind = "interrupt"
        fields = fields._replace(w_max_packet=min(fields.w_max_packet & 0x7FF, 8), b_interval=1)
    packet, transactions = _packets(fields.w_max_packet, kind, speed, told)
    interval_us = _interval_us(fields.b_interval, kind, speed, told)
    burst, per_interval = 1, None
    if speed in ("super", "super_plus"):
        burst, transactions, per_interval = _super_speed(companion, kind, packet, told)
    endpoint = Endpoint(
        address=fields.address,
        type=kind,
        max_packet=packet,
        transactions=transactions,
        burst=burst,
        interval_us=interval_us,
        bytes_per_interval=per_interval,
    )
    return endpoint, tuple(told)


def _packets(word: int, kind: TransferType, speed: Speed, told: list[str]) -> tuple[int, int]:
    """Bytes of a packet (bits 10..0) and, at high speed, packets per microframe (bits 12..11, Table 9-13)."""
    packet, transactions = word & 0x7FF, 1
    if speed == "high" and kind in ("isochronous", "interrupt"):
        transactions = (word >> 11 & 3) + 1
        if transactions > 3:
            told.append("asks for 4 packets in a microframe, of which 3 are allowed; 3 taken")
            transactions = 3
    if speed == "high" and kind == "bulk" and packet != 512:
        told.append(f"has packets of {packet} bytes where high speed allows 512 only")
    largest = _LARGEST[speed][kind]
    if packet > largest:
        told.append(f"has packets of {packet} bytes, more than the {largest} allowed; {largest} taken")
        packet = largest
    return packet, transactions


def _interval_us(value: int, kind: TransferType, speed: Speed, told: list[str]) -> int:
    """Service interval by USB 2.0 Table 9-13 (bInterval) and USB 3.2 §9.6.6; 0 for control and bulk."""
    if kind not in ("isochronous", "interrupt"):
        return 0
    slow = speed in ("low", "full")
    if slow and kind == "interrupt":
        legal = value if value >= 1 else 10  # Linux: 10 ms if none can be guessed
        interval = legal * 1000
    else:
        legal = value if 1 <= value <= 16 else _exponent(value, kind, speed)
        interval = (1 << (legal - 1)) * (1000 if slow else 125)
    if legal != value:
        told.append(f"has the impossible interval value {value}; {legal} taken")
    return interval


def _exponent(value: int, kind: TransferType, speed: Speed) -> int:
    """The exponent Linux puts in place of an illegal one.

    Interrupt endpoints often give milliseconds by mistake: fls(8 × value) reads them so. Otherwise 8 ms
    at full and high speed (2^(4-1) frames, 2^(7-1) microframes) and 1 ms for isochronous ones at SuperSpeed.
    """
    if kind == "interrupt" and value:
        return (value * 8).bit_length()
    return 7 if kind == "interrupt" or speed == "high" else 4


def _super_speed(
    companion: Companion | None, kind: TransferType, packet: int, told: list[str]
) -> tuple[int, int, int | None]:
    """Packets per burst, bursts per service interval (Mult + 1, isochronous only), bytes per interval.

    USB 3.2 §9.6.7. Without a companion Linux assumes the least: single packets.
    """
    periodic = kind in ("isochronous", "interrupt")
    if companion is None:
        told.append("has no SuperSpeed companion descriptor; single packets assumed")
        return 1, 1, packet if periodic else None
    burst = 1 if kind == "control" else min(companion.max_burst, 15) + 1
    if companion.max_burst > 15:
        told.append(f"asks for bursts of {companion.max_burst + 1} packets, of which 16 are allowed; 16 taken")
    bursts = 1
    plus = bool(companion.attributes & 0x80)
    if kind == "isochronous" and not plus:
        bursts = min((companion.attributes & 3) + 1, 3)
    if not periodic:
        return burst, bursts, None
    return burst, bursts, _bytes_per_interval(companion, packet * burst * bursts, plus, told)


def _bytes_per_interval(companion: Companion, most: int, plus: bool, told: list[str]) -> int:
    """The declared bytes per interval, held to what the packets can carry (USB 3.2 §9.6.7)."""
    declared = companion.bytes_per_interval
    if plus or declared <= most:
        return declared
    told.append(f"declares {declared} bytes per interval, more than its packets carry; {most} taken")
    return most
