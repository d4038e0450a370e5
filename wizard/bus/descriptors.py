"""What a device says of itself: the device descriptor and all its configurations, read from raw bytes.

Layout: USB 2.0 §9.6 (device Table 9-8, configuration Table 9-10, interface Table 9-12, endpoint
Table 9-13), USB 3.2 §9.6 for SuperSpeed. Knows bytes only; not which configuration is in use.

The bytes come from devices and files and may be anything. Nothing here raises: what was readable is
returned, and what was not is told in `problems`. Where a configuration contradicts the standard,
what Linux makes of it is taken (measured on Linux 6.1: the kernel's own listing in the reference
captures `odd-endpoints` and `hostile`).
"""

from collections.abc import Iterator

from wizard.bus.document import Document
from wizard.bus.endpoints import ENDPOINT_LENGTH, EndpointFields, companion_of, read_endpoint
from wizard.bus.model import Alternate, Endpoint, Interface, Speed, Unreadable

DEVICE, CONFIGURATION, INTERFACE, ENDPOINT = 1, 2, 4, 5
"""bDescriptorType: USB 2.0 Table 9-5."""
LARGEST_BLOB = 18 + 65535
"""A device descriptor and one configuration of the greatest wTotalLength: the size of Linux's attribute."""

_DEVICE_LENGTH, _CONFIGURATION_LENGTH, _INTERFACE_LENGTH = 18, 9, 9  # USB 2.0 Tables 9-8, 9-10, 9-12
_MOST_CONFIGURATIONS = 8  # Linux USB_MAXCONFIG
_MOST_INTERFACES = 32  # Linux USB_MAXINTERFACES
_MOST_ENDPOINTS = 30  # 15 each way beside the control endpoint: USB 2.0 §5.3.1.2
_MOST_PROBLEMS = 20  # a garbled blob could fill a report with thousands


class DeviceDescriptor(Document):
    """The device descriptor; `vid` and `pid` are four hexadecimal digits, versions read like `2.00`.

    `*_index` are numbers of string descriptors, 0 where the device has none; `configurations` is how
    many it claims to have.
    """

    usb_version: str
    class_code: int
    subclass: int
    protocol: int
    max_packet_0: int
    vid: str
    pid: str
    release: str
    manufacturer_index: int
    product_index: int
    serial_index: int
    configurations: int


class Configuration(Document):
    """One configuration. `max_power_ma` is its declared current; `total_length` wTotalLength as it stands
    in the bytes, which may be a lie."""

    value: int
    self_powered: bool
    remote_wakeup: bool
    max_power_ma: int
    total_length: int
    interfaces: tuple[Interface, ...] = ()


class Described(Document):
    """All a blob told. `speed` is the speed it was read at: the given one, or what the bytes suggest."""

    device: DeviceDescriptor | None = None
    speed: Speed = "full"
    configurations: tuple[Configuration, ...] = ()
    problems: tuple[Unreadable, ...] = ()

    def configuration(self, value: int | None) -> Configuration | None:
        """The configuration with this bConfigurationValue."""
        return next((c for c in self.configurations if c.value == value), None)


def parse_descriptors(blob: bytes, speed: Speed | None, where: str = "descriptors") -> Described:
    """Read a device descriptor followed by whole configurations, as Linux keeps them in `descriptors`.

    Units of power and time depend on `speed`; where it is None, a device that numbers its packet size
    as SuperSpeed devices do is read as one and any other at full speed. `where` names the blob in
    the problems. Bytes after the first `LARGEST_BLOB` are left unread.
    """
    return _Reading(blob, speed, where).described()


def bcd(word: int) -> str:
    """A binary-coded version: 0x0210 is `2.10` (USB 2.0 Table 9-8, bcdUSB)."""
    return f"{word >> 8:x}.{word & 0xFF:02x}"


class _OpenInterface:
    """One interface while its alternate settings are collected."""

    def __init__(self, head: bytes) -> None:
        self.number, self.class_code, self.subclass, self.protocol = head[2], head[5], head[6], head[7]
        self.alternates: dict[int, tuple[int, list[Endpoint]]] = {}

    def closed(self) -> Interface:
        return Interface(
            number=self.number,
            class_code=self.class_code,
            subclass=self.subclass,
            protocol=self.protocol,
            alternates=tuple(
                Alternate(number=number, protocol=protocol, endpoints=tuple(endpoints))
                for number, (protocol, endpoints) in self.alternates.items()
            ),
        )


