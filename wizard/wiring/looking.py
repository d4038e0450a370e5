"""From an observer to a look: snapshot, ledger, signs. Judges nothing."""

from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from wizard.budget.ledger import build_ledger
from wizard.budget.setup import Setup
from wizard.bus.errors import BadInputError
from wizard.bus.model import Snapshot
from wizard.bus.sign import LogRead, Sign, told_by_both
from wizard.case.documents import Look
from wizard.case.model import Case
from wizard.case.told import told_setup
from wizard.observe import captured, kernel_log, live
from wizard.observe.exports.decoding import encoding_of, text_of
from wizard.observe.exports.export import Export
from wizard.observe.seen import Seen, Watcher
from wizard.store.demos import Demo
from wizard.store.logs import open_log
from wizard.store.logs import read_log as read_log_bytes

if TYPE_CHECKING:
    from wizard.observe.exports.sniffing import Sort

DRIVE_SYMPTOM = "drive_missing"


Log = str | Iterable[bytes]
"""A log: its text as a case holds it, or bytes as they come from a file."""

OTHER_SYSTEM = "The log is from {system} and lists no devices: those shown here are of this computer, which is another."
FROM_FILE = "The devices shown are those of the exported file ({system}), not of this computer."
SYSTEM_WORDS = {"windows": "Windows", "macos": "macOS"}


EMPTY_LOG = "The log is empty: nothing can be told from it."
NO_LOG_AT_ALL = "No line of the log looks like a line of a system log: nothing can be told from it."

Told = tuple[tuple[Sign, ...], LogRead | None]
"""The signs of a log, and how it was read; None if there was none."""


def read_signs(log: Log | None, snapshot: Snapshot | None = None, drive_case: bool = False) -> tuple[Sign, ...]:
    """Signs in a log or an exported file; none for no log. An export that is broken is read as the text it is."""
    return _told(log, snapshot, drive_case)[0]


def _told(log: Log | None, snapshot: Snapshot | None, drive_case: bool) -> Told:
    if log is None:
        return (), None
    sort, chunks = _peek(log)
    if sort is not None and isinstance(log, str):
        try:
            return _export(chunks, sort).signs, LogRead()
        except BadInputError:
            chunks = iter(_chunks(log))
    return kernel_log.read_kernel_log(chunks, snapshot, drive_case)


def _log_notes(read: LogRead | None) -> tuple[str, ...]:
    """What must be said of a log that tells nothing."""
    if read is None or read.understood:
        return ()
    return (NO_LOG_AT_ALL if read.lines else EMPTY_LOG,)


def _peek(log: Log) -> "tuple[Sort | None, Iterator[bytes]]":
    """The sort of an exported file, None for a kernel log, and all of it from the start."""
    from wizard.observe.exports.reading import peek  # only here: a start without a log need not pay for the readers

    return peek(_chunks(log))


def _export(chunks: Iterable[bytes], sort: "Sort", name: str = "the file") -> Export:
    from wizard.observe.exports.reading import read_export

    return read_export(chunks, sort, name)


def _chunks(log: Log) -> Iterable[bytes]:
    return kernel_log.as_chunks(log) if isinstance(log, str) else log


def _look(seen: Seen, setup: Setup, told: Told) -> Look:
    signs, read = told
    return Look(
        snapshot=seen.snapshot,
        ledger=build_ledger(seen.snapshot, setup),
        signs=told_by_both(seen.signs, signs),
        notes=(*seen.notes, *_log_notes(read)),
        log=read,
    )


def _look_with_log(observe: Callable[[], Seen], setup: Setup, log: Log | None, replace: bool) -> Look:
    """A look, with what a log says. A file that lists devices itself takes the place of this computer's bus if
    `replace` is true. Raises BadInputError if an exported file is broken."""
    if log is None:
        return _look(observe(), setup, ((), None))
    sort, chunks = _peek(log)
    if sort is None:
        seen = observe()
        # No case says yet what it is about: lines about drives count unless the log itself says they are not on USB.
        return _look(seen, setup, kernel_log.read_kernel_log(chunks, seen.snapshot, drive_case=True))
    export = _export(chunks, sort, "the log")
    system = SYSTEM_WORDS[export.of]
    if export.snapshot is not None and replace:
        seen = Seen(export.snapshot, (FROM_FILE.format(system=system), *export.notes))
    else:
        own = observe()
        foreign = replace and own.snapshot.system.os not in (None, export.of)
        seen = Seen(
            own.snapshot,
            (*own.notes, *([OTHER_SYSTEM.format(system=system)] if foreign else []), *export.notes),
            () if foreign else own.signs,
        )
    return _look(seen, setup, (export.signs, LogRead()))


