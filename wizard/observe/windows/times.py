"""Stamps as Windows' tools write them, as text for people: `2024-08-30T04:45:14Z` where the zone is told.

Knows the forms: `/Date(ms)/` of Windows PowerShell, ISO 8601, WMI's `20210504191808.586782-480`; anything else
stays as it was written. No clock is asked.
"""

import re
from datetime import UTC, datetime, timedelta

from wizard.observe.words import clean

_MS = re.compile(r"\\?/Date\((-?\d{1,16})(?:[+-]\d{4})?\)\\?/")
_WMI = re.compile(r"(\d{4})(\d{2})(\d{2})(\d{2})(\d{2})(\d{2})\.\d{6}([+-]\d{3}|\*{3})?\Z")
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_LONGEST = 64


def stamp_of(text: str | None) -> str | None:
    """A stamp as it should be shown; None for none."""
    if not text or not text.strip():
        return None
    match = _MS.search(text)
    if match:
        return _iso(int(match[1]))
    match = _WMI.match(text.strip())
    if match:
        year, month, day, hour, minute, second, _ = match.groups()
        return f"{year}-{month}-{day}T{hour}:{minute}:{second}"
    return clean(text)[:_LONGEST] or None


def day_of(text: str | None) -> str | None:
    """The day of a stamp, without the hour where the form is known."""
    stamp = stamp_of(text)
    return stamp[:10] if stamp and re.match(r"\d{4}-\d{2}-\d{2}T", stamp) else stamp


def _iso(milliseconds: int) -> str | None:
    """Milliseconds since 1970, UTC, as ISO 8601; None for a day no calendar has."""
    try:
        moment = _EPOCH + timedelta(milliseconds=milliseconds)
    except OverflowError:
        return None
    return moment.strftime("%Y-%m-%dT%H:%M:%SZ") if moment.year >= 1601 else None  # Windows counts from 1601
