"""From a drive's name to the document on its chain: on this machine, or on a captured tree."""

import platform
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from wizard.bus.drive import DriveDocument, DriveFacts
from wizard.bus.errors import BadInputError
from wizard.bus.model import Device, Snapshot
from wizard.diagnosis.drive_chain import judge_drive
from wizard.observe import captured, linux, live
from wizard.observe.drives import device_of_block, read_drive
from wizard.observe.drives_blocks import BlockReader, read_block
from wizard.observe.rights import reading_refused
from wizard.observe.seen import Watcher
from wizard.observe.sysfs.disk import DiskTree
from wizard.observe.sysfs.index import is_device
from wizard.observe.sysfs.tree import Tree
from wizard.observe.watch_kernel import REFUSED, open_log
from wizard.wiring.drives_listed import ABSENT, drive_as_listed, drive_in_export, said_of
from wizard.wiring.looking import read_signs

STORAGE_CLASS = 0x08
"""Mass storage: USB-IF Defined Class Codes."""

_HOW = "Give an id such as 1-4.2 as 'portmend look' shows it, or the name of a disk such as /dev/sdb."
_ELSEWHERE = (
    "This system tells Portmend nothing of disks; look at its disk management and answer the questions by hand. Say no "
    "to any offer to format or initialise the drive."
)
LOG_REFUSED = (
    "You may not read the kernel's log, so errors told only there stay unseen. An administrator can hand out just this "
    "log, this once: sudo dmesg > kernel.txt (then --log kernel.txt reads it)."
)
LOG_MISSING = "This system gives no kernel log to read, so errors told only there stay unseen."
_BLOCK = re.compile(r"(?:/dev/)?((?:sd[a-z]{1,3}[0-9]{0,3})|(?:sr[0-9]{1,3}))")


@dataclass(frozen=True)
class DriveMachine:
    """Where a drive is looked for: the running system unless a test or a capture has its own."""

    tree: Tree = field(default_factory=lambda: DiskTree(Path("/")))
    reader: BlockReader | None = read_block
    log: Callable[[], tuple[str | None, str | None]] = field(default=lambda: kernel_text())


def kernel_text() -> tuple[str | None, str | None]:
    """What the kernel has said so far, and a sentence if that may not be read; one of the two is None."""
    source = open_log()
    if isinstance(source, str):
        return None, LOG_REFUSED if source == REFUSED else LOG_MISSING
    try:
        return b"\n".join(source.earlier()).decode("utf-8", errors="replace"), None
    finally:
        source.close()


def drive_devices(snapshot: Snapshot) -> tuple[str, ...]:
    """Ids of the devices that present themselves as drives."""
    return tuple(d.id for d in snapshot.devices if any(i.class_code == STORAGE_CLASS for i in d.interfaces))


def drive(
    device: str, root: Path | None = None, log: str | None = None, machine: DriveMachine | None = None
) -> DriveDocument:
    """Follow the chain of one drive, reading only. `root` is a captured tree, `log` the text of a log to use.

    `device` is an id of the snapshot or the name of a disk. On Windows and macOS, and from a file exported there that
    lists the drives of its computer, the chain is as that system tells it. Raises BadInputError for anything else, or
    if `root` is no captured tree. A device that is not there gives a document that says so (`opened` is false).
    """
    at = machine or _machine(root)
    listed = drive_in_export(device, log) if log is not None and root is None and machine is None else None
    if listed is not None:
        return listed
    if machine is None and root is None and platform.system() != "Linux":
        return drive_as_listed(device, live.look(), log, _ELSEWHERE)
    name = _device(device, at.tree)
    facts = read_drive(at.tree, name, at.reader)
    # The log is read after the drive, so that it tells what came of reading it.
    text, refused = (log, None) if log is not None else at.log()
    seen = linux.look_at(at.tree, Watcher(), "").snapshot
    signs = read_signs(_since_plugged_in(text, name), seen, drive_case=True)
    found = judge_drive(facts, signs, signs_known=text is not None)
    known = next((d for d in seen.devices if d.id == name), None)
    gone = [ABSENT.format(name=name), *said_of(name, signs)] if not facts.present else []
    notes = (*gone, *_rights(facts, known), *([refused] if refused else []))
    return found.model_copy(update={"name": known.name if known is not None else None, "notes": notes})


def _since_plugged_in(text: str | None, device: str) -> str | None:
    """The log from where the kernel last greeted the device: before, its names may have been another drive's."""
    return None if text is None else text[max(0, text.rfind(f"usb {device}: new ")) :]


def _machine(root: Path | None) -> DriveMachine:
    if root is None:
        return DriveMachine()
    tree = captured.open_tree(root)
    return DriveMachine(tree, None, lambda: (captured.kept_log(tree), None))


def _device(device: str, tree: Tree) -> str:
    if is_device(device) and not device.startswith("usb"):
        return device
    match = _BLOCK.fullmatch(device)
    if match is None:
        raise BadInputError(device, "this is no drive", _HOW)
    owner = device_of_block(tree, match[1])
    if owner is None:
        raise BadInputError(device, "there is no such disk, or it does not hang on USB", _HOW)
    return owner


def _rights(facts: DriveFacts, device: Device | None) -> list[str]:
    """How to see more, where the drive's own bytes were kept from us and nobody else told."""
    vid, pid = (device.vid, device.pid) if device is not None else (None, None)
    places = [(d.name, d.contents) for d in facts.disks] + [
        (v.name, v.contents) for d in facts.disks for v in d.volumes
    ]
    kept = [name for name, contents in places if contents is not None and contents.reason == "permission"]
    refusals = [reading_refused(f"/dev/{name}", "block", vid, pid) for name in kept[:1]]
    return [f"{r.why} {r.mend or ''}".strip() for r in refusals]
