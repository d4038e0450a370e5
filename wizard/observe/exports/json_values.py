"""The JSON values in a text, one by one with the line each begins on. Knows JSON; not what is meant.

Reads an array, one object, objects one a line or one after another, also after lines of noise (a report's warnings
on the error channel). A file that was cut off still gives the values before the cut.
"""

import json
import re
from dataclasses import dataclass
from typing import Any

from wizard.bus.errors import BadInputError

_DECODER = json.JSONDecoder(strict=False)
_BETWEEN = re.compile(r"[\s,\x1e]*")  # also RFC 7464's record separator
_ARRAY = re.compile(r"\[\s*(?:\{|\"|\]\s*\Z|\[\s*\{)")
_OBJECT = re.compile(r"\{\s*(?:\"(?:[^\"\\\n]|\\.){0,10000}\"\s*:|\})")
_FAULTS = (ValueError, RecursionError)


@dataclass(frozen=True)
class Value:
    """One value and the number of the line, from 1, on which it begins."""

    value: Any
    line: int


def start_of_json(text: str) -> int | None:
    """Where JSON begins at the start of one of the first lines; None if the text is none.

    `[   12.3] usb 1-1: …` of a kernel log is no array: an array of records goes on with a brace or a quote.
    """
    at = 0
    for _ in range(50):
        begin = at + len(text[at : at + 400]) - len(text[at : at + 400].lstrip())
        if _OBJECT.match(text, begin) or _ARRAY.match(text, begin):
            return begin
        end = text.find("\n", at)
        if end < 0:
            return None
        at = end + 1
    return None


def values_in(text: str, start: int, name: str) -> tuple[list[Value], bool]:
    """The values from `start` on, members of an outer array one by one, and whether the end is missing.

    Raises BadInputError if not one value can be read.
    """
    found: list[Value] = []
    inside = text.startswith("[", start)
    at = start + 1 if inside else start
    line, counted = 1 + text.count("\n", 0, at), at
    while True:
        at = _BETWEEN.match(text, at).end()  # type: ignore[union-attr]  # the pattern also matches nothing
        if at >= len(text):
            return found, inside
        if inside and text[at] == "]":
            return found, False
        line, counted = line + text.count("\n", counted, at), at
        try:
            value, at = _DECODER.raw_decode(text, at)
        except _FAULTS as fault:
            if found:
                return found, True
            raise BadInputError(
                name,
                f"it looks like JSON, but line {line} or one after it is broken or cut off",
                "Export it again; nothing may be added to the file.",
            ) from fault
        found.append(Value(value, line))
