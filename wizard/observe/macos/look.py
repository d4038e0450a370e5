"""A look on macOS: libusb, the system's own USB report and its list of disks at the same time, joined."""

import threading
from collections.abc import Callable, Mapping
from typing import Any

from wizard.bus.drive import with_disks
from wizard.bus.errors import BadInputError
from wizard.bus.model import Snapshot, System
from wizard.observe import libusb
from wizard.observe.asking import Answer
from wizard.observe.exports.decoding import text_of
from wizard.observe.exports.json_values import start_of_json, values_in
from wizard.observe.macos.commands import ask_disks, ask_report
from wizard.observe.macos.drives import drives_of
from wizard.observe.macos.report import buses_in
from wizard.observe.macos.report_text import plist_in
from wizard.observe.macos.signs import report_signs
from wizard.observe.macos.tree import snapshot_of
from wizard.observe.macos.volumes import MacDisk, disk_signs, disks_in
from wizard.observe.merging import merged
from wizard.observe.notes import NO_BUS
from wizard.observe.seen import Seen, Watcher
from wizard.observe.words import clean

_ASKING = "Asking macOS what it knows of them"
_TICK_S = 0.05
NO_REPORT = "macOS' own USB report could not be had: names, currents and places stay unknown where libusb is not told."

Ask = Callable[[Callable[[], bool]], Answer]


def look(
    watcher: Watcher | None = None,
    see: Callable[[Watcher], Seen] = libusb.look,
    report: Ask = ask_report,
    disks: Ask = ask_disks,
) -> Seen:
    """Look at this Mac. Raises CancelledError if the watcher says so. The others stand in in tests."""
    watching = watcher or Watcher()
    answers: dict[str, Answer] = {}
    threads = [
        threading.Thread(target=_keep, args=(answers, name, ask, watching), name=f"portmend-{name}", daemon=True)
        for name, ask in (("report", report), ("disks", disks))
    ]
    for thread in threads:
        thread.start()
    seen = see(watching)
    while any(thread.is_alive() for thread in threads):
        watching.progress(_ASKING, None)
        for thread in threads:
            thread.join(_TICK_S)
    return joined(seen, answers.get("report", Answer(trouble="failed")), answers.get("disks", Answer()))


def _keep(answers: dict[str, Answer], name: str, ask: Ask, watcher: Watcher) -> None:
    answers[name] = ask(watcher.cancelled)


def joined(seen: Seen, report: Answer, disks: Answer) -> Seen:
    """All of it in one look."""
    told = _report(report.output)
    buses = buses_in(told)
    listed = snapshot_of(buses, _system(told, seen.snapshot.system)) if buses else Snapshot(system=seen.snapshot.system)
    notes = [note for note in seen.notes if not listed.devices or note not in (libusb.LESS, NO_BUS)]
    if not buses:
        notes.append(NO_REPORT)
    snapshot, told_disks = merged(seen.snapshot, listed), _disks(disks.output)
    signs = (*report_signs(buses), *disk_signs(told_disks))
    drives = drives_of(snapshot, buses, told_disks)
    return Seen(with_disks(snapshot, drives), tuple(notes), signs, drives)


def _report(output: bytes) -> dict[str, Any]:
    text = text_of(output)
    start = start_of_json(text)
    if start is None:
        return {}
    try:
        values, _ = values_in(text, start, "the report")
    except BadInputError:
        return {}
    found: dict[str, Any] = {}
    for value in values:
        if isinstance(value.value, Mapping):
            found.update(value.value)
    return found


def _disks(output: bytes) -> tuple[MacDisk, ...]:
    if not output.strip():
        return ()
    try:
        return disks_in(plist_in(output, "the list of disks"))
    except BadInputError:
        return ()


def _system(told: Mapping[str, Any], known: System) -> System:
    parts = told.get("SPHardwareDataType")
    first = parts[0] if isinstance(parts, list) and parts and isinstance(parts[0], Mapping) else {}

    def word(*keys: str) -> str | None:
        return next((clean(first[key]) for key in keys if isinstance(first.get(key), str)), None)

    return known.model_copy(
        update={
            "os": "macos",
            "board_maker": "Apple" if first else known.board_maker,
            "board_model": word("machine_model", "model_identifier") or known.board_model,
            "firmware_version": word("boot_rom_version") or known.firmware_version,
        }
    )
