"""libusb through the real pyusb, on a hand-written backend: what it lists, and every way it fails."""

from types import SimpleNamespace

import pytest
import usb.backend
import usb.core
from sysfs_builder import HUB, KEYBOARD

from wizard.bus.descriptors import parse_descriptors
from wizard.observe import usb_port
from wizard.observe.usb_port import PyUsbPort, open_port, reason_of

ACCESS, NO_DEVICE, NOT_FOUND, TIMEOUT = -3, -4, -5, -7  # libusb.h, enum libusb_error


def failing(code):
    return usb.core.USBError("no", code, 5)


class Backend(usb.backend.IBackend):
    """Devices made of descriptor bytes. `trouble` maps a method's name to what it raises."""

    def __init__(self, devices, **trouble):
        super().__init__()
        self.devices = devices
        self.trouble = trouble
        self.closed = 0

    def _fail(self, method):
        if method in self.trouble:
            raise self.trouble[method]

    def enumerate_devices(self):
        yield from self.devices
        self._fail("enumerate_devices")

    def get_parent(self, dev):
        return None

    def get_device_descriptor(self, dev):
        if dev.gone:
            raise failing(NO_DEVICE)
        b = dev.blob
        return SimpleNamespace(
            bLength=18,
            bDescriptorType=1,
            bcdUSB=b[2] | b[3] << 8,
            bDeviceClass=b[4],
            bDeviceSubClass=b[5],
            bDeviceProtocol=b[6],
            bMaxPacketSize0=b[7],
            idVendor=b[8] | b[9] << 8,
            idProduct=b[10] | b[11] << 8,
            bcdDevice=b[12] | b[13] << 8,
            iManufacturer=b[14],
            iProduct=b[15],
            iSerialNumber=b[16],
            bNumConfigurations=b[17],
            address=dev.address,
            bus=dev.bus,
            port_number=dev.ports[-1] if dev.ports else 0,
            port_numbers=dev.ports or None,
            speed=dev.speed,
        )

    def get_configuration_descriptor(self, dev, config):
        self._fail("get_configuration_descriptor")
        only = parse_descriptors(dev.blob, "full").configurations[config]
        return SimpleNamespace(
            bLength=9,
            bDescriptorType=2,
            wTotalLength=only.total_length,
            bNumInterfaces=len(only.interfaces),
            bConfigurationValue=only.value,
            iConfiguration=0,
            bmAttributes=dev.blob[25],
            bMaxPower=dev.blob[26],
            extra_descriptors=[],
        )

    def get_interface_descriptor(self, dev, intf, alt, config):
        interface = parse_descriptors(dev.blob, "full").configurations[config].interfaces[intf]
        setting = interface.alternates[alt]
        return SimpleNamespace(
            bLength=9,
            bDescriptorType=4,
            bInterfaceNumber=interface.number,
            bAlternateSetting=setting.number,
            bNumEndpoints=len(setting.endpoints),
            bInterfaceClass=interface.class_code,
            bInterfaceSubClass=interface.subclass,
            bInterfaceProtocol=setting.protocol,
            iInterface=0,
            extra_descriptors=[],
        )

    def get_endpoint_descriptor(self, dev, ep, intf, alt, config):
        found = (
            parse_descriptors(dev.blob, "full").configurations[config].interfaces[intf].alternates[alt].endpoints[ep]
        )
        return SimpleNamespace(
            bLength=7,
            bDescriptorType=5,
            bEndpointAddress=found.address,
            bmAttributes=3,
            wMaxPacketSize=found.max_packet,
            bInterval=found.interval_us // 1000,
            bRefresh=0,
            bSynchAddress=0,
            extra_descriptors=dev.extra,
        )

    def open_device(self, dev):
        self._fail("open_device")
        return dev

    def close_device(self, dev_handle):
        self.closed += 1

    def get_configuration(self, dev_handle):
        self._fail("get_configuration")
        return 1

    def ctrl_transfer(self, dev_handle, bmRequestType, bRequest, wValue, wIndex, data, timeout):  # noqa: N803 - pyusb's own argument names
        self._fail("ctrl_transfer")
        index = wValue & 0xFF
        text = b"\x09\x04" if index == 0 else f"Text {index}".encode("utf-16-le")
        answer = bytes([len(text) + 2, 3]) + text
        data[: len(answer)] = type(data)("B", answer)
        return len(answer)


