"""The time stamp of a log line, in the ways dmesg, the journal and syslog print it. Computes no times.

dmesg prints seconds since start, a date (`-T`), differences (`-d`, `-H`) or ISO dates; syslog and the
journal a date, in the system's language, with the kernel's own stamp behind it or not. Level marks and
mail quoting are passed over.
"""

import re

# What may stand before a stamp: a mark of quoting, a mark of the level.
_STAMP = re.compile(
    rb"[>|\s]*(?:<\d{1,3}>\s*)?"
    + rb"(?:"
    + rb"\[[<\s]*(?P<seconds>\+?\d{1,10}\.\d{1,9})[>\s]*\]"
    + rb"|\[(?P<date>[^\]\n]{4,40}\d\d:\d\d(?::\d\d)?[^\]\n]{0,12})\]"
    + rb"|(?P<iso>\d{4}-\d\d-\d\d[T ]\d\d:\d\d:\d\d(?:[.,]\d{1,9})?(?:Z|[+-]\d\d:?\d\d)?)"
    + rb"|(?P<short>(?:[A-Za-z\x80-\xff][^\s\d:]{1,11}|\d{1,2}[\x80-\xff]{2,6})\s{1,2}\d{1,2}\s(?:\d{4}\s)?"
    + rb"\d\d:\d\d:\d\d(?:[.,]\d{1,9})?)"
    + rb")"
)
# A log may bring no stamps (`dmesg -t`): then who speaks, and of which place, tells that it is one.
_SPEAKER = re.compile(
    rb"[>|\s]{0,40}(?:<\d{1,3}>\s?)?(?:\S{1,80} )?"
    rb"(?:usb\w{0,12}|usb-storage|hub|[xeou]hci[_-]\w{1,20}|scsi|sd|sr|uas|input|hid-\w{1,30}|snd-usb-\w{1,12}|uvcvideo"
    rb"|cdc_\w{1,12}|pci|pcieport|ACPI|PCI|EXT4-fs|BTRFS|systemd|kernel|thunderbolt|typec)"
    rb"(?:\[\d{1,10}\]|[ ][\w.:-]{1,40}){0,3}:\s"
)
_INSIDE = re.compile(rb"\[\s*(\d{1,10}\.\d{1,9})\s*\]")
_FAR = 200
# The host's name, which only dates of syslog and journal bring along, before the name of who speaks (RFC 3164 §4.1).
_HOST = re.compile(rb"\s+\S{1,255}\s+(?=[\w./@-]{1,60}(?:\[\d{1,10}\])?:\s)")
_KERNEL = re.compile(rb"\s*(?:kernel|klogd)(?:\[\d{1,10}\])?:\s+(?:\[\s*\d{1,10}\.\d{1,9}\]\s*)?")


def stamp_of(line: bytes) -> str | None:
    """The stamp at the start of a line without its brackets, or the kernel's inside it; None if there is none."""
    match = _STAMP.match(line)
    if match is not None:
        return next(found for found in match.groups() if found).decode("utf-8", "replace").strip()
    inside = _INSIDE.search(line, 0, _FAR)
    return inside[1].decode("ascii") if inside else None


def is_stamped(line: bytes) -> bool:
    """Whether a line starts a message of its own, as far as a stamp at its start tells."""
    return _STAMP.match(line) is not None


def is_of_a_log(line: bytes) -> bool:
    """Whether a line looks like one of a system log: it has a stamp, or begins with a speaker of the kernel's."""
    return stamp_of(line) is not None or _SPEAKER.match(line) is not None


def after_stamp(line: bytes) -> bytes:
    """The line without what a log puts before a message: stamp, name of the host, `kernel:`."""
    match = _STAMP.match(line)
    if match is None:
        return line
    begin = match.end()
    if match["iso"] or match["short"]:
        host = _HOST.match(line, begin)
        begin = host.end() if host else begin
    kernel = _KERNEL.match(line, begin)
    return line[kernel.end() if kernel else begin :].lstrip()