class _Addresses:
    """Which endpoint addresses one configuration has given away.

    Settings of one interface may share an address, because only one of them is in use; two interfaces
    may not, nor one setting twice.
    """

    def __init__(self) -> None:
        self._interfaces: dict[int, set[int]] = {}
        self._settings: set[tuple[int, int, int]] = set()

    def taken(self, address: int, interface: int, setting: int) -> bool:
        others = self._interfaces.get(address, set()) - {interface}
        return bool(others) or (address, interface, setting) in self._settings

    def take(self, address: int, interface: int, setting: int) -> None:
        self._interfaces.setdefault(address, set()).add(interface)
        self._settings.add((address, interface, setting))


class _Reading:
    """One pass over one blob; collects problems on the way."""

    def __init__(self, blob: bytes, speed: Speed | None, where: str) -> None:
        self.blob = blob[:LARGEST_BLOB]
        self.where = where
        self.problems: list[Unreadable] = []
        if len(blob) > LARGEST_BLOB:
            self._tell("holds more than one device can describe; the rest was not read")
        super_speed = len(blob) > 7 and blob[7] == 9  # 2^9 bytes: USB 3.2 §9.6.1, bMaxPacketSize0
        self.speed: Speed = speed or ("super" if super_speed else "full")

    def _tell(self, detail: str) -> None:
        if len(self.problems) < _MOST_PROBLEMS:
            self.problems.append(Unreadable(where=self.where, reason="garbled", detail=detail))

    def described(self) -> Described:
        device = self._device()
        start = _DEVICE_LENGTH
        if device is None:
            # A blob may lack its head; a configuration in its place can still be read.
            start = 0 if self.blob[1:2] == bytes([CONFIGURATION]) else len(self.blob)
        configurations: list[Configuration] = []
        promised = min(device.configurations, _MOST_CONFIGURATIONS) if device else _MOST_CONFIGURATIONS
        while start < len(self.blob) and len(configurations) < promised:
            one, start = self._configuration(start, more=len(configurations) + 1 < promised)
            if one is None:
                break
            configurations.append(one)
        if device is not None and len(configurations) != device.configurations:
            self._tell(f"holds {len(configurations)} configurations instead of {device.configurations}")
        return Described(
            device=device,
            speed=self.speed,
            configurations=tuple(configurations),
            problems=tuple(self.problems),
        )

    def _device(self) -> DeviceDescriptor | None:
        b = self.blob
        if len(b) < _DEVICE_LENGTH or b[0] < _DEVICE_LENGTH or b[1] != DEVICE:
            self._tell(f"does not begin with a device descriptor ({len(b)} bytes)")
            return None

        def word(at: int) -> int:
            return b[at] | b[at + 1] << 8

        return DeviceDescriptor(
            usb_version=bcd(word(2)),
            class_code=b[4],
            subclass=b[5],
            protocol=b[6],
            max_packet_0=b[7],
            vid=f"{word(8):04x}",
            pid=f"{word(10):04x}",
            release=bcd(word(12)),
            manufacturer_index=b[14],
            product_index=b[15],
            serial_index=b[16],
            configurations=b[17],
        )

    def _configuration(self, start: int, *, more: bool) -> tuple[Configuration | None, int]:
        """The configuration at `start`, and where the next one begins."""
        head = self.blob[start : start + _CONFIGURATION_LENGTH]
        if len(head) < _CONFIGURATION_LENGTH or head[0] < _CONFIGURATION_LENGTH or head[1] != CONFIGURATION:
            self._tell(f"has no configuration where one should begin (byte {start})")
            return None, len(self.blob)
        total = head[2] | head[3] << 8
        end = min(start + max(total, head[0]), len(self.blob))
        if end < start + total:
            self._tell(f"ends {start + total - end} bytes before the end its configuration announces")
        parts, after = self._split(start + head[0], end, more)
        units = 8 if self.speed in ("super", "super_plus") else 2  # mA: USB 3.2 §9.6.3, USB 2.0 Table 9-10
        interfaces = self._interfaces(parts)
        if len(interfaces) != head[4]:
            self._tell(f"configuration {head[5]} has {len(interfaces)} interfaces instead of {head[4]}")
        one = Configuration(
            value=head[5],
            self_powered=bool(head[7] & 0x40),
            remote_wakeup=bool(head[7] & 0x20),
            max_power_ma=head[8] * units,
            total_length=total,
            interfaces=interfaces,
        )
        return one, after

    def _split(self, start: int, end: int, more: bool) -> tuple[list[bytes], int]:
        """The descriptors between two offsets, and where the next configuration begins.

        Linux cuts a configuration at the first broken descriptor but leaves wTotalLength in the bytes
        as it was. So while further configurations are due, one that begins early ends this one.
        """
        parts: list[bytes] = []
        at = start
        while at < end:
            length = self.blob[at]
            if end - at < 2 or length < 2 or length > end - at:
                self._tell(f"has a descriptor of impossible length {length} at byte {at}; the rest was skipped")
                break
            kind = self.blob[at + 1]
            if kind in (DEVICE, CONFIGURATION):
                if more and kind == CONFIGURATION and length >= _CONFIGURATION_LENGTH:
                    return parts, at
                self._tell(f"has a descriptor of type {kind} inside a configuration, at byte {at}")
            parts.append(self.blob[at : at + length])
            at += length
        return parts, end

    def _interfaces(self, parts: list[bytes]) -> tuple[Interface, ...]:
        found: dict[int, _OpenInterface] = {}
        addresses = _Addresses()
        for head, body in _by_interface(parts):
            if len(head) < _INTERFACE_LENGTH:
                self._tell(f"has an interface descriptor of {len(head)} bytes; skipped")
                continue
            number, setting = head[2], head[3]
            if number not in found and len(found) == _MOST_INTERFACES:
                self._tell(f"has more than {_MOST_INTERFACES} interfaces; the rest was skipped")
                continue
            interface = found.setdefault(number, _OpenInterface(head))
            if setting in interface.alternates:
                self._tell(f"describes setting {setting} of interface {number} twice; the second was skipped")
                continue
            interface.alternates[setting] = (head[7], self._endpoints(head, body, addresses))
        return tuple(interface.closed() for _, interface in sorted(found.items()))

    def _endpoints(self, head: bytes, body: list[bytes], addresses: _Addresses) -> list[Endpoint]:
        """The endpoints of one alternate setting; at most as many as its interface descriptor announces."""
        number, setting, announced = head[2], head[3], head[4]
        place = f"interface {number} setting {setting}"
        kept: list[Endpoint] = []
        present = 0
        for at, part in enumerate(body):
            if part[1] != ENDPOINT:
                continue
            present += 1
            fault = _fault(part)
            if fault is None and addresses.taken(part[2], number, setting):
                fault = f"uses the endpoint address 0x{part[2]:02x} a second time"
            if fault is not None:
                self._tell(f"{place} {fault}; skipped")
            elif len(kept) < min(announced, _MOST_ENDPOINTS):
                addresses.take(part[2], number, setting)
                kept.append(self._endpoint(part, b"".join(body[at + 1 : at + 3]), place))
        if present != announced:
            self._tell(f"{place} has {present} endpoints instead of {announced}")
        return kept

    def _endpoint(self, part: bytes, following: bytes, place: str) -> Endpoint:
        fields = EndpointFields(part[2], part[3], part[4] | part[5] << 8, part[6])
        endpoint, told = read_endpoint(fields, self.speed, companion_of(following))
        for sentence in told:
            self._tell(f"{place} endpoint 0x{endpoint.address:02x} {sentence}")
        return endpoint


def _fault(part: bytes) -> str | None:
    """Why Linux would skip this endpoint descriptor by itself, if it would."""
    if len(part) < ENDPOINT_LENGTH:
        return f"has an endpoint descriptor of {len(part)} bytes"
    if part[2] & 0x0F == 0 or part[2] & 0x70:  # number 1..15 in bits 3..0; 6..4 are reserved: Table 9-13
        return f"has an endpoint with the impossible address 0x{part[2]:02x}"
    return None


def _by_interface(parts: list[bytes]) -> Iterator[tuple[bytes, list[bytes]]]:
    """Each interface descriptor with the descriptors that follow it up to the next one."""
    head: bytes | None = None
    body: list[bytes] = []
    for part in parts:
        if part[1] != INTERFACE:
            body.append(part)
            continue
        if head is not None:
            yield head, body
        head, body = part, []
    if head is not None:
        yield head, body
