"""Reading one JSON document from a file that anybody may have written.

Bounded in size, depth and numbers, so that whatever comes through can be worked with and written out
again. Knows nothing of what the document means. A file is only ever read.
"""

import json
import math
import stat
from pathlib import Path
from typing import Any

from wizard.bus.errors import BadInputError

MAX_BYTES = 20_000_000
"""Largest document that is opened, in bytes: common practice (no source). The largest bus has 127 devices
on each controller (USB 2.0 §4.1.1), which is about 1 MB; the rest is room for a log."""

MAX_DEPTH = 60
"""Deepest nesting that is opened: common practice (no source). A snapshot needs 8 levels."""

MAX_NUMBER = 1e30
"""Largest number that is opened: common practice (no source). Sums and products of a few such numbers
still fit into a float, so no figure computed from a document can overflow."""

_MEND = "Choose a file that Portmend saved; this one was not changed."


def read_document(path: Path) -> dict[str, Any]:
    """The JSON object in a file. Raises BadInputError with one sentence for anything else."""
    text = _text_of(path, _bytes_of(path))
    try:
        value = json.loads(text, parse_constant=_refuse_constant, parse_float=_float, parse_int=_int)
        if not isinstance(value, dict):
            raise BadInputError(str(path), "it holds JSON, but not a document (an object in braces)", _MEND)
        return {_sound(key, 0): _sound(part, 1) for key, part in value.items()}
    except json.JSONDecodeError as slip:
        raise BadInputError(str(path), f"it is not JSON: {slip.msg.lower()} in line {slip.lineno}", _MEND) from slip
    except _UnfitError as unfit:
        raise BadInputError(str(path), str(unfit), _MEND) from unfit
    except RecursionError:
        raise BadInputError(str(path), "it is nested far deeper than any document of ours", _MEND) from None


class _UnfitError(Exception):
    """A value inside the document that can't be taken in."""


def _bytes_of(path: Path) -> bytes:
    try:
        kind = path.stat()
        if stat.S_ISDIR(kind.st_mode):
            raise BadInputError(str(path), "it is a folder, not a file", "Name a file inside it.")
        if not stat.S_ISREG(kind.st_mode):
            raise BadInputError(str(path), "it is not an ordinary file", "Save it as a file and name that.")
        with path.open("rb") as file:
            data = file.read(MAX_BYTES + 1) if kind.st_size <= MAX_BYTES else None
    except (OSError, ValueError) as failure:
        raise BadInputError(str(path), *_why_not(failure)) from failure
    if data is None or len(data) > MAX_BYTES:
        limit = MAX_BYTES // 1_000_000
        raise BadInputError(str(path), f"it is larger than {limit} MB, more than any case needs", _MEND)
    if not data.strip():
        raise BadInputError(str(path), "it is empty", _MEND)
    return data


def _why_not(failure: OSError | ValueError) -> tuple[str, str]:
    if isinstance(failure, FileNotFoundError | NotADirectoryError):
        return "there is no such file", "Check the name and the folder."
    if isinstance(failure, PermissionError):
        return "you may not read it", "Ask its owner for a copy, or change its permissions."
    reason = failure.strerror if isinstance(failure, OSError) and failure.strerror else "the name is not possible"
    return f"it can't be read ({reason})", "Check the name, or copy the file to this computer first."


def _text_of(path: Path, data: bytes) -> str:
    # The old Windows PowerShell writes UTF-16 with `>`; editors there put a mark before UTF-8.
    encoding = "utf-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig"
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as slip:
        raise BadInputError(str(path), "it is not a text file", _MEND) from slip


def _refuse_constant(word: str) -> float:
    raise _UnfitError(f"it holds {word}, which is not a number of JSON")


def _float(digits: str) -> float:
    number = float(digits)
    if not math.isfinite(number) or abs(number) > MAX_NUMBER:
        raise _UnfitError(f"it holds a number too large to be true ({_short(digits)})")
    return number


def _int(digits: str) -> int:
    # Length first: turning thousands of digits into a number is slow, and refused by Python itself.
    if len(digits) > 32 or abs(int(digits)) > MAX_NUMBER:
        raise _UnfitError(f"it holds a number too large to be true ({_short(digits)})")
    return int(digits)


def _short(digits: str) -> str:
    return digits if len(digits) <= 12 else f"{digits[:9]}…"


def _sound(value: Any, depth: int) -> Any:
    """The value with half characters (lone surrogates, which no file can hold) replaced; depth checked."""
    if isinstance(value, str):
        return value if value.isascii() else value.encode("utf-16", "surrogatepass").decode("utf-16", "replace")
    if not isinstance(value, dict | list):
        return value
    if depth > MAX_DEPTH:
        raise _UnfitError(f"it is nested deeper than {MAX_DEPTH} levels, more than any document of ours")
    if isinstance(value, list):
        return [_sound(part, depth + 1) for part in value]
    return {_sound(key, depth): _sound(part, depth + 1) for key, part in value.items()}
