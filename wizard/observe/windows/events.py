"""One event of Windows' logs, read from a record of any tool: what it is, of which device, and when.

Localised messages are only searched for ids and numbers, whose order is the same in every language. Knows fields;
which events matter stands in `event_kinds`.
"""

import re
from dataclasses import dataclass

from wizard.observe.exports.records import Record, number_of
from wizard.observe.windows.devices import instance_id_in
from wizard.observe.windows.event_kinds import provider_of
from wizard.observe.windows.places import id_in, path_of
from wizard.observe.windows.times import stamp_of
from wizard.observe.words import clean

_NUMBER = ("eventid", "eventidvalue", "eventcode", "eventidentifier", "id")
_PROVIDER = ("providername", "provider", "sourcename", "eventsource", "eventprovider", "source")
_CHANNEL = ("logname", "channel", "log")
_TIMES = (
    "timecreatedsystemtime", "systemtime", "timecreated", "timegenerated", "eventtime", "timestamp", "time", "date",
    "datetime",
)  # fmt: skip
_MESSAGE = ("message", "rendereddescription", "description", "msg", "messagetext")
_ORDERED = {
    # The order of the fields in the manifest, for tools that give values without names
    400: ("deviceinstanceid", "drivername", "classguid"),
    410: ("deviceinstanceid", "drivername", "classguid", "servicename", "", "", "problem", "status"),
    411: ("deviceinstanceid", "drivername", "classguid", "servicename", "", "", "problem", "status"),
    420: ("deviceinstanceid", "classguid", "problem", "status"),
    219: ("", "drivername", "status", "", "failurename", ""),
    225: ("", "", "processname", "", "deviceinstance"),
}
_HEX_AT_END = re.compile(r"0[xX]([0-9A-Fa-f]{1,8})\s*$", re.MULTILINE)
_DISK_NUMBER = re.compile(r"(?i)\\Device\\Harddisk(\d{1,4})\\|\bDisk\s(\d{1,4})\b|\bPhysicalDrive(\d{1,4})\b")
_VOLUME = re.compile(r"(?i)(\\Device\\HarddiskVolume\d{1,4})|\b([A-Z]:)(?=[\s(.\\]|$)")
_USB_BUS = 7  # STORAGE_BUS_TYPE, winioctl.h
_LONGEST = 20_000
_START_FAILED = (410, 411, 412, 420)


@dataclass(frozen=True)
class WinEvent:
    """An event. `where` is an instance id or location path, None where it names none; `disk` a disk number,
    `volume` a volume's letter or device name; `problem` and `status` those of a device that failed to start."""

    provider: str
    number: int
    line: int
    stamp: str | None = None
    message: str = ""
    where: str | None = None
    problem: int | None = None
    status: int | None = None
    disk: int | None = None
    volume: str | None = None
    class_guid: str | None = None
    service: str | None = None
    failed: bool | None = None


def is_event(record: Record) -> bool:
    """Whether a record is an event: it has a number, and says who wrote it or when."""
    if _number(record) is None:
        return False
    return any(name in record for name in (*_PROVIDER[:5], *_CHANNEL, *_TIMES[:4])) or (
        "message" in record or "eventid" in record
    )


def event_in(record: Record, line: int = 0) -> WinEvent | None:
    """The event a record describes, if its provider is one of those we know; else None."""
    number = _number(record)
    if number is None:
        return None
    provider = provider_of(record.text(*_PROVIDER), record.text(*_CHANNEL), number)
    if provider is None:
        return None
    if provider == "partition" and record.number("bustype") not in (None, _USB_BUS):
        return None
    message = (record.text(*_MESSAGE) or "")[:_LONGEST].replace("&amp;", "&")
    ordered = _in_order(record, number)
    problem, status = _problem(record, number, message, ordered)
    values = " ".join(str(v) for v in (*record.values("properties"), *record.values("values")))[:_LONGEST]
    told = f"{message}\n{values}\n{' '.join(record.texts('param1', 'param2', 'devicename'))}"
    return WinEvent(
        provider=provider,
        number=number,
        line=line,
        stamp=stamp_of(record.text(*_TIMES)),
        message=clean(message),
        where=_where(record, message, ordered),
        problem=problem,
        status=status,
        disk=_disk(record, told),
        volume=_volume(record, told),
        class_guid=record.text("classguid") or ordered.get("classguid"),
        service=record.text("servicename", "service") or ordered.get("servicename"),
        failed=_failed(record),
    )


def _number(record: Record) -> int | None:
    number = record.number(*_NUMBER)
    return number & 0xFFFF if number is not None and 0 <= number < 1 << 32 else None  # classic ids carry flags above


def _in_order(record: Record, number: int) -> dict[str, str]:
    values = [
        str(value)
        for value in record.values("properties") or record.values("values") or record.values("replacementstrings")
    ]
    names = _ORDERED.get(number, ())
    found = {name: value for name, value in zip(names, values, strict=False) if name and value.strip()}
    named = found.get("deviceinstanceid") or found.get("deviceinstance") or "\\"
    return found if "\\" in named else {}  # another version of the event, with other fields


def _where(record: Record, message: str, ordered: dict[str, str]) -> str | None:
    own = instance_id_in(record)
    if own is not None:
        return own
    told = ordered.get("deviceinstanceid") or ordered.get("deviceinstance")
    if told and "\\" in told:
        return clean(told.replace("&amp;", "&"))
    for name in ("deviceinstance", "lastdeviceinstanceid", "parentid", "drivername"):
        found = id_in(record.text(name) or "")
        if found:
            return clean(found)
    for told in (message, *ordered.values()):
        found = id_in(told)
        if found:
            return clean(found)
    return next((clean(p) for p in record.texts("locationpath", "locationpaths") if path_of(p)), None)


def _problem(record: Record, number: int, message: str, ordered: dict[str, str]) -> tuple[int | None, int | None]:
    """Problem code and status: named fields first, then the last two lines of the message that end in 0x…"""
    if number not in _START_FAILED:
        return None, record.number("status")
    problem = record.number("problem", "problemcode")
    status = record.number("problemstatus", "status")
    if problem is None and "problem" in ordered:
        problem, status = number_of(ordered["problem"]), number_of(ordered.get("status"))
    if problem is None:
        found = [int(digits, 16) for digits in _HEX_AT_END.findall(message)]
        problem, status = (found[-2], found[-1]) if len(found) > 1 else (found[0] if found else None, None)
    return (problem if problem is not None and 0 <= problem < 256 else None), status


def _disk(record: Record, told: str) -> int | None:
    number = record.number("disknumber")
    if number is not None:
        return number
    match = _DISK_NUMBER.search(told)
    return int(next(part for part in match.groups() if part)) if match else None


def _volume(record: Record, told: str) -> str | None:
    match = _VOLUME.search(f"{record.text('drivename', 'driveletter', 'volumename') or ''}\n{told}")
    return (match[1] or match[2]) if match else None


def _failed(record: Record) -> bool | None:
    """Whether a driver set-up failed (UserPnp 20001), or a disk left (Partition 1006: a size of 0)."""
    status = record.number("installstatus", "addservicestatus")
    if status is not None:
        return status != 0
    capacity = record.number("capacity")
    return None if capacity is None else capacity == 0
