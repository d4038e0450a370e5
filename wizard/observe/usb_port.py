"""The one place that knows pyusb: lists devices as plain numbers and bytes. Knows no snapshot.

What libusb hands out as fields is put back into the bytes it came from, so that the same parser reads
it as on Linux. Listing opens no device; `Listed.ask` does, and the system may refuse it.
"""

from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from itertools import islice
from typing import Any, Protocol

import usb.core
import usb.util

from wizard.bus.model import Reason

_TIMEOUT_MS = 200  # for one answer; a device that works takes a few milliseconds
_MOST_DEVICES = 5000
_MOST_SETTINGS = 1000
_ERRORS = (usb.core.USBError, NotImplementedError, ValueError, IndexError, AttributeError)
"""What pyusb raises: no rights, device gone, not supported by the system, broken text, no such index."""


@dataclass(frozen=True)
class Answers:
    """What only an opened device tells; None where it would not, `refused` says why."""

    configuration: int | None = None
    product: str | None = None
    manufacturer: str | None = None
    serial: str | None = None
    refused: Reason | None = None


@dataclass(frozen=True)
class Listed:
    """One device. `ports` is its path from the root hub, `speed_code` libusb's, `blob` its descriptors.

    `trouble` says why descriptors are missing; `ask` opens the device and may wait.
    """

    bus: int
    address: int
    ports: tuple[int, ...]
    speed_code: int
    blob: bytes
    trouble: Reason | None
    ask: Callable[[], Answers]


class UsbPort(Protocol):
    """How the look reaches libusb, or a stand-in for it."""

    def listed(self) -> Iterator[Listed]:
        """Every device the system lists; those that leave while being listed are left out."""


class PyUsbPort:
    """libusb through pyusb; `backend` is a pyusb backend."""

    def __init__(self, backend: Any) -> None:
        self._backend = backend

    def listed(self) -> Iterator[Listed]:
        try:
            for handle in islice(self._backend.enumerate_devices(), _MOST_DEVICES):
                one = _list_one(handle, self._backend)
                if one is not None:
                    yield one
        except _ERRORS:
            return  # what was listed until now still counts


def open_port() -> UsbPort | None:
    """libusb as the `libusb-package` wheel carries it; None if it can't be loaded here."""
    try:
        import libusb_package  # only here: where there is no wheel for a system, the rest still works

        backend = libusb_package.get_libusb1_backend()
    except (ImportError, OSError, *_ERRORS):
        return None
    return None if backend is None else PyUsbPort(backend)


def reason_of(error: Exception) -> Reason:
    """Why pyusb failed, in our words; libusb error codes as in libusb.h."""
    code = getattr(error, "backend_error_code", None)
    reasons: dict[object, Reason] = {-3: "permission", -4: "vanished", -5: "vanished", -7: "blocked"}
    return reasons.get(code, "failed")


def _list_one(handle: Any, backend: Any) -> Listed | None:
    try:
        device: Any = usb.core.Device(handle, backend)
        head = _device_bytes(device)
    except _ERRORS:
        return None
    bodies, trouble = _configurations(device)
    return Listed(
        bus=device.bus or 0,
        address=device.address or 0,
        ports=tuple(int(port) for port in device.port_numbers or ()),
        speed_code=device.speed or 0,
        blob=head + bytes([len(bodies)]) + b"".join(bodies),
        trouble=trouble,
        ask=lambda: _ask(device),
    )


def _word(value: int) -> bytes:
    return (value & 0xFFFF).to_bytes(2, "little")


def _device_bytes(device: Any) -> bytes:
    """The device descriptor without its last byte, the number of configurations (USB 2.0 Table 9-8)."""
    codes = (device.bDeviceClass, device.bDeviceSubClass, device.bDeviceProtocol, device.bMaxPacketSize0)
    ids = (device.idVendor, device.idProduct, device.bcdDevice)
    texts = (device.iManufacturer, device.iProduct, device.iSerialNumber)
    return b"\x12\x01" + _word(device.bcdUSB) + bytes(codes) + b"".join(map(_word, ids)) + bytes(texts)


def _configurations(device: Any) -> tuple[list[bytes], Reason | None]:
    """The bytes of each configuration, and why one is missing."""
    bodies: list[bytes] = []
    trouble: Reason | None = None
    for index in range(device.bNumConfigurations):
        try:
            bodies.append(_configuration_bytes(device[index]))
        except _ERRORS as error:
            trouble = reason_of(error)
    return bodies, trouble


def _configuration_bytes(configuration: Any) -> bytes:
    """USB 2.0 Tables 9-10, 9-12 and 9-13; what libusb keeps as extra follows its descriptor (class, companions)."""
    parts: list[bytes] = []
    numbers = set()
    for interface in islice(configuration, _MOST_SETTINGS):
        endpoints = list(interface)
        numbers.add(interface.bInterfaceNumber)
        parts.append(
            bytes([9, 4, interface.bInterfaceNumber, interface.bAlternateSetting, len(endpoints)])
            + bytes([interface.bInterfaceClass, interface.bInterfaceSubClass, interface.bInterfaceProtocol, 0])
            + bytes(interface.extra_descriptors or ())
        )
        for endpoint in endpoints:
            parts.append(
                bytes([7, 5, endpoint.bEndpointAddress, endpoint.bmAttributes])
                + _word(endpoint.wMaxPacketSize)
                + bytes([endpoint.bInterval])
                + bytes(endpoint.extra_descriptors or ())
            )
    body = b"".join(parts)
    value, attributes, power = configuration.bConfigurationValue, configuration.bmAttributes, configuration.bMaxPower
    return b"\x09\x02" + _word(9 + len(body)) + bytes([len(numbers), value, 0, attributes, power]) + body


def _ask(device: Any) -> Answers:
    refused: Reason | None = None
    told: dict[str, Any] = {}
    try:
        device.default_timeout = _TIMEOUT_MS
        told["configuration"] = device.get_active_configuration().bConfigurationValue
    except _ERRORS as error:
        refused = reason_of(error)
    if refused in (None, "failed"):  # a device that can't be opened can't be asked for texts either
        for name, attribute in (("product", "product"), ("manufacturer", "manufacturer"), ("serial", "serial_number")):
            try:
                told[name] = getattr(device, attribute)
            except _ERRORS as error:
                refused = refused or reason_of(error)
    with suppress(*_ERRORS):  # if it left meanwhile, there is nothing to give back
        usb.util.dispose_resources(device)
    return Answers(refused=refused, **told)
