"""Which events of Windows speak of USB trouble, and the signs their published meaning stands for.

Sources: event manifests of Windows 10 build 18990 (provider, number, task); Microsoft, 'Troubleshoot data corruption
and disk errors', 'Event ID 51'; 'USB core blog' for the older hub driver. Events of the tasks 'USBHubEnumerate' and
the like have no message: the task is the meaning. Where only the task is known, the sign says no more than that.
"""

_DRIVER = ("driver_failed",)
_NOT_UP = ("enumeration_failed",)
_ODD = ("descriptor_odd",)
_IO = ("storage_io_error",)
_FILES = ("filesystem_error",)

_PNP: dict[int, tuple[str, ...]] = {
    # Microsoft-Windows-Kernel-PnP
    219: _DRIVER,  # a driver failed to load for the device
    225: (),  # a program stopped the removal
    400: (),  # set up
    401: _DRIVER,  # could not be set up
    402: (),
    403: (),  # needs a restart
    410: ("connect",),  # started
    411: _DRIVER,  # had a problem starting: the problem code says which
    412: (),
    420: (),  # deleted
    421: (),
    430: (),  # needs more set-up
    440: (),  # known under another name before: set-up taken over
    441: (),
    442: (),
    1010: ("disconnect",),  # reported as missing on the bus
    1011: ("disconnect", "driver_failed"),  # reported as failed
}
_HUB3: dict[int, tuple[str, ...]] = {
    # Microsoft-Windows-USB-USBHUB3: errors and warnings by task
    **dict.fromkeys((44, 45, 134), _DRIVER),  # PrepareHardware, AddDevice
    **dict.fromkeys((*range(62, 66), *range(160, 179), *range(181, 186), 189, 190, 197), _NOT_UP),
    **dict.fromkeys((*range(70, 86), 191, 192, 198), _ODD),  # DescriptorValidation
    **dict.fromkeys((94, 95, 179, *range(130, 134)), ("transfer_error",)),  # ClientRequest, ControlTransfer
    **dict.fromkeys((102, 103, 111, 123), ("port_error",)),  # USBPort, StateMachine
    122: ("port_reset_failed",),  # HubReset
    186: (),  # alternate mode (picture over USB-C) not entered
    187: (),
    196: ("disconnect",),  # SurpriseRemoval
}
_HUB2: dict[int, tuple[str, ...]] = {
    # Microsoft-Windows-USB-USBHUB, the driver of USB 2 hubs; titles from the USB core blog
    11: ("port_error",),  # did not settle
    15: ("port_reset_failed",),
    17: ("port_reset_failed",),
    18: _NOT_UP,  # could not be created
    19: _NOT_UP,
    20: ("enumeration_failed", "descriptor_read_failed"),
    21: _ODD,
    22: _ODD,
    26: (),  # the same serial number twice
    27: _NOT_UP,
    29: _NOT_UP,  # another try
    30: ("disconnect",),
    **dict.fromkeys((12, 13, 14, 16, 23, 24, 25, 28, 233, 234), _NOT_UP),
    **dict.fromkeys((111, 112, 113), _DRIVER),  # USBDeviceStart
    41: ("reset",),
    180: ("resume_failed",),  # USBHubPower
    184: ("resume_failed",),
    210: ("port_error",),  # hub exception
}
_PORT: dict[int, tuple[str, ...]] = {
    # Microsoft-Windows-USB-USBPORT, the driver of older controllers: MiniportStart/MiniportResume 'complete with error'
    **dict.fromkeys((*range(1026, 1031), *range(2050, 2055), *range(3074, 3078)), ("controller_error",)),
    **dict.fromkeys((*range(1037, 1043), *range(2061, 2066), *range(3084, 3089)), ("resume_failed",)),
}
_DISK: dict[int, tuple[str, ...]] = {
    7: _IO,  # bad block
    11: _IO,  # controller error
    15: _IO,  # not ready
    51: _IO,  # error during a paging operation
    52: (),  # the drive expects to fail
    153: _IO,  # retried after a time-out
    154: _IO,  # hardware error
    157: ("storage_offline", "disconnect"),  # surprise removed
    158: ("storage_offline",),  # the same identity as another disk
}
_FILE_SYSTEM: dict[int, tuple[str, ...]] = {
    **dict.fromkeys((50, 55, 98, 130, 131, 132, 137, 140), _FILES),
}

EVENTS: dict[str, dict[int, tuple[str, ...]]] = {
    "kernel-pnp": _PNP,
    "userpnp": {20001: (), 20003: (), 20005: (), 20006: ()},
    "usb-usbhub3": _HUB3,
    "usb-usbxhci": dict.fromkeys((14, 30, 34, 49), ("controller_error",)),
    "usb-usbhub": _HUB2,
    "usb-usbport": _PORT,
    "driverframeworks-usermode": {
        **dict.fromkeys((1005, 2103, 2107, 10110, 10111, 10112, 10113, 10115, 10116), _DRIVER),
        **dict.fromkeys((2003, 2100, 2101, 2102), ()),
    },
    "disk": _DISK,
    "ntfs": _FILE_SYSTEM,
    "exfat": _FILE_SYSTEM,
    "fastfat": _FILE_SYSTEM,
    "uaspstor": {11: ("storage_abort",), 129: ("storage_abort",)},
    "usbstor": {11: ("storage_abort",), 129: ("storage_abort",)},
    "storport": {549: ("storage_offline",), 551: ("storage_offline", "disconnect")},
    "partition": {1006: ("disconnect",)},
}
"""Signs by provider (its name in lower case without `microsoft-windows-`) and event number. Other events say nothing
of USB trouble."""

_SAME = {
    "usbhub3": "usb-usbhub3",
    "usbhub": "usb-usbhub",
    "usbxhci": "usb-usbxhci",
    "usbport": "usb-usbport",
    "ntfs (ntfs)": "ntfs",
    "ntfs (microsoft-windows-ntfs)": "ntfs",
    "storage-storport": "storport",
    "storage-disk": "disk",
    "partmgr": "partition",
    "plugplaymanager": "userpnp",
}
_BY_NUMBER = {"kernel-pnp": (219, 400, 401, 403, 410, 411, 420, 430, 440, 442), "userpnp": (20001, 20003)}

OTHER_STORAGE = frozenset({"storahci", "stornvme", "iastorac", "iastora", "iastorvd", "atapi", "scsi", "msahci"})
"""Drivers of drives that are not on USB: their time-outs are none of ours."""


def provider_of(name: str | None, channel: str | None, number: int) -> str | None:
    """The provider as a key of `EVENTS`: from its name, else from the log it wrote to, else for a few events from
    their number alone, which no other provider uses for a device."""
    for told in (name, (channel or "").partition("/")[0]):
        key = (told or "").strip().lower().removeprefix("microsoft-windows-")
        key = _SAME.get(key, key)
        if key in EVENTS or key in OTHER_STORAGE:
            return key
    if name is None:
        return next((key for key, numbers in _BY_NUMBER.items() if number in numbers), None)
    return None


def has_trouble(provider: str, number: int, message: str) -> bool:
    """Whether an event reports trouble at all: a volume found healthy is none."""
    word = message.lower()
    return not (provider == "ntfs" and number == 98 and ("is healthy" in word or "no action is needed" in word))
