"""From a drive's name to its chain where the system's own lists tell of it: Windows, macOS, files exported there."""

from collections.abc import Sequence

from wizard.bus.drive import DriveDocument, DriveFacts
from wizard.bus.errors import BadInputError
from wizard.bus.model import Snapshot
from wizard.bus.sign import Sign, told_by_both
from wizard.diagnosis.drive_chain import judge_drive
from wizard.observe.seen import Seen
from wizard.wiring.looking import FROM_FILE, SYSTEM_WORDS, export_in, read_signs

ABSENT = "There is no device {name} on the bus; 'portmend look' shows what there is."
_HOW = (
    "Give an id such as 1-4.2 as 'portmend look' shows it, or the name of a disk as the system says it: "
    "'disk 1' or E: on Windows, disk2 on macOS."
)


def drive_in_export(device: str, log: str) -> DriveDocument | None:
    """The chain of a drive in an exported file; None if the log is no such file or lists no drives. Raises
    BadInputError if the file is broken, or for a name that means nothing there."""
    export = export_in(log)
    if export is None or export.snapshot is None or not export.drives:
        return None
    notes = (FROM_FILE.format(system=SYSTEM_WORDS[export.of]), *export.notes)
    return _judged(device, export.snapshot, export.drives, export.signs, notes)


def drive_as_listed(device: str, look: Seen, log: str | None, nothing: str) -> DriveDocument:
    """The chain of a drive of this computer. `nothing` is what to say where the system lists no drives at all. Raises
    BadInputError for a name that means nothing here."""
    if not look.drives:
        return DriveDocument(device=device, opened=False, words="Nothing was looked at.", notes=(*look.notes, nothing))
    told = read_signs(log, look.snapshot, drive_case=True)
    return _judged(device, look.snapshot, look.drives, told_by_both(look.signs, told), look.notes)


def said_of(device: str, signs: Sequence[Sign]) -> list[str]:
    """What a log says of a device that is not there."""
    kinds = sorted({s.kind.replace("_", " ") for s in signs if s.where == device})
    return [f"The system's log speaks of it: {', '.join(kinds)}."] if kinds else []


def _judged(
    device: str, snapshot: Snapshot, drives: tuple[DriveFacts, ...], signs: tuple[Sign, ...], notes: tuple[str, ...]
) -> DriveDocument:
    facts = _facts(device, snapshot, drives)
    if not facts.present:
        found = judge_drive(facts)
        return found.model_copy(update={"notes": (ABSENT.format(name=device), *notes)})
    found = judge_drive(facts, signs, signs_known=bool(signs))
    known = next((d for d in snapshot.devices if d.id == facts.device), None)
    return found.model_copy(update={"name": known.name if known is not None else None, "notes": notes})


def _facts(device: str, snapshot: Snapshot, drives: tuple[DriveFacts, ...]) -> DriveFacts:
    """By the id, else by what the system calls a disk or a volume of it. A hub is a device without a drive."""
    wanted = device.casefold().removeprefix("/dev/").replace("\\\\.\\physicaldrive", "disk ").rstrip("\\")
    for facts in drives:
        if facts.device == device or wanted in _called(facts):
            return facts
    if any(d.id == device for d in snapshot.devices):
        return DriveFacts(device=device, present=True, is_storage=False, system=snapshot.system.os or "")
    if "-" in device and device[:1].isdigit():
        return DriveFacts(device=device)
    raise BadInputError(device, "this is no drive that the system lists", _HOW)


def _called(facts: DriveFacts) -> set[str]:
    disks = {disk.name.casefold() for disk in facts.disks}
    volumes = {volume.name.casefold() for disk in facts.disks for volume in disk.volumes}
    mounts = {m.where.casefold().rstrip("\\") for d in facts.disks for v in d.volumes for m in v.mounts}
    return disks | volumes | mounts
