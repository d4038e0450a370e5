"""Devices in a registry export or query of Windows' `Enum` key: ids, places, flags. Also holds devices long gone.

Formats: `.reg` files ('Windows Registry Editor Version 5.00') and the output of `reg query /s`. Values that are
strings of a driver package (`@oem46.inf,%name%;shown name`) give the shown name.
"""

import re
from collections.abc import Iterator

from wizard.observe.exports.json_values import Value
from wizard.observe.exports.text_records import lines_of

_KEY = re.compile(
    r"(?i)^\[?(?:HKEY_LOCAL_MACHINE|HKLM)\\SYSTEM\\(?:CurrentControlSet|ControlSet\d{3})\\Enum\\([^\]]+)\]?\s*$"
)
_REG = re.compile(r'^"([^"]{1,80})"=(.*)$')
_QUERY = re.compile(r"^\s{2,8}(\S.{0,60}?)\s{2,}(REG_\w+)\s{2,}(.*)$")
_FLAG_DISABLED, _FLAG_FAILED = 0x1, 0x40  # CONFIGFLAG_DISABLED, CONFIGFLAG_FAILEDINSTALL: regstr.h
_NAMES = {
    "DeviceDesc": "DeviceDesc",
    "Mfg": "Manufacturer",
    "HardwareID": "HardwareIds",
    "CompatibleIDs": "CompatibleIds",
}


def is_registry(head: str) -> bool:
    """Whether a text is of that sort."""
    return any(_KEY.match(line) for line in lines_of(head)[:2000])


def records_in(text: str) -> Iterator[Value]:
    """One record for each device key (`Enum\\bus\\device\\instance`); the keys below it are skipped."""
    found: dict[str, object] = {}
    begin = 1
    for number, line in _joined_lines(text):
        match = _KEY.match(line)
        if match:
            if "InstanceId" in found:
                yield Value(found, begin)
            found, begin = {}, number
            if match[1].count("\\") == 2:
                found["InstanceId"] = match[1]
        elif found:
            _take(found, line)
    if "InstanceId" in found:
        yield Value(found, begin)


def _joined_lines(text: str) -> Iterator[tuple[int, str]]:
    """Lines, those that end in a backslash put together with what follows."""
    held, begin = "", 0
    for number, line in enumerate(lines_of(text), start=1):
        begin = begin or number
        if line.endswith("\\") and '"' in (held or line):
            held += line[:-1].strip()
            continue
        yield begin, held + line.strip() if held else line
        held, begin = "", 0


def _take(found: dict[str, object], line: str) -> None:
    match = _REG.match(line)
    if match:
        name, value = match[1], _reg_value(match[2])
    else:
        query = _QUERY.match(line)
        if query is None:
            return
        name = query[1]
        value = query[3].split("\\0") if query[2] == "REG_MULTI_SZ" else query[3]
    if name == "ConfigFlags":
        _flags(found, value)
    elif value:
        found[_NAMES.get(name, name)] = _shown(value)


def _reg_value(text: str) -> object:
    if text.startswith('"'):
        return text.strip('"').replace("\\\\", "\\")
    if text.startswith("dword:"):
        return f"0x{text[6:].strip()}"
    if text.startswith("hex(7):"):
        digits = "".join(char for char in text[7:] if char in "0123456789abcdefABCDEF")
        data = bytes.fromhex(digits[: len(digits) // 2 * 2])
        return [part for part in data.decode("utf-16-le", errors="replace").split("\0") if part]
    return None


def _flags(found: dict[str, object], value: object) -> None:
    digits = str(value or "").lower().removeprefix("0x")
    if not digits or len(digits) > 8 or any(c not in "0123456789abcdef" for c in digits):
        return
    flags = int(digits, 16)
    if flags & _FLAG_DISABLED:
        found["Problem"] = 22
    elif flags & _FLAG_FAILED:
        found["Problem"] = 28


def _shown(value: object) -> object:
    return value.rpartition(";")[2] if isinstance(value, str) and value.startswith("@") and ";" in value else value