def made(blob=KEYBOARD, ports=(2,), speed=2, address=5, bus=1, extra=(), gone=False):
    return SimpleNamespace(blob=blob, ports=ports, speed=speed, address=address, bus=bus, extra=extra, gone=gone)


def listed(*devices, **trouble):
    return list(PyUsbPort(Backend(devices, **trouble)).listed())


def test_a_device_is_listed_with_path_speed_and_the_bytes_it_came_from():
    (one,) = listed(made())
    assert (one.bus, one.address, one.ports, one.speed_code, one.trouble) == (1, 5, (2,), 2, None)
    assert one.blob == KEYBOARD


def test_companions_stay_behind_their_endpoints():
    (one,) = listed(made(extra=(6, 0x30, 3, 0, 8, 0)))
    assert one.blob[-6:] == bytes([6, 0x30, 3, 0, 8, 0])
    (interface,) = parse_descriptors(one.blob, "super").configurations[0].interfaces
    assert interface.alternates[0].endpoints[0].burst == 4


def test_a_root_hub_has_no_path():
    (one,) = listed(made(HUB, ports=(), speed=3, address=1))
    assert one.ports == ()


def test_an_opened_device_tells_its_names_and_configuration_and_is_closed_again():
    backend = Backend([made()])
    (one,) = PyUsbPort(backend).listed()
    answers = one.ask()
    assert (answers.configuration, answers.refused) == (1, None)
    assert (answers.manufacturer, answers.product, answers.serial) == ("Text 1", "Text 2", "Text 3")
    assert backend.closed == 1


def test_a_device_we_may_not_open_is_listed_all_the_same():
    (one,) = listed(made(), open_device=failing(ACCESS))
    answers = one.ask()
    assert (answers.configuration, answers.product, answers.refused) == (None, None, "permission")
    assert one.blob == KEYBOARD


def test_a_system_without_the_function_is_no_fault():
    (one,) = listed(made(), open_device=NotImplementedError("Operation not supported"))
    assert one.ask().refused == "failed"


def test_a_device_that_leaves_while_it_is_listed_is_left_out():
    assert [one.address for one in listed(made(gone=True), made(address=6))] == [6]


def test_a_device_that_leaves_before_it_is_asked_is_told_as_vanished():
    (one,) = listed(made(), get_configuration=failing(NO_DEVICE))
    assert one.ask().refused == "vanished"


def test_texts_that_do_not_come_leave_the_rest():
    (one,) = listed(made(), ctrl_transfer=failing(TIMEOUT))
    answers = one.ask()
    assert (answers.configuration, answers.product) == (1, None)


def test_a_configuration_that_can_not_be_read_is_told():
    (one,) = listed(made(), get_configuration_descriptor=failing(NOT_FOUND))
    assert one.trouble == "vanished"
    assert parse_descriptors(one.blob, "full").device.vid == "1209"


def test_a_listing_that_breaks_off_keeps_what_it_had():
    assert len(listed(made(), enumerate_devices=failing(-1))) == 1


@pytest.mark.parametrize(
    ("error", "reason"),
    [
        (failing(ACCESS), "permission"),
        (failing(NO_DEVICE), "vanished"),
        (failing(TIMEOUT), "blocked"),
        (failing(-99), "failed"),
        (NotImplementedError(), "failed"),
        (ValueError("no langid"), "failed"),
    ],
)
def test_libusbs_errors_have_our_reasons(error, reason):
    assert reason_of(error) == reason


def test_a_system_where_libusb_does_not_load_has_no_port(monkeypatch):
    import libusb_package

    monkeypatch.setattr(libusb_package, "get_libusb1_backend", lambda: None)
    assert open_port() is None


def test_a_library_that_can_not_be_loaded_is_no_crash(monkeypatch):
    import libusb_package

    def broken():
        raise OSError("wrong kind of library")

    monkeypatch.setattr(libusb_package, "get_libusb1_backend", broken)
    assert open_port() is None


def test_pyusbs_errors_are_all_caught():
    assert issubclass(usb.core.USBError, usb_port._ERRORS)
    assert issubclass(usb.core.NoBackendError, usb_port._ERRORS)
