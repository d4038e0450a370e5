"""One entry of Windows' device list, read from a record of any tool: PowerShell, WMI, pnputil, property lists.

Strict: what is not told stays None. Field names as in Microsoft's documentation of Win32_PnPEntity,
Get-PnpDevice and the DEVPKEY_Device_* properties. Places are taken apart elsewhere.
"""

import re
from dataclasses import dataclass

from wizard.bus.listing import Driver, Listing
from wizard.observe.exports.records import Record, number_of
from wizard.observe.windows.places import ids_of, is_usb, path_of
from wizard.observe.windows.problems import connection_state, problem_code
from wizard.observe.windows.times import day_of
from wizard.observe.words import clean

_ID = ("instanceid", "pnpdeviceid", "deviceinstanceid", "deviceid", "deviceinstancepath", "instance")
_NAMES = ("friendlyname", "name", "devicedescription", "devicename", "caption", "devicedesc", "description")
_PROBLEM = ("problem", "configmanagererrorcode", "problemcode", "errorcode")
_CODE = re.compile(r"(\d{1,3}|0[xX][0-9a-fA-F]{1,8})\b")
_SHORT_ID = re.compile(r"(?:\.\.\.|…)$")
_LONGEST_ID = 400
_BY_STATUS = {"OK": 0, "Started": 0, "Disconnected": 45, "Disabled": 22}
"""Words of pnputil and PowerShell that mean a problem code without naming it."""
_PATH = re.compile(r"DeviceID=\"(.+)\"$")
_USB_CLASSES = (
    "36fc9e60-c465-11cf-8056-444553540000",  # controllers and hubs: Microsoft, 'System-Defined Device Setup Classes'
)
_CONTROLLER_SERVICES = frozenset({"usbxhci", "usbehci", "usbohci", "usbuhci"})


@dataclass(frozen=True)
class WinDevice:
    """What is told of one entry. `problem` is 0 where Windows says that there is none; `hub_number` and such stay in
    `location_info` as told; `switches_off` is 'the computer may turn this device off to save power'."""

    instance_id: str
    line: int = 0
    name: str | None = None
    class_name: str | None = None
    class_guid: str | None = None
    status: str | None = None
    problem: int | None = None
    problem_status: int | None = None
    problem_text: str | None = None
    connection: int | None = None
    present: bool | None = None
    location_paths: tuple[str, ...] = ()
    location_info: str | None = None
    address: int | None = None
    bus_number: int | None = None
    parent: str | None = None
    container: str | None = None
    hardware_ids: tuple[str, ...] = ()
    compatible_ids: tuple[str, ...] = ()
    service: str | None = None
    manufacturer: str | None = None
    product: str | None = None
    driver: Driver | None = None
    switches_off: bool | None = None
    speed: str | None = None

    @property
    def key(self) -> str:
        """The id without regard to case."""
        return self.instance_id.upper()

    @property
    def is_here(self) -> bool:
        """Whether it is connected now, as far as told."""
        gone = self.present is False or self.problem == 45
        return not gone and (self.status or "").lower() not in ("disconnected",)

    @property
    def is_usb(self) -> bool:
        """Whether it hangs on USB, or is a USB controller."""
        return is_usb(self.instance_id) or self.is_controller or any(path_of(p) for p in self.location_paths)

    @property
    def is_controller(self) -> bool:
        """Whether it is a controller of sockets, not a router of USB4."""
        if (self.service or "").lower() in _CONTROLLER_SERVICES:
            return True
        usb_class = (self.class_guid or "").strip("{}").lower() in _USB_CLASSES or self.class_name == "USB"
        return usb_class and self.key.startswith(("PCI\\", "ACPI\\")) and "USB4" not in self.key

    def listing(self) -> Listing:
        """The entry as part of a snapshot."""
        return Listing(
            instance_id=self.instance_id,
            location=self.location_paths[0] if self.location_paths else self.location_info,
            container=self.container,
            status=self.status,
            problem=self.problem,
            description=self.problem_text or self.name,
            driver=self.driver,
        )


