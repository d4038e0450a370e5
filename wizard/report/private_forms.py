"""The forms by which a text betrays who somebody is or which single piece of gear it is. Patterns only.

Two kinds: "serials" (serial numbers, hardware addresses, unique ids of volumes) and "names" (user and
host names, home folders, mail addresses). Formats: the kernel's own log lines, syslog and journal heads
(RFC 3164 §4.1.2), Windows instance ids and event exports, the macOS USB report: from memory of what their
makers publish; host names by RFC 1123 §2.1.

Every pattern starts at something rare or at the start of a word, so that a hostile log of millions of
equal letters costs no more than an honest one.
"""

import re
from dataclasses import dataclass
from typing import Literal

Kind = Literal["serials", "names"]


@dataclass(frozen=True)
class Form:
    """One form. In `pattern` the group `secret` is what must go; `role` is the word put in its place."""

    kind: Kind
    role: str
    pattern: re.Pattern[str]


def _form(kind: Kind, role: str, *pattern: str) -> Form:
    return Form(kind, role, re.compile("".join(pattern)))


FORMS: tuple[Form, ...] = (
    # `SerialNumber: X`, `"serial_num" : "X"`, `<key>serial_num</key><string>X`; `SerialNumber=3` is an index.
    _form(
        "serials", "serial",
        r"(?i)\bi?serial[ _]?num(?:ber)?(?:string)?\"?\s{0,4}(?::|=(?!\d{1,2}\b)|</key>\s*<string>)[ \t]{0,4}\"?",
        r"(?P<secret>[^\s\"<,;](?:[^\"<\r\n,;]*[^\s\"<,;])?)",
    ),
    # `USB\VID_….&PID_….\X`; a third part with `&` was made by Windows from the socket and tells nothing. Windows
    # PowerShell writes `&` as `\u0026` in JSON.
    _form(
        "serials", "serial",
        r"(?i)(?<![\w\\])(?:USB|USBSTOR)\\{1,2}(?:[^\\\"\s]|\\u0026){1,200}\\{1,2}(?!u0026)(?P<secret>[^\\\"\s&,;\])]{1,200})",
        r"(?:(?:&|\\u0026)\d)?(?![\w&]|\\u0026)",
    ),
    # The same inside the id of another entry: `_??_USBSTOR#DISK&….#X&0#{…}`, `USB#VID_….&PID_….#X#{…}`
    _form(
        "serials", "serial",
        r"(?i)(?<![A-Za-z0-9])USB(?:STOR)?#(?:[^#\\\"\s]|\\u0026){1,200}#(?P<secret>[^#\\\"\s&]{1,200})(?:(?:&|\\u0026)\d)?#",
    ),
    # A serial adapter's own bus: `FTDIBUS\VID_….+PID_….+X\0000`
    _form("serials", "serial", r"(?i)\bVID_[0-9a-f]{4}\+PID_[0-9a-f]{4}\+(?P<secret>[^\\\"\s+]{1,200})"),
    # /dev/disk/by-id/usb-Maker_Model_X-0:0
    _form("serials", "serial", r"(?<![\w.+-])usb-[\w.+-]{1,120}_(?P<secret>[^_\s/\"-]{3,64})-\d+:\d+"),
    _form("serials", "address", r"(?i)(?<![\w:.-])(?P<secret>(?:[0-9a-f]{2}[:-]){5}[0-9a-f]{2})(?![\w:-])"),
    _form("serials", "address", r"\benx(?P<secret>[0-9a-f]{12})\b"),
    _form("serials", "number", r"(?i)\b(?:wwn-0x|naa\.|eui\.)(?P<secret>[0-9a-f]{8,64})\b"),
    # A volume's unique id; in braces it is the name of a kind of thing.
    _form("serials", "number", r"(?i)(?<![\w{-])(?P<secret>[0-9a-f]{8}-(?:[0-9a-f]{4}-){3}[0-9a-f]{12})(?![\w}-])"),
    # `Jan 01 12:00:00 HOST kernel: …`, also with an ISO stamp, `HOST usb 4-1: …` and `HOST last message …`.
    _form(
        "names", "host",
        r"(?m)^(?:<\d+>)?(?:[A-Z][a-z]{2} {1,2}\d{1,2} [\d:.]{7,}",
        r"|\d{4}-\d\d-\d\d[T ][\d:.,]{7,}(?:Z|[+-]\d\d:?\d\d)?) {1,2}",
        r"(?P<secret>[A-Za-z0-9][A-Za-z0-9.-]{0,252}) {1,2}",
        r"(?=[A-Za-z][\w./()@-]*(?:\[\d+\])?:|last message|message repeated|(?:usb|hub) [\du])",
    ),
    _form("names", "host", r"(?i)\bhostname (?:set )?to <(?P<secret>[^>\r\n]+)>"),
    _form(
        "names", "host",
        r"(?i)(?:\"(?:ps)?(?:machine|computer|host|local_host)[ _]?(?:name)?\"\s*:\s*\"|<Computer>)",
        r"(?P<secret>[^\"<\r\n]+)",
    ),
    _form("names", "user", r"(?:/home/|/Users/|(?<![\w.])(?:/run)?/media/)(?P<secret>[^/\\\s\"':,;)]+)"),
    _form(
        "names", "user",
        r"(?i)\b[a-z]:[\\/]{1,2}(?:users|documents and settings)[\\/]{1,2}",
        r"(?P<secret>[^\\/\"<>|\r\n:*?]{1,64}(?=[\\/])|[^\\/\"<>|\s:*?]+)",
    ),
    _form("names", "user", r"(?i)\"(?:user|login|owner)[ _]?(?:name|id)?\"\s*:\s*\"(?P<secret>[^\"\r\n]+)"),
    _form("names", "user", r"\b(?:opened|closed) for user (?P<secret>[\w.-]+)"),
    _form("names", "user", r"\bsession \S{1,20} of user (?P<secret>[\w-]+)"),
    _form("names", "user", r"\b(?:USER|LOGNAME|SUDO_USER)=(?P<secret>[\w.-]+)"),
    _form("names", "user", r"\bsudo(?:\[\d+\])?: {1,9}(?P<secret>[\w.-]+) : "),
    _form("names", "user", r"\b(?P<secret>S-1-5-21(?:-\d+){3,4})\b"),
    _form("names", "mail", r"(?<![\w.+-])(?P<secret>[\w.+-]{1,64}@[\w-]{1,64}(?:\.[\w-]{1,64}){1,8})"),
)  # fmt: skip

NO_SECRETS = frozenset(
    {"root", "user", "host", "admin", "administrator", "default", "public", "shared", "all", "guest",
     "localhost", "kernel", "usb", "hub", "xhci", "ehci", "ohci", "uhci", "scsi", "sd", "block", "pci", "hid",
     "input", "sound", "video", "disk", "device", "storage", "camera", "audio", "serial", "bus", "port",
     "socket", "linux", "windows", "macos", "system", "daemon", "nobody", "cdrom", "unknown", "none", "null",
     "generated", "error", "warning", "info"}
)  # fmt: skip
"""Words that are no secret, or that a log is full of: replacing them would tear the evidence apart."""

PLACE = re.compile(r"\?|usb\d+|\d+-\d+(?:\.\d+)*|[0-9a-f]{4}:[0-9a-f]{2}:[0-9a-f]{2}\.[0-7]|.+\.auto", re.ASCII)
"""Ids of places on a bus: a root hub's 'serial number' is the name of its controller."""

ROOT_HUB = re.compile(r"usb usb\d+: $")
"""What stands before the 'serial number' of a root hub in the kernel's log."""
