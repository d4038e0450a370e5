"""Records in text that tools print for people: `Key : value` lists, `key=value` lists, tables with a line of dashes,
and values between commas.

One shape comes out, the same as from JSON: a mapping and the line it begins on. Labels are not translated: what
keeps its English name in every language is found, the rest is not. Knows layout; not what is meant.
"""

import csv
import re
from collections.abc import Iterator

from wizard.observe.exports.json_values import Value

_KEYED = re.compile(r"^\s{0,8}([^\s:=][^:=]{0,60}?)\s*(?::(?=\s|$)|=|[::](?=\s))\s*(.*)$")
_DASHES = re.compile(r"^\s*-{3,}(?:\s+-{2,})+\s*$")
_COLUMN = re.compile(r"-+\s*")
_INDENT = 20  # continued values stand below their value: at column 28 in pnputil, further right in Format-List
_MOST = 200_000
_SEPARATORS = ",;\t"


def lines_of(text: str) -> list[str]:
    """Lines, whatever ends them; wmic's own CR CR LF is one end."""
    return text.replace("\r\r\n", "\n").replace("\r\n", "\n").replace("\r", "\n").split("\n")[:_MOST]


def keyed_records(text: str) -> Iterator[Value]:
    """Blocks of keyed lines between blank ones; a deeply indented line goes on with the value before it."""
    found: dict[str, object] = {}
    begin, last = 1, ""
    for number, line in enumerate(lines_of(text), start=1):
        if not line.strip():
            if found:
                yield Value(found, begin)
            found, last = {}, ""
            continue
        goes_on = last and len(line) - len(line.lstrip()) >= _INDENT
        match = None if goes_on else _KEYED.match(line)
        if match is not None:
            if not found:
                begin = number
            last = match[1].strip()
            found.setdefault(last, match[2].strip().replace("&amp;", "&"))
        elif goes_on:
            found[last] = _joined(found[last], line.strip())
    if found:
        yield Value(found, begin)


def _joined(before: object, more: str) -> object:
    """A list of values; or a value cut by the width of the window, put together again."""
    if isinstance(before, list):
        return [*before, more]
    text = str(before)
    wrapped = text.startswith("{") or "ObjectId" in text
    return text + more if wrapped or not text else [text, more]


def table_records(text: str) -> Iterator[Value]:
    """Rows of tables whose heads are underlined with dashes."""
    lines = lines_of(text)
    columns: list[tuple[int, int | None]] = []
    heads: list[str] = []
    for number, line in enumerate(lines, start=1):
        if _DASHES.match(line) and number > 1:
            spans = [match.span() for match in _COLUMN.finditer(line)]
            columns = [(a, b) for a, b in spans[:-1]] + [(spans[-1][0], None)]
            heads = [lines[number - 2][a:b].strip() for a, b in columns]
        elif columns and not line.strip():
            columns = []
        elif columns:
            row = {head: line[a:b].strip() for head, (a, b) in zip(heads, columns, strict=True) if head}
            if any(row.values()):
                yield Value(row, number)


def csv_records(text: str) -> Iterator[Value]:
    """Rows below a line of names, values between commas, semicolons or tabs (Export-Csv, the event viewer)."""
    lines = lines_of(text)
    begin = 1 if lines[0].startswith("#TYPE") else 0
    heads, separator = csv_heads(text)
    if not heads:
        return
    rows = csv.reader(lines[begin + 1 :], delimiter=separator, strict=False)
    try:
        for row in rows:
            found = {head: value for head, value in zip(heads, row, strict=False) if head and value.strip()}
            if found:
                yield Value(found, begin + 1 + rows.line_num)
    except csv.Error:
        return  # a value far longer than any name or message


def csv_heads(text: str) -> tuple[tuple[str, ...], str]:
    """The names in the first line, and what separates them; none if it is no such line."""
    first = next((line for line in text[:4000].splitlines() if not line.startswith("#TYPE")), "")
    for separator in _SEPARATORS:
        heads = tuple(part.strip().strip('"').strip() for part in first.split(separator))
        if len(heads) > 1:
            return heads, separator
    return (), ","
