"""Windows' problem codes and connection states of USB devices, and what each stands for among our signs.

Meanings are those that Microsoft publishes: 'Error codes in Device Manager' and the CM_PROB_* pages of the Windows
driver documentation; USB_CONNECTION_STATUS in usbioctl.h. The words here are ours. A meaning that none of our kinds
has (restart needed, say) maps to nothing: then only the raw kind speaks.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Meaning:
    """`symbol`: Microsoft's name; `words`: what it says, in ours; `kinds`: signs it stands for."""

    symbol: str
    words: str
    kinds: tuple[str, ...] = ()


def _driver(symbol: str, words: str) -> Meaning:
    return Meaning(f"CM_PROB_{symbol}", words, ("driver_failed",))


PROBLEMS: dict[int, Meaning] = {
    1: _driver("NOT_CONFIGURED", "it is not set up"),
    3: _driver("OUT_OF_MEMORY", "its driver is damaged, or memory ran out"),
    10: _driver("FAILED_START", "it could not be started"),
    12: Meaning("CM_PROB_NORMAL_CONFLICT", "not enough free resources for it", ("no_controller_resources",)),
    14: Meaning("CM_PROB_NEED_RESTART", "it needs a restart of the computer"),
    16: Meaning("CM_PROB_PARTIAL_LOG_CONF", "not all it needs is known", ("no_controller_resources",)),
    18: _driver("REINSTALL", "its driver must be installed again"),
    19: _driver("REGISTRY", "its settings in the registry are damaged"),
    21: Meaning("CM_PROB_WILL_BE_REMOVED", "it is being removed", ("disconnect",)),
    22: Meaning("CM_PROB_DISABLED", "it is disabled", ("not_authorised",)),
    24: _driver("DEVICE_NOT_THERE", "it is not there, does not work properly, or lacks drivers"),
    28: _driver("FAILED_INSTALL", "no driver is installed for it"),
    29: Meaning("CM_PROB_HARDWARE_DISABLED", "the firmware gave it no resources", ("no_controller_resources",)),
    31: _driver("FAILED_ADD", "its driver could not be loaded"),
    32: _driver("DISABLED_SERVICE", "its driver is disabled"),
    37: _driver("FAILED_DRIVER_ENTRY", "its driver failed to begin"),
    38: _driver("DRIVER_FAILED_PRIOR_UNLOAD", "an earlier copy of its driver is still loaded"),
    39: _driver("DRIVER_FAILED_LOAD", "its driver is damaged or missing"),
    40: _driver("DRIVER_SERVICE_KEY_INVALID", "its driver's entry in the registry is damaged"),
    41: _driver("LEGACY_SERVICE_NO_DEVICES", "the driver found no device"),
    42: _driver("DUPLICATE_DEVICE", "the same device is already running"),
    43: _driver("FAILED_POST_START", "it reported a fault and was stopped"),
    44: Meaning("CM_PROB_HALTED", "a program or service shut it down"),
    45: Meaning("CM_PROB_PHANTOM", "it is not connected", ("disconnect",)),
    47: Meaning("CM_PROB_HELD_FOR_EJECT", "it was made ready for safe removal", ("disconnect",)),
    48: _driver("DRIVER_BLOCKED", "its driver is blocked, because it is known to make trouble"),
    50: _driver("SETPROPERTIES_FAILED", "its settings could not be applied"),
    51: Meaning("CM_PROB_WAITING_ON_DEPENDENCY", "it waits for another device"),
    52: _driver("UNSIGNED_DRIVER", "its driver has no valid signature"),
    53: Meaning("CM_PROB_USED_BY_DEBUGGER", "the system's debugger holds it"),
    54: Meaning("CM_PROB_DEVICE_RESET", "it failed and is being reset", ("reset",)),
    55: Meaning("CM_PROB_CONSOLE_LOCKED", "it stays blocked until somebody signs in", ("not_authorised",)),
    57: Meaning("CM_PROB_GUEST_ASSIGNMENT_FAILED", "it could not be handed to a guest system"),
}
"""By number; codes that can't concern USB are left out and keep their raw kind only."""

_BY_SYMBOL = {meaning.symbol: code for code, meaning in PROBLEMS.items()}

