"""Turning bytes from files and devices into words and numbers. Knows encodings; not what is meant.

Everything here comes from devices and may be anything: control characters, escape sequences that
would colour a terminal, marks that turn the reading direction. None of that gets through.
"""

import unicodedata
from functools import lru_cache

LONGEST = 255
"""Characters kept of one text. A USB string has at most 126 (USB 2.0 §9.6.7: 255 bytes, two a character)."""

_UNWANTED = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})  # Unicode general categories


@lru_cache(maxsize=512)  # one bus says `auto`, `on` and `enabled` hundreds of times
def text_of(raw: bytes) -> str:
    """The words in the bytes of a text file, on one line; undecodable bytes become `�`."""
    return clean(raw.decode("utf-8", errors="replace"))


def clean(text: str) -> str:
    """One line without control and formatting characters, outer blanks or excess length."""
    text = text.strip()
    if text.isascii() and text.isprintable() and len(text) <= LONGEST:
        return text
    shown = "".join(" " if unicodedata.category(c) in _UNWANTED else c for c in text[: LONGEST * 4])
    return " ".join(shown.split())[:LONGEST]


def number_in(raw: bytes, base: int = 10) -> int | None:
    """The whole number a text file holds, and nothing else; None if it holds none."""
    digits = raw.strip()
    if len(digits) > 20 or b"_" in digits:
        return None
    try:
        return int(digits, base)
    except ValueError:
        return None
