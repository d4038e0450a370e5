"""From an observer to a look: snapshot, ledger, signs. Judges nothing."""

from collections.abc import Callable
from pathlib import Path
from typing import Literal

from wizard.budget.ledger import build_ledger
from wizard.budget.setup import Setup
from wizard.bus.model import Snapshot
from wizard.bus.sign import Sign, told_by_both
from wizard.case.documents import Look
from wizard.case.model import Case
from wizard.case.told import told_setup
from wizard.observe import captured, kernel_log, live
from wizard.observe.seen import Seen, Watcher
from wizard.store.demos import Demo
from wizard.store.logs import read_log as read_log_bytes

DRIVE_SYMPTOM = "drive_missing"


def read_signs(log: str | None, snapshot: Snapshot | None = None, drive_case: bool = False) -> tuple[Sign, ...]:
    """Signs in the text of a log; none for no log."""
    return kernel_log.read_signs(kernel_log.as_chunks(log), snapshot, drive_case) if log else ()


def _look(seen: Seen, setup: Setup, log: str | None) -> Look:
    return Look(
        snapshot=seen.snapshot,
        ledger=build_ledger(seen.snapshot, setup),
        # No case says yet what it is about: lines about drives count unless the log itself says they are not on USB.
        signs=read_signs(log, seen.snapshot, drive_case=True),
        notes=seen.notes,
    )


def look_live(watcher: Watcher | None = None, log: str | None = None, setup: Setup | None = None) -> Look:
    """Look at this machine's own bus. Raises CancelledError if the watcher says so."""
    return _look(live.look(watcher or Watcher()), setup or Setup(), log)


def look_captured(
    root: Path, watcher: Watcher | None = None, log: str | None = None, setup: Setup | None = None
) -> Look:
    """Look at a captured tree: a folder or an archive of one. Raises BadInputError if it is neither."""
    return _look(captured.look(root, watcher or Watcher()), setup or Setup(), log)


def look_demo(demo: Demo, stage: Literal["before", "after"]) -> Look:
    """One of the two looks of an invented scenario; its log belongs to the first."""
    snapshot = demo.before if stage == "before" else demo.after
    note = f"This is a demo with invented devices: {demo.title}"
    return _look(Seen(snapshot, (note,)), demo.setup, demo.log if stage == "before" else None)


def look_of(case: Case) -> Look:
    """The look a case holds, with ledger and signs worked out anew."""
    snapshot = case.snapshot or Snapshot()
    return Look(
        snapshot=snapshot,
        ledger=build_ledger(snapshot, told_setup(case)),
        signs=told_by_both(read_signs(case.log, case.snapshot, _is_drive_case(case)), case.watched),
    )


def _is_drive_case(case: Case) -> bool:
    return DRIVE_SYMPTOM in (case.symptom, *case.also) or case.observations.get("device_kind") == "storage"


def read_log(source: Path | str, tell: Callable[[str], None] = lambda _note: None) -> str:
    """The text of a log file, or of standard input for `-`; bytes that are no text are marked as such.

    Of a very long one only the end is kept, and `tell` gets a sentence about it. Raises BadInputError.
    """
    return read_log_bytes(source, tell).decode("utf-8", errors="replace")
