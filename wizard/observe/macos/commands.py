"""The edge to macOS: two built-in commands, read-only, as the user. No logic.

NEVER RUN ON A REAL MACHINE: written from public samples and Apple's manual pages, tested with stand-ins.

To see the same by hand, type in the Terminal:

- the USB report: `system_profiler -json SPUSBHostDataType SPUSBDataType SPHardwareDataType`
- disks and volumes: `diskutil list -plist external`

The log is not asked in a look, because searching it takes long. By hand:
`log show --last 1h --style compact --predicate 'process == "kernel" AND eventMessage CONTAINS "USB"'`
"""

from collections.abc import Callable

from wizard.observe.asking import Answer, ask

SECONDS = 8.0
"""How long each answer may take: common practice (no source)."""

REPORT = ("system_profiler", "-json", "SPUSBHostDataType", "SPUSBDataType", "SPHardwareDataType")
DISKS = ("diskutil", "list", "-plist", "external")


def ask_report(cancelled: Callable[[], bool] = lambda: False, program: str = "/usr/sbin/system_profiler") -> Answer:
    """The USB report as bytes of JSON; never raises. `program` stands in for the command in tests."""
    return ask((program, *REPORT[1:]), SECONDS, cancelled)


def ask_disks(cancelled: Callable[[], bool] = lambda: False, program: str = "/usr/sbin/diskutil") -> Answer:
    """External disks as bytes of a property list; never raises."""
    return ask((program, *DISKS[1:]), SECONDS, cancelled)
