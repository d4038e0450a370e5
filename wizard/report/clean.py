"""Foreign text made harmless for a terminal, a text file or a page. Knows characters, not what they mean.

Names come from devices and files, which may hold anything: terminal escapes, line breaks that forge a
line of ours, marks that turn the reading direction round.
"""

import unicodedata

_JOINERS = "\u200c\u200d"
"""Invisible, but parts of words in several scripts and of emoji: they stay."""

LONGEST = 300
"""Characters of one foreign text that are shown: a string descriptor holds 126 at most (USB 2.0 §9.6.7)."""


def one_line(text: str) -> str:
    """The text on one line, with every control or invisible character written out (`\\x1b`, `\\u202e`)."""
    if text.isascii() and text.isprintable():
        return text
    return "".join(_harmless(char) for char in text)


def shortened(text: str, longest: int = LONGEST) -> str:
    """At most that many characters, the cut marked with an ellipsis."""
    return text if len(text) <= longest else f"{text[: longest - 1]}…"


def _harmless(char: str) -> str:
    if char in "\t\n\r":
        return " "
    # Cc control, Cf format (direction marks, invisible), Cs half characters, Co and Cn nothing a font has,
    # Zl and Zp line and paragraph breaks: Unicode Standard, table 4-4 (general category values).
    if unicodedata.category(char) in ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp") and char not in _JOINERS:
        code = ord(char)
        return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"
    return char