_FAILED_ENUMERATION: dict[str, tuple[str, ...]] = {
    # Hardware ids that the hub driver gives a device it could not bring up: Microsoft, 'USB device descriptors' case
    # study and usbhub3 documentation; the second kind says which request failed.
    "UNKNOWN": ("enumeration_failed",),
    "RESET_FAILURE": ("enumeration_failed", "port_reset_failed"),
    "DEVICE_DESCRIPTOR_FAILURE": ("enumeration_failed", "descriptor_read_failed"),
    "CONFIG_DESCRIPTOR_FAILURE": ("enumeration_failed", "descriptor_read_failed"),
    "SET_ADDRESS_FAILURE": ("enumeration_failed", "address_failed"),
    "DEVICE_DESCRIPTOR_VALIDATION_FAILURE": ("enumeration_failed", "descriptor_odd"),
    "CONFIGURATION_DESCRIPTOR_VALIDATION_FAILURE": ("enumeration_failed", "descriptor_odd"),
    "PORT_LINK_SSINACTIVE": ("enumeration_failed", "port_error"),
    "PORT_LINK_COMPLIANCE_MODE": ("enumeration_failed", "port_error"),
}
_BY_PLACEHOLDER = {1: "RESET_FAILURE", 2: "DEVICE_DESCRIPTOR_FAILURE", 4: "SET_ADDRESS_FAILURE"}
"""Only the numbers on which sources agree; 3 and 6 differ between them."""

CONNECTIONS: dict[int, Meaning] = {
    # USB_CONNECTION_STATUS, usbioctl.h
    0: Meaning("NoDeviceConnected", "nothing is plugged in"),
    1: Meaning("DeviceConnected", "a device is connected"),
    2: Meaning("DeviceFailedEnumeration", "the device could not be brought up", ("enumeration_failed",)),
    3: Meaning("DeviceGeneralFailure", "the device or its socket failed", ("port_error",)),
    4: Meaning("DeviceCausedOvercurrent", "the device drew too much current", ("over_current",)),
    5: Meaning("DeviceNotEnoughPower", "there is not enough power for the device", ("no_bus_power",)),
    6: Meaning("DeviceNotEnoughBandwidth", "there is not enough bus time for the device", ("no_bandwidth",)),
    7: Meaning("DeviceHubNestedTooDeeply", "too many hubs in a row", ("hub_too_deep",)),
    8: Meaning("DeviceInLegacyHub", "the hub is too old for the device", ("slower_than_could",)),
    9: Meaning("DeviceEnumerating", "the device is being brought up"),
    10: Meaning("DeviceReset", "the device is being reset", ("reset",)),
}
_BY_STATE = {meaning.symbol.lower(): number for number, meaning in CONNECTIONS.items()}

_NO_RESOURCES = 0xC000009A  # STATUS_INSUFFICIENT_RESOURCES, [MS-ERREF] §2.3.1
DELIBERATE = frozenset({0, 1, 9})
"""Connection states that are no trouble."""


def problem_code(symbol: str) -> int | None:
    """The number of a problem by Microsoft's name for it; 0 for CM_PROB_NONE, None if the name is not known."""
    name = symbol.strip().strip("[]").upper()
    return 0 if name == "CM_PROB_NONE" else _BY_SYMBOL.get(name)


def connection_state(told: str) -> int | None:
    """The number of a connection state by its name; None if the name is not known."""
    return _BY_STATE.get(told.strip().lower())


def kinds_of_problem(
    code: int, instance_id: str = "", hardware_ids: tuple[str, ...] = (), status: int | None = None
) -> tuple[str, ...]:
    """What a problem code stands for. Code 43 is two things: a device that was never brought up has a placeholder
    for an id, else its driver reported the fault. `status` is the problem status (NTSTATUS), if told."""
    meaning = PROBLEMS.get(code)
    kinds = meaning.kinds if meaning is not None else ()
    failed = failed_enumeration(instance_id, hardware_ids)
    if failed and code in (10, 28, 43):
        kinds = failed
    if status == _NO_RESOURCES and "no_controller_resources" not in kinds:
        kinds = (*kinds, "no_controller_resources")
    if code == 47 and instance_id.upper().startswith("USBSTOR\\"):
        kinds = ("storage_offline",)
    return kinds


def failed_enumeration(instance_id: str, hardware_ids: tuple[str, ...] = ()) -> tuple[str, ...]:
    """The signs behind the placeholder of a device that could not be brought up; nothing for any other device."""
    for hardware_id in hardware_ids:
        found = _FAILED_ENUMERATION.get(hardware_id.upper().removeprefix("USB\\"))
        if found:
            return found
    _, _, rest = instance_id.upper().partition("USB\\VID_0000&PID_")
    if not rest:
        return ()
    number = rest[:4]
    name = _BY_PLACEHOLDER.get(int(number, 16)) if len(number) == 4 and _is_hex(number) else None
    return _FAILED_ENUMERATION[name] if name else ("enumeration_failed",)


def _is_hex(text: str) -> bool:
    return all(char in "0123456789ABCDEF" for char in text)
