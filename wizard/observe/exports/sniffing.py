"""Which sort of file this is, from its first bytes. Knows how each sort begins; reads none.

A text that is none of these goes to the reader of kernel logs.
"""

from collections.abc import Callable
from typing import Literal

from wizard.observe.exports import event_text, registry, setup_log
from wizard.observe.exports.decoding import text_of
from wizard.observe.exports.json_values import start_of_json
from wizard.observe.exports.records import Record, plain
from wizard.observe.exports.text_records import csv_heads, keyed_records, table_records
from wizard.observe.macos import registry as mac_registry
from wizard.observe.macos.log import is_mac_log
from wizard.observe.macos.report_text import is_report_text
from wizard.observe.windows import power, tree_text
from wizard.observe.windows.devices import instance_id_in
from wizard.observe.windows.disks import disk_in, volume_in

Sort = Literal[
    "json", "plist", "events", "registry", "setup", "plan", "tree", "list", "table", "csv",
    "mac_report", "mac_registry", "mac_log", "event_log",
]  # fmt: skip

_EVENT_LOG = b"ElfFile\x00"  # the event viewer's own format

HEAD = 1 << 17
"""Bytes looked at. Whole-machine reports have their USB part further down than a few lines."""


def sort_of(head: bytes) -> Sort | None:
    """The sort of a file that begins so; None for a kernel log or anything else."""
    if head.startswith(_EVENT_LOG):
        return "event_log"
    start = head.lstrip(b"\xef\xbb\xbf \t\r\n")
    if start.startswith((b"<?xml", b"<!DOCTYPE plist", b"<plist", b"bplist00")) and b"plist" in start[:400]:
        return "plist"
    text = text_of(head)
    if start_of_json(text) is not None:
        return "json"
    return _sort_of_text(text)


def _sort_of_text(text: str) -> Sort | None:
    return next((sort for sort, is_one in _TEXTS if is_one(text)), None)


def _is_csv(text: str) -> bool:
    heads = {plain(head) for head in csv_heads(text)[0]}
    return bool(heads & {"instanceid", "deviceid", "pnpdeviceid"}) or (
        bool(heads & {"eventid", "id"}) and bool(heads & {"source", "providername"})
    )


def _is_list(text: str) -> bool:
    for value in keyed_records(text[:20_000]):
        record = Record(value.value)
        if instance_id_in(record) or disk_in(record) or volume_in(record):
            return True
    return False


def _is_table(text: str) -> bool:
    heads = {name for value in table_records(text[:20_000]) for name in value.value}
    return "InstanceId" in heads or {"DriveLetter", "OperationalStatus"} <= heads or "PartitionStyle" in heads


def _is_mac_text(text: str) -> bool:
    return is_mac_log(text.encode("utf-8", "replace"))


_TEXTS: tuple[tuple[Sort, Callable[[str], bool]], ...] = (
    ("setup", setup_log.is_setup_log),
    ("plan", power.is_plan),
    ("tree", tree_text.is_tree),
    ("events", event_text.is_event_text),
    ("list", _is_list),
    ("registry", registry.is_registry),
    ("mac_registry", mac_registry.is_registry),
    ("mac_report", is_report_text),
    ("mac_log", _is_mac_text),
    ("csv", _is_csv),
    ("table", _is_table),
)
"""In this order: a set-up log also holds lists, and a list of devices may quote anything."""
