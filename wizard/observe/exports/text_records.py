"""Records in text that tools print for people: `Key : value` lists, `key=value` lists, tables with a line of dashes.

One shape comes out, the same as from JSON: a mapping and the line it begins on. Labels are not translated: what
keeps its English name in every language is found, the rest is not. Knows layout; not what is meant.
"""

import re
from collections.abc import Iterator

from wizard.observe.exports.json_values import Value

_KEYED = re.compile(r"^\s{0,8}([^\s:=][^:=]{0,60}?)\s*(?::(?=\s|$)|=|[::](?=\s))\s*(.*)$")
_DASHES = re.compile(r"^\s*-{3,}(?:\s+-{2,})+\s*$")
_COLUMN = re.compile(r"-+\s*")
_INDENT = 20  # continued values stand below their value: at column 28 in pnputil, further right in Format-List
_MOST = 200_000


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
