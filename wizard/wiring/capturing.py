"""A shareable picture of this machine's bus and log in one file, which any Portmend opens as a captured tree.

On Linux it is an archive of what the observers read. Other systems have no such tree: there the look itself is saved,
as a document. Either way serial numbers, names and addresses are left out.
"""

import getpass
import io
import json
import platform
import tarfile
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from wizard.bus.errors import BadInputError
from wizard.case.documents import Look
from wizard.case.model import Case
from wizard.observe import live
from wizard.observe.capture import Recorded, record
from wizard.observe.captured import LOG_NAME, LONGEST_LOG
from wizard.observe.seen import Seen, Watcher
from wizard.observe.sysfs.disk import DiskTree
from wizard.observe.sysfs.tree import Tree
from wizard.report.redaction import redact
from wizard.store.atomic import write_whole
from wizard.wiring.capture_private import PrivateTree
from wizard.wiring.drives import kernel_text

_NO_TREE = "This system has no tree of files about its bus, so the look itself was saved; --root does not open that."


@dataclass(frozen=True)
class Capture:
    """What was written: where, whether there was any bus, and sentences about what is in it and what is not."""

    path: Path
    has_bus: bool
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class CaptureMachine:
    """What is captured: the running system unless a test has its own. `tree` is None where there is none; `names` are
    private names as (role, name)."""

    tree: Tree | None = field(default_factory=lambda: DiskTree(Path("/")) if platform.system() == "Linux" else None)
    look: Callable[[Watcher], Seen] = live.look
    log: Callable[[], tuple[str | None, str | None]] = kernel_text
    names: Callable[[], tuple[tuple[str, str], ...]] = field(default=lambda: private_names())


def private_names() -> tuple[tuple[str, str], ...]:
    """The names of this computer and of who is using it, as far as the system tells."""
    try:
        user = getpass.getuser()
    except (OSError, KeyError, ImportError):
        user = ""
    host = platform.node()
    found = [("host", host), ("host", host.partition(".")[0]), ("user", user)]
    return tuple((role, name) for role, name in found if len(name) > 1)


def capture(
    path: Path, replace: bool = False, watcher: Watcher | None = None, machine: CaptureMachine | None = None
) -> Capture:
    """Write a redacted capture of this machine to `path`; a machine without a bus gives one that says so.

    Raises BadInputError if the file is there and `replace` is false, if its name does not fit, or if it can't be
    written; CancelledError if told to stop.
    """
    at = machine or CaptureMachine()
    _check_name(path, at.tree is not None)
    if path.exists() and not replace:
        raise BadInputError(str(path), "there is a file of that name already", "Choose another name, or add --replace.")
    if at.tree is None:
        return _save_look(path, at.look(watcher or Watcher()))
    recorded = record(at.tree, watcher or Watcher())
    private = PrivateTree(recorded, at.names())
    text, refused = at.log()
    # The log first: what it betrays must be gone from the files, too.
    log = None if text is None else private.log(text)
    write_whole(path, _packed(recorded, private.files(), log))
    without = [f"The kernel's log is not in it. {refused}"] if refused else []
    return Capture(path, bool(recorded.snapshot.devices), (*recorded.notes, *without))


def _check_name(path: Path, has_tree: bool) -> None:
    fits = (".tar.gz", ".tgz") if has_tree else (".json",)
    if not path.name.lower().endswith(fits):
        raise BadInputError(str(path), f"a capture made on this system ends in {fits[0]}", "Choose such a name.")


def _save_look(path: Path, seen: Seen) -> Capture:
    clean = redact(Case(symptom="other", snapshot=seen.snapshot)).snapshot or seen.snapshot
    document = Look(snapshot=clean, notes=seen.notes).model_dump(mode="json", by_alias=True)
    write_whole(path, json.dumps(document, indent=1).encode())
    return Capture(path, bool(seen.snapshot.devices), (*seen.notes, _NO_TREE))


def _packed(recorded: Recorded, files: dict[str, bytes], log: str | None) -> bytes:
    """The archive: folders, then files and links, by name; no owner, no times."""
    out = io.BytesIO()
    with tarfile.open(fileobj=out, mode="w:gz", format=tarfile.PAX_FORMAT) as archive:
        for folder in sorted({"sys", "sys/devices", *recorded.folders} - files.keys() - recorded.links.keys()):
            entry = tarfile.TarInfo(folder)
            entry.type, entry.mode = tarfile.DIRTYPE, 0o755
            archive.addfile(entry)
        everything = {**files, **({LOG_NAME: _end_of(log)} if log is not None else {})}
        for name in sorted(everything):
            entry = tarfile.TarInfo(name)
            entry.size, entry.mode = len(everything[name]), 0o644
            archive.addfile(entry, io.BytesIO(everything[name]))
        for name in sorted(recorded.links):
            entry = tarfile.TarInfo(name)
            entry.type, entry.linkname = tarfile.SYMTYPE, recorded.links[name]
            archive.addfile(entry)
    return out.getvalue()


def _end_of(log: str) -> bytes:
    """As much of a log as a reader keeps: of a longer one the end, from the start of a line."""
    data = log.encode()
    return data if len(data) <= LONGEST_LOG else data[-LONGEST_LOG:].partition(b"\n")[2]
