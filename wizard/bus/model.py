"""The snapshot: controllers, sockets and devices as they were seen, on any operating system.

It states facts only. What could not be read is `None` or an `Unreadable`; nothing is guessed here.

Ids are the same on every system: a controller is its bus name (`0000:00:14.0`), a bus and its root
hub `usbN`, a device `N-p.p.p`, a socket what a device in it would be called.
"""

from typing import Any, Literal

from pydantic import Field, field_validator, model_validator

from wizard.bus.document import Document
from wizard.bus.formats import InterfaceFormats
from wizard.bus.listing import Listing

Speed = Literal["low", "full", "high", "super", "super_plus"]
TransferType = Literal["control", "isochronous", "bulk", "interrupt"]
ControllerKind = Literal["uhci", "ohci", "ehci", "xhci", "other"]
Reason = Literal["permission", "vanished", "blocked", "garbled", "too_large", "failed", "cancelled"]

MBPS: dict[Speed, float] = {"low": 1.5, "full": 12.0, "high": 480.0, "super": 5000.0, "super_plus": 10000.0}
"""Signalling rate in Mbit/s by speed: USB 2.0 §4.2.1; USB 3.2 §3.1 (`super_plus` is 10 Gbit/s or more)."""


class Unreadable(Document):
    """Something that is there but could not be read: evidence, not an error.

    `where` is a device id, optionally followed by `/` and the attribute; `reason` says why.
    """

    where: str
    reason: Reason
    detail: str | None = None


class Endpoint(Document):
    """One endpoint of one alternate setting, as its descriptor declares it.

    `address` is bEndpointAddress (bit 7 set: towards the host); `max_packet` the bytes of one packet;
    `transactions` the packets per (micro)frame at high speed or Mult + 1 at SuperSpeed; `burst` the
    packets per burst (bMaxBurst + 1); `interval_us` the declared service interval in microseconds,
    0 where the type has none.
    """

    address: int
    type: TransferType
    # Upper bounds by the width of the fields (USB 2.0 Table 9-13, USB 3.2 §9.6.7): a document that says more is no
    # descriptor's, and reckoning with it could take for ever.
    max_packet: int = Field(ge=0, le=0xFFFF)
    transactions: int = Field(default=1, ge=1, le=0x100)
    burst: int = Field(default=1, ge=1, le=0x100)
    interval_us: int = Field(default=0, ge=0)
    bytes_per_interval: int | None = None

    @property
    def is_in(self) -> bool:
        """Whether data flow towards the host."""
        return bool(self.address & 0x80)

    @property
    def is_periodic(self) -> bool:
        """Whether the endpoint reserves bus time."""
        return self.type in ("isochronous", "interrupt")


class Alternate(Document):
    """One alternate setting of an interface."""

    number: int
    endpoints: tuple[Endpoint, ...] = ()
    protocol: int | None = None


class Interface(Document):
    """One interface; `class_code` (JSON: `class`) is bInterfaceClass of its first setting."""

    number: int
    class_code: int | None = Field(default=None, alias="class")
    subclass: int | None = None
    protocol: int | None = None
    active_alternate: int | None = None
    driver: str | None = None
    alternates: tuple[Alternate, ...] = ()

    @property
    def setting_is_known(self) -> bool:
        """Whether it is known which setting is in use: the system tells, or there is only one."""
        return self.active_alternate is not None or len(self.alternates) <= 1

    def current(self) -> Alternate | None:
        """The alternate setting in use now; setting 0 where the system does not tell (USB 2.0 §9.2.3)."""
        wanted = self.active_alternate or 0
        return next((a for a in self.alternates if a.number == wanted), None)


class Hub(Document):
    """What makes a device a hub. `translator` is its *operating* mode; `think_ns` the time its translator needs
    between two transactions (USB 2.0 §11.23.2.1); `None` means unknown."""

    ports: int | None = None
    translator: Literal["none", "single", "multi"] | None = None
    think_ns: int | None = None


class Typical(Document):
    """What stands behind a device that was described by hand instead of seen: its `kind` in the table of typical
    devices, the current in mA it may take for a moment at start-up, and what its data stream needs in MB/s.
    All figures of such a device are assumptions."""

    kind: str
    peak_ma: float | None = Field(default=None, ge=0)
    need_mb_s: float | None = Field(default=None, ge=0)


class PowerSaving(Document):
    """Run-time power saving: whether the system may suspend the device, and what it does now.

    `delay_ms` is how long it has to be idle first; less than nothing means never, whatever `allowed` says. `state` is
    the system's word for it (Linux: `active`, `suspended`, …; `error` after it failed to sleep or wake). `has_slept`
    says whether it has been asleep since it was plugged in. `link_states` are the resting states of its cable that are
    switched on (`l1` on USB 2, `u1` and `u2` on SuperSpeed); None where the system does not tell.
    """

    allowed: bool | None = None
    state: str | None = None
    delay_ms: int | None = None
    has_slept: bool | None = None
    link_states: tuple[str, ...] | None = None

    @property
    def may_sleep(self) -> bool | None:
        """Whether the system may put the device to sleep; None where that is not known."""
        if self.allowed and self.delay_ms is not None and self.delay_ms < 0:
            return False
        return self.allowed


