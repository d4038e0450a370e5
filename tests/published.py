"""The published values in reference/check-values.json: their rows, and a mark that runs a test once for each row.

A row says where its value was read and how sure that is (`status`: confirmed, confirmed-secondary, derived, memory);
the status stands in the id of every test that uses the row, the source in its failure. Rows that no test uses, and
parts of rows that none does, are listed with the reason in reference/unused.toml. Knows nothing of Portmend.
"""

import json
import re
import tomllib
from collections.abc import Iterator
from fnmatch import fnmatchcase
from pathlib import Path
from typing import Any, NamedTuple

import pytest

REFERENCE = Path(__file__).parent / "reference"
NUMBER = re.compile(r"(?:(?<![\w.])|(?<=\bx))\d+(?:\.\d+)?")


class Row(NamedTuple):
    """One published value."""

    id: str
    section: int
    name: str
    value: Any
    unit: str
    source: str
    locator: str
    status: str
    note: str


ROWS = {r["id"]: Row(**r) for r in json.loads((REFERENCE / "check-values.json").read_text("utf-8"))["rows"]}
UNUSED: dict[str, dict[str, Any]] = tomllib.loads((REFERENCE / "unused.toml").read_text("utf-8"))


def published(*patterns: str, but_not: str | None = None) -> pytest.MarkDecorator:
    """Run a test once for every row whose id fits one of the patterns (`hs-int-*`), with the row as `row`."""
    rows = [ROWS[i] for p in patterns for i in ROWS if fnmatchcase(i, p) and i != but_not]
    missing = [p for p in patterns if not any(fnmatchcase(i, p) for i in ROWS)]
    assert not missing, f"no such rows: {missing}"
    return pytest.mark.parametrize("row", rows, ids=[f"{r.id} {r.status}" for r in rows])


def numbers(text: str) -> list[float]:
    """The numbers in a text, in order: `18 ns, 3 m` gives 18 and 3."""
    return [float(n) for n in NUMBER.findall(text)]


def per_bit_ns(row_id: str) -> float:
    """Nanoseconds of one bit as the note of a bus-time row has them, in the formula of USB 2.0 §5.11.3."""
    found = re.search(r"per-bit ([\d.]+)|\+ ([\d.]+)\*Floor", ROWS[row_id].note)
    assert found is not None
    return float(found[1] or found[2])


def altered(value: Any) -> Iterator[tuple[str, Any]]:
    """Every way to change one number of a row's value: where it stands (`1`, `payload`, `#0` in a text), the result."""
    if isinstance(value, dict | list):
        for key in value if isinstance(value, dict) else range(len(value)):
            for place, other in altered(value[key]):
                copy = value.copy()
                copy[key] = other
                yield f"{key}{place}", copy
    elif isinstance(value, str):
        for number, found in enumerate(NUMBER.finditer(value)):
            yield f"#{number}", f"{value[: found.start()]}{_other(found[0])}{value[found.end() :]}"
    else:
        yield "", _other(str(value), type(value))


def _other(digits: str, kind: type = str) -> Any:
    """Half as much again and a bit; a whole number stays one."""
    return kind(float(digits) * 1.5 + 0.5) if "." in digits else kind(int(digits) * 3 // 2 + 1)
