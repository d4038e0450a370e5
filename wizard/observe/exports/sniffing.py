"""Which sort of file this is, from its first bytes. Knows how each sort begins; reads none.

A text that is none of these goes to the reader of kernel logs.
"""

from typing import Literal

from wizard.observe.exports import event_text, registry, setup_log
from wizard.observe.exports.decoding import text_of
from wizard.observe.exports.json_values import start_of_json
from wizard.observe.exports.records import Record
from wizard.observe.exports.text_records import keyed_records, table_records
from wizard.observe.macos import registry as mac_registry
from wizard.observe.macos.log import is_mac_log
from wizard.observe.macos.report_text import is_report_text
from wizard.observe.windows import power, tree_text
from wizard.observe.windows.devices import instance_id_in
from wizard.observe.windows.disks import disk_in, volume_in

Sort = Literal[
    "json", "plist", "events", "registry", "setup", "plan", "tree", "list", "table",
    "mac_report", "mac_registry", "mac_log",
]  # fmt: skip

HEAD = 1 << 17
"""Bytes looked at. Whole-machine reports have their USB part further down than a few lines."""


def sort_of(head: bytes) -> Sort | None:
    """The sort of a file that begins so; None for a kernel log or anything else."""
    start = head.lstrip(b"\xef\xbb\xbf \t\r\n")
    if start.startswith((b"<?xml", b"<!DOCTYPE plist", b"<plist", b"bplist00")) and b"plist" in start[:400]:
        return "plist"
    text = text_of(head)
    if start_of_json(text) is not None:
        return "json"
    return _sort_of_text(text)


def _sort_of_text(text: str) -> Sort | None:
    if setup_log.is_setup_log(text):
        return "setup"
    if power.is_plan(text):
        return "plan"
    if tree_text.is_tree(text):
        return "tree"
    if event_text.is_event_text(text):
        return "events"
    if _is_list(text):
        return "list"
    if registry.is_registry(text):
        return "registry"
    if mac_registry.is_registry(text):
        return "mac_registry"
    if is_report_text(text):
        return "mac_report"
    if is_mac_log(text.encode("utf-8", "replace")):
        return "mac_log"
    return "table" if _is_table(text) else None


def _is_list(text: str) -> bool:
    for value in keyed_records(text[:20_000]):
        record = Record(value.value)
        if instance_id_in(record) or disk_in(record) or volume_in(record):
            return True
    return False


def _is_table(text: str) -> bool:
    heads = {plain for value in table_records(text[:20_000]) for plain in value.value}
    return "InstanceId" in heads or {"DriveLetter", "OperationalStatus"} <= heads or "PartitionStyle" in heads
