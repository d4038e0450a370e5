"""Reads an exported file into signs and a snapshot: the way in. Knows which reader is for which sort of file.

Never raises on any bytes but BadInputError, with one sentence on what is wrong with the file.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from itertools import chain

from wizard.bus.errors import BadInputError
from wizard.observe.exports import event_text, registry, setup_log
from wizard.observe.exports.decoding import encoding_of, text_of
from wizard.observe.exports.export import Export
from wizard.observe.exports.json_values import Value, start_of_json, values_in
from wizard.observe.exports.mac import mac_plist, mac_registry, mac_report
from wizard.observe.exports.sniffing import HEAD, Sort, sort_of
from wizard.observe.exports.text_records import csv_records, keyed_records, table_records
from wizard.observe.exports.windows import windows_export
from wizard.observe.macos.log import MacLog
from wizard.observe.macos.report import is_report
from wizard.observe.macos.report_text import plist_in, report_in_text
from wizard.observe.windows.power import plan_in, plan_note
from wizard.observe.windows.tree_text import snapshot_in

MOST_BYTES = 64_000_000
"""Most of an export that is read as a whole: common practice (no source). A year of USB events is a few MB."""

CUT = "The file is cut off: what came before the cut was read."


def peek(chunks: Iterable[bytes]) -> tuple[Sort | None, Iterator[bytes]]:
    """The sort of what is coming, and all of it from the start."""
    held: list[bytes] = []
    length = 0
    source = iter(chunks)
    for chunk in source:
        held.append(chunk)
        length += len(chunk)
        if length >= HEAD:
            break
    return sort_of(b"".join(held)[:HEAD]), chain(held, source)


def read_export(chunks: Iterable[bytes], sort: Sort, name: str = "the file") -> Export:
    """What a file of that sort says. Raises BadInputError if it is broken, or too long to be one."""
    if sort == "mac_log":
        return _mac_log(chunks)
    if sort == "event_log":
        raise BadInputError(
            name,
            "it is in the event viewer's own format (evtx), which is not read here",
            "Save it as XML or text there.",
        )
    data = _whole(chunks, name)
    if sort == "plist":
        return mac_plist(plist_in(data, name), name)
    text = text_of(data)
    if sort == "json":
        return _json(text, name)
    return _READERS[sort](text)


def _whole(chunks: Iterable[bytes], name: str) -> bytes:
    held: list[bytes] = []
    length = 0
    for chunk in chunks:
        held.append(chunk)
        length += len(chunk)
        if length > MOST_BYTES:
            raise BadInputError(
                name,
                f"it is longer than {MOST_BYTES // 1_000_000} MB",
                "Export fewer days or only the USB part.",
            )
    return b"".join(held)


def _json(text: str, name: str) -> Export:
    start = start_of_json(text)
    values, cut = values_in(text, start if start is not None else 0, name)
    reports = [v.value for v in values if is_report(v.value)]
    export = mac_report(reports) if reports else windows_export(values)
    return replace(export, notes=(*export.notes, CUT)) if cut else export


def _mac_log(chunks: Iterable[bytes]) -> Export:
    log = MacLog()
    log.take(_lines(chunks))
    return Export("macos", log.signs())


def _lines(chunks: Iterable[bytes]) -> Iterator[bytes]:
    """Whole lines of at most a few thousand bytes; UTF-16 is turned into UTF-8 first, and needs the whole."""
    source = iter(chunks)
    first = next(source, b"")
    if encoding_of(first) != "utf-8":
        yield from text_of(b"".join((first, *source))).encode("utf-8", "replace").split(b"\n")
        return
    rest = b""
    for chunk in chain([first], source):
        *whole, rest = (rest + chunk).split(b"\n")
        yield from whole
        rest = rest[-_LONGEST_REST:]
    if rest:
        yield rest


_LONGEST_REST = 1 << 20


def _records(text: str, of: Callable[[str], Iterator[Value]]) -> Export:
    return windows_export(list(of(text)))


def _setup(text: str) -> Export:
    return Export("windows", setup_log.signs_in(text))


def _plan(text: str) -> Export:
    note = plan_note(plan_in(text))
    return Export("windows", notes=(note,) if note else ())


def _registry(text: str) -> Export:
    export = windows_export(list(registry.records_in(text)), with_snapshot=False)
    return Export(export.of, export.signs, None, (*export.notes, GONE))


GONE = "A registry export also lists devices that were unplugged long ago, so no picture of the bus was made of it."

_READERS: dict[Sort, Callable[[str], Export]] = {
    "events": lambda text: _records(text, event_text.events_in),
    "list": lambda text: _records(text, keyed_records),
    "table": lambda text: _records(text, table_records),
    "csv": lambda text: _records(text, csv_records),
    "registry": _registry,
    "setup": _setup,
    "plan": _plan,
    "tree": lambda text: Export("windows", snapshot=snapshot_in(text)),
    "mac_report": lambda text: mac_report([report_in_text(text)]),
    "mac_registry": mac_registry,
}
