"""Finds the spots of a log that deserve a closer look, at the speed of searching for single bytes.

A few searches, each behind a byte or word that ordinary lines have rarely, run over a whole window in C.
Their hits are put in order; whether a hit is a sign is decided elsewhere (kernel_log_reading).
"""

import re
from collections.abc import Iterator, Mapping
from functools import cache
from heapq import merge
from typing import NamedTuple

from wizard.observe.kernel_log_drive_patterns import AFTER_COLON as DRIVE_AFTER_COLON
from wizard.observe.kernel_log_drive_patterns import BARE as DRIVE_BARE
from wizard.observe.kernel_log_driver_patterns import BARE, DRIVERS, SETTLED
from wizard.observe.kernel_log_patterns import USB
from wizard.observe.kernel_log_search import BLANK, Search, compile_search
from wizard.observe.kernel_log_window import Window

Label = tuple[str, str]


class Hit(NamedTuple):
    """`at` is where it was found (the colon or line's end before a message), `end` where what matched ends.

    `rule` says how to look closer; `kind` is the kind of sign it would be, or empty.
    """

    at: int
    end: int
    rule: str
    kind: str


def _labelled(rule: str, table: Mapping[str, tuple[str, ...]]) -> Iterator[tuple[Label, str]]:
    for kind, patterns in table.items():
        for pattern in patterns:
            yield (rule, kind), pattern


_STAMP = r"\[[^\]\n]{1,40}\]\s{0,3}"


@cache
def _searches() -> tuple[Search, ...]:
    """The searches for whole messages. Compiled when first needed: that takes longer than a start should."""
    behind_colon = compile_search(
        r":",
        BLANK,
        (
            *_labelled("usb", DRIVERS),
            *_labelled("usb", USB),
            *(pair for rule, table in SETTLED.items() for pair in _labelled(rule, table)),
            *_labelled("drive", DRIVE_AFTER_COLON),
        ),
    )
    at_line_start = compile_search(
        r"\n",
        rf"[>\s<0-9]{{0,12}}(?:{_STAMP}(?:{_STAMP}|)|)",
        (*_labelled("bare", BARE), *_labelled("drive", DRIVE_BARE)),
    )
    return (behind_colon, at_line_start)


# A driver bound to an interface, and an error number that a transfer can end with (USB core,
# Documentation/driver-api/usb/error-codes.rst): ENODEV EPIPE ETIME EPROTO EOVERFLOW EILSEQ ESHUTDOWN
# ETIMEDOUT EREMOTEIO.
_DRIVER_ERROR = re.compile(
    rb":(?=[1-9]\d?\.\d{1,2}(?:\s[\w()\s-]{1,60})?(:)\s[^\n]{1,300}(?:-|\n[^\n]{0,200}-)"
    rb"(?:19|32|62|71|75|84|108|110|121)(?!\d))"
)
_LONGEST_HEAD = 128
_NAMES_DISK = re.compile(rb"\((?=(?:device\s)?s[dr][a-z0-9])")
_ERROR_OF_DISK = re.compile(rb"error(?=,?\s(?:on\s)?(?:dev|s[dr][a-z0-9]))")
_SCSI_HOST = re.compile(rb"scsi(?=\s?(?:host)?\d{1,5}\s?[:,])")

_WORDS: tuple[tuple[bytes, str], ...] = (
    (b"urb", "urb"),
    (b"timed", "endpoint"),
    (b"message repeated ", "repeated"),
)


def hits(window: Window) -> Iterator[Hit]:
    """All hits in the middle of a window, in order; of two at the same spot the more exact one first."""
    data, start, limit = window.data, window.start, window.limit
    exact = (_found(search, data, start, limit) for search in _searches())
    spots = (
        _matches(_NAMES_DISK, "drive", window),
        _matches(_ERROR_OF_DISK, "drive", window),
        _matches(_SCSI_HOST, "drive", window),
        _matches(_DRIVER_ERROR, "driver", window),
    )
    words = (_words(word, rule, window) for word, rule in _WORDS)
    return merge(*exact, *spots, *words, key=lambda hit: hit.at)


def _found(search: Search, data: bytes, start: int, limit: int) -> Iterator[Hit]:
    for at, end, (rule, kind) in search.hits(data, start, limit):
        yield Hit(at, end, rule, kind)


def _matches(pattern: re.Pattern[bytes], rule: str, window: Window) -> Iterator[Hit]:
    """A hit lies where the pattern's group does, or else where the match begins."""
    for match in pattern.finditer(window.data, max(0, window.start - _LONGEST_HEAD)):
        at = match.start(match.lastindex or 0)
        if match.start() >= window.limit:
            return
        if window.start <= at < window.limit:
            yield Hit(at, match.end(), rule, "")


def _words(word: bytes, rule: str, window: Window) -> Iterator[Hit]:
    limit = window.limit + len(word) - 1
    at = window.data.find(word, window.start, limit)
    while at >= 0:
        yield Hit(at, at + len(word), rule, "")
        at = window.data.find(word, at + 1, limit)