def export_in(log: str) -> Export | None:
    """What a log says that is an exported file; None for any other. Raises BadInputError if it is broken."""
    sort, chunks = _peek(log)
    return None if sort is None else _export(chunks, sort, "the file")


def lists_devices(log: str) -> bool:
    """Whether a log is an exported file that lists devices itself, and so takes the place of a bus. Raises
    BadInputError if such a file is broken."""
    export = export_in(log)
    return export is not None and export.snapshot is not None


def look_live(watcher: Watcher | None = None, log: Log | None = None, setup: Setup | None = None) -> Look:
    """Look at this machine's own bus, or at that of an exported file. Raises CancelledError if the watcher says so,
    BadInputError if such a file is broken."""
    return _look_with_log(lambda: live.look(watcher or Watcher()), setup or Setup(), log, replace=True)


def look_captured(
    root: Path, watcher: Watcher | None = None, log: Log | None = None, setup: Setup | None = None
) -> Look:
    """Look at a captured tree: a folder or an archive of one, with the log it brings along if no other is given; or at
    an exported file that lists the devices of another system. Raises BadInputError if it is none of these."""
    watching = watcher or Watcher()
    try:
        tree = captured.open_tree(root, watching)
    except BadInputError as refusal:
        listed = _listed(root, refusal)
        return _look_with_log(lambda: listed, setup or Setup(), log, replace=False)
    told = log if log is not None else captured.kept_log(tree)
    return _look_with_log(lambda: captured.look_in(tree, watching), setup or Setup(), told, replace=False)


def _listed(root: Path, refusal: BadInputError) -> Seen:
    """What an exported file lists. Raises the refusal to read it as a captured tree if it is no exported file."""
    if not root.is_file():
        raise refusal
    with open_log(root) as chunks:
        sort, whole = _peek(chunks)
        if sort is None:
            raise refusal
        export = _export(whole, sort, str(root))
    if export.snapshot is None:
        raise BadInputError(str(root), "this file lists no devices", "Give it as a log: with --log, or in the window.")
    words = FROM_FILE.format(system=SYSTEM_WORDS[export.of])
    return Seen(export.snapshot, (words, *export.notes), export.signs, export.drives)


def look_demo(demo: Demo, stage: Literal["before", "after"]) -> Look:
    """One of the two looks of an invented scenario; its log belongs to the first."""
    snapshot = demo.before if stage == "before" else demo.after
    note = f"This is a demo with invented devices: {demo.title}"
    log = demo.log if stage == "before" else None
    return _look(Seen(snapshot, (note,)), demo.setup, _told(log, snapshot, True))


def look_of(case: Case) -> Look:
    """The look a case holds, with ledger and signs worked out anew."""
    snapshot = case.snapshot or Snapshot()
    signs, read = _told(case.log, case.snapshot, _is_drive_case(case))
    return Look(
        snapshot=snapshot,
        ledger=build_ledger(snapshot, told_setup(case)),
        signs=told_by_both(signs, case.watched),
        log=read,
    )


def _is_drive_case(case: Case) -> bool:
    return DRIVE_SYMPTOM in (case.symptom, *case.also) or case.observations.get("device_kind") == "storage"


def read_log(source: Path | str, tell: Callable[[str], None] = lambda _note: None) -> str:
    """The text of a log file, or of standard input for `-`; bytes that are no text are marked as such.

    Of a very long one only the end is kept, and `tell` gets a sentence about it. Raises BadInputError.
    """
    data = read_log_bytes(source, tell)
    return data.decode("utf-8", errors="replace") if encoding_of(data) == "utf-8" else text_of(data)