def instance_id_in(record: Record) -> str | None:
    """The instance id of a record: three parts, of which the first is an enumerator; None if it has none."""
    for name in _ID:
        for told in record.texts(name):
            text = clean(told.replace("&amp;", "&"))
            if "\\" in text and not text.startswith("\\") and not _SHORT_ID.search(text) and len(text) <= _LONGEST_ID:
                return text
    match = _PATH.search(record.text("path", "relpath") or "")  # WMI's own path doubles the backslashes
    return clean(match[1].replace("\\\\", "\\")) if match and "\\\\" in match[1] else None


def device_in(record: Record, line: int = 0) -> WinDevice | None:
    """The device a record describes; None if it names none."""
    instance_id = instance_id_in(record)
    if instance_id is None:
        return None
    status = _clean(record.text("status"))
    return WinDevice(
        instance_id=instance_id,
        line=line,
        name=_clean(record.text(*_NAMES)),
        class_name=_clean(record.text("class", "pnpclass", "classname")),
        class_guid=_clean(record.text("classguid", "setupclass")),
        status=status,
        problem=_problem(record, status),
        problem_status=record.number("problemstatus", "problemstatuscode"),
        problem_text=_clean(record.text("problemdescription")),
        connection=_connection(record),
        present=record.flag("present", "ispresent"),
        location_paths=tuple(clean(p) for p in record.texts("locationpaths", "locationpath")),
        location_info=_clean(record.text("locationinfo", "locationinformation", "location")),
        address=record.number("address"),
        bus_number=record.number("busnumber"),
        parent=_parent(record),
        container=_clean(record.text("containerid")),
        hardware_ids=record.texts("hardwareids", "hardwareid"),
        compatible_ids=record.texts("compatibleids", "compatibleid"),
        service=_clean(record.text("service", "servicename")),
        manufacturer=_clean(record.text("manufacturer", "manufacturername", "mfg")),
        product=_clean(record.text("busreporteddevicedesc", "product")),
        driver=_driver(record),
        switches_off=record.flag("powersaving", "switchesoff", "enable"),
        speed=_clean(record.text("speed", "devicespeed")),
    )


def _clean(text: str | None) -> str | None:
    return clean(text) or None if text else None


def _parent(record: Record) -> str | None:
    told = _clean(record.text("parent", "parentdevice", "parentdeviceinstanceid"))
    return told.replace("&amp;", "&") if told and "\\" in told else None


def _problem(record: Record, status: str | None) -> int | None:
    """A number, `CM_PROB_…`, `43 (0x2B) [CM_PROB_…]` or `Code 43`; a device that runs has none."""
    for name in _PROBLEM:
        told = record.text(name)
        if told is None:
            continue
        symbol = problem_code(told)
        if symbol is not None:
            return symbol
        match = _CODE.search(told)
        number = number_of(match[1]) if match else None
        if number is not None and 0 <= number < 256:
            return number
    return _BY_STATUS.get(status or "")


def _connection(record: Record) -> int | None:
    told = record.text("connectionstatus", "usbconnectionstatus")
    if told is None:
        return None
    number = number_of(told)
    return number if number is not None else connection_state(told)


def _driver(record: Record) -> Driver | None:
    found = Driver(
        name=_clean(record.text("driverinfpath", "drivername", "infname")),
        version=_clean(record.text("driverversion")),
        date=day_of(record.text("driverdate")),
        provider=_clean(record.text("driverprovider", "driverprovidername")),
    )
    return None if found == Driver() else found


def vid_pid(device: WinDevice) -> tuple[str | None, str | None]:
    """Vendor and product id; not those of a placeholder for a device that never said any."""
    ids = ids_of(device.instance_id)
    return (None, None) if ids is None or ids[0] == "0000" else ids
