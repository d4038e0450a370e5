"""What SCSI, block layer and file systems say about a drive in trouble.

Written from the kernel's own templates (Linux 6.1: drivers/usb/storage, drivers/scsi, fs; the block
layer's and older wording from memory). Whether such a line is about a USB drive is decided in
kernel_log_drive; here is only what is said, and how such lines are found.
"""

import re

AFTER_COLON: dict[str, tuple[str, ...]] = {
    "": (
        r"\[s[dr]\w{1,5}\]",
        r"tag#\d",
        r"uas_",
        r"Device offlined",
        r"rejecting I/O to",
        r"device offline or changed",
        r"killing request",
        r"timing out command",
        r"aborting command due to timeout",
        r"SCSI error: ",
        r"(?:FAILED|UNKNOWN) Result",
        r"Read Capacity\(",
        r"Synchronize Cache\(",
        r"unknown filesystem type",
        r"wrong fs type",
        r"attempt to access beyond end of device",
        r"Aborting journal on device",
        r"Error -?\d+ detected when updating journal",
        r"Detected IO errors while flushing",
    ),
    "ata": (r"exception Emask", r"failed command: ", r"SATA link ", r"hard resetting link"),
}
"""Spots behind a colon; the key `ata` marks lines that speak of a drive that is not on USB."""

BARE: dict[str, tuple[str, ...]] = {
    "": (
        r"Aborting journal on device",
        r"unknown filesystem type",
        r"uas_eh_",
        r"attempt to access beyond end of device",
        r"SCSI host \d+ abort",
        r"lost (?:async |sync )?page write",
    ),
}
"""Spots at the start of a line or behind its stamp."""

COMPLAINTS: tuple[tuple[str, re.Pattern[bytes]], ...] = (
    (
        "storage_abort",
        re.compile(
            rb"\buas_(?:eh_|zap_pending|\w+reset_handler)|uas-tag\s\d+\sinflight|timing out command, waited"
            rb"|aborting command due to timeout|SCSI host \d+ abort"
        ),
    ),
    (
        "storage_offline",
        re.compile(
            rb"[Dd]evice offlined|rejecting I/O to (?:offline|dead) device|device offline (?:or changed|error)"
            rb"|device set offline|killing request"
        ),
    ),
    (
        "storage_io_error",
        re.compile(
            rb"error,\sdev\s|I/O\serror\son\s(?:dev|s[dr])|Result:\shostbyte=|SCSI error: return code"
            rb"|Read Capacity\(\d+\) failed|attempt to access beyond end of device|lost (?:a?sync )?page write"
        ),
    ),
    (
        "filesystem_error",
        re.compile(
            rb"-fs\s(?:error|warning)\s\(device|BTRFS\s(?:error|warning|critical|alert|emerg)"
            rb"|Aborting journal on device|detected when updating journal|Detected IO errors while flushing"
            rb"|unknown filesystem type|wrong fs type"
            rb"|(?:-fs|XFS|ntfs3|UDF-fs:?)[^\n]{0,20}\((?:device )?s[dr]\w+\)[^\n]{0,200}?(?i:error|corrupt|fail"
            rb"|unable to|invalid|bogus|not properly unmounted|read-only|shut\s?down|can't find|fsck|warning)"
        ),
    ),
)
"""The first that is found in a line tells the kind."""

HARMLESS = re.compile(rb"mounted filesystem|recovery complete|re-mounted|unmounting filesystem|Opts: ")
"""File-system lines that hold such words without complaining."""

UNNAMED = re.compile(rb"unknown filesystem type|wrong fs type")
"""Complaints that may well name no disk."""

DISK = re.compile(
    rb"\[(s[dr][a-z0-9]{1,4})\]|\((?:device\s)?(s[dr][a-z0-9]{1,6})\)|\bdev(?:ice)?,?\s(s[dr][a-z0-9]{1,6})"
    rb"|/dev/(s[dr][a-z0-9]{1,6})|\b(?:for|on)\s(s[dr][a-z0-9]{1,6})\b|(?:^|\s)(s[dr][a-z]?[a-z0-9]{1,5}):\s"
)
"""A disk or partition a line names."""