class Device(Document):
    """One device, hubs and root hubs included.

    `parent` is the hub it hangs on, for a root hub the controller. `max_power_ma` is what the active
    configuration declares; `self_powered` what it declares of its own supply; `formats` what its sound and picture
    interfaces offer. `scsi_hosts` (`host4`) and `disks` (`sda`) are what the system calls a drive, where it tells;
    logs use those names. Names come from the device and are untrusted text. `name` is a plain-words label. `typical`
    is set where the device was described by hand.
    """

    id: str
    parent: str | None = None
    root: bool = False
    hub: Hub | None = None
    vid: str | None = None
    pid: str | None = None
    release: str | None = None
    class_code: int | None = Field(default=None, alias="class")
    speed: Speed | None = None
    mbps: float | None = None
    usb_version: str | None = None
    max_power_ma: int | None = None
    self_powered: bool | None = None
    configuration: int | None = None
    interfaces: tuple[Interface, ...] = ()
    formats: tuple[InterfaceFormats, ...] = ()
    name: str | None = None
    manufacturer: str | None = None
    product: str | None = None
    serial: str | None = None
    power_saving: PowerSaving | None = None
    listing: Listing | None = None
    scsi_hosts: tuple[str, ...] = ()
    disks: tuple[str, ...] = ()
    typical: Typical | None = None
    unreadable: tuple[Unreadable, ...] = ()

    @field_validator("hub", mode="before")
    @classmethod
    def _hub_as_flag(cls, value: Any) -> Any:
        """Other writers may say only whether it is a hub."""
        return ({} if value else None) if isinstance(value, bool) else value

    @field_validator("vid", "pid", mode="before")
    @classmethod
    def _id_as_number(cls, value: Any) -> Any:
        """Vendor and product ids are four hexadecimal digits; other writers may give the number."""
        return f"{value:04x}" if isinstance(value, int) and not isinstance(value, bool) else value

    @property
    def is_unread(self) -> bool:
        """Whether what it says of its endpoints is not known: its descriptors could not be read, or nothing tells
        of a configuration at all."""
        if any(u.where == f"{self.id}/descriptors" for u in self.unreadable):
            return True
        # An interface has a setting 0 at least (USB 2.0 §9.6.5); one without any is known by name only.
        return not self.root and (
            (self.hub is None and not self.interfaces and self.configuration is None)
            or any(not i.alternates for i in self.interfaces)
        )

    @property
    def is_super(self) -> bool:
        """Whether it runs on the SuperSpeed side of the bus."""
        return self.speed in ("super", "super_plus")


class Socket(Document):
    """One port of one hub. `peer` is the other half (USB 2 or SuperSpeed) of the same physical socket.

    `usable` is false where the board leaves the port unconnected; `built_in` is true where something
    is wired to it for good; `offers_ma` is what the socket advertises, where the host reports it (USB Type-C);
    `None` means the system does not tell.
    """

    id: str
    hub: str
    peer: str | None = None
    group: str | None = None
    place: str | None = None
    shape: str | None = None
    generation: str | None = None
    usable: bool | None = None
    built_in: bool | None = None
    over_current_count: int | None = None
    offers_ma: float | None = None


class Pci(Document):
    """PCI identity as hexadecimal digits without prefix; `subsystem` is `vendor:device`."""

    vendor: str | None = None
    device: str | None = None
    subsystem: str | None = None


class Controller(Document):
    """A host controller. Limits are set only where the host itself reports them."""

    id: str
    kind: ControllerKind = "other"
    pci: Pci | None = None
    driver: str | None = None
    endpoint_limit: int | None = None
    slot_limit: int | None = None


class System(Document):
    """The machine and its operating system, as far as it tells."""

    os: str | None = None
    version: str | None = None
    kernel: str | None = None
    board_maker: str | None = None
    board_model: str | None = None
    firmware_version: str | None = None
    firmware_date: str | None = None


class Snapshot(Document):
    """Everything one look found. Lists are ordered by id; an empty snapshot is a machine with no bus."""

    system: System = System()
    controllers: tuple[Controller, ...] = ()
    sockets: tuple[Socket, ...] = ()
    devices: tuple[Device, ...] = ()
    unreadable: tuple[Unreadable, ...] = ()

    @model_validator(mode="after")
    def _ids_are_unique(self) -> "Snapshot":
        for kind, values in (
            ("controller", self.controllers),
            ("socket", self.sockets),
            ("device", self.devices),
        ):
            seen: set[str] = set()
            for value in values:
                if value.id in seen:
                    raise ValueError(f"two {kind}s have the id {value.id!r}")
                seen.add(value.id)
        return self
