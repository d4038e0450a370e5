"""Taking the pace of an input device: from its name on the bus to the document.

What can't be opened is not an error: the document then says why, and how to allow it.
"""

import os
import platform
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from wizard.bus.errors import BadInputError
from wizard.bus.model import Device, Snapshot
from wizard.bus.pace import Beat, PaceDevice, PaceDocument, Report
from wizard.bus.tree import BusTree
from wizard.diagnosis.pace import PaceJudge
from wizard.diagnosis.pace_promise import promised_ms
from wizard.observe import live
from wizard.observe.pace import Listener, check_seconds, follow
from wizard.observe.pace_places import Place, find_places, forced_poll_ms, place_at, with_rights
from wizard.observe.pace_streams import Stream, open_stream
from wizard.observe.sysfs.disk import DiskTree
from wizard.observe.sysfs.index import is_device
from wizard.observe.sysfs.tree import Tree
from wizard.wiring.pacing_hid import control_devices, control_pace

PACE_SECONDS = 20.0
"""Long enough for a gap that comes every few seconds, short enough to keep a control moving all the while:
common practice (no source)."""

_ELSEWHERE = (
    "Portmend can take the pace of a device on Linux only; this system does not show input reports with their times. "
    "Start the same test on a Linux computer, or judge by hand whether the lag is constant or comes in stalls."
)
_WITH_HIDAPI = ("Windows", "Darwin")
_HOW = "Give an id such as 1-4.2 as 'portmend look' shows it, /dev/input/eventN or /dev/hidrawN."


@dataclass(frozen=True)
class PaceMachine:
    """Where devices are looked for and how they are opened; the running system unless a test has its own."""

    tree: Tree = field(default_factory=lambda: DiskTree(Path("/")))
    snapshot: Callable[[], Snapshot] = field(default=lambda: live.look().snapshot)
    open: Callable[[Place], Stream] = open_stream


def pace_devices(snapshot: Snapshot, machine: PaceMachine | None = None) -> tuple[PaceDevice, ...]:
    """Everything here that reports input, with whether its pace may be taken; one entry for each way to read it.

    Empty where the system shows no such ways.
    """
    if machine is None and platform.system() in _WITH_HIDAPI:
        return control_devices(snapshot)
    known = {device.id: device for device in snapshot.devices}
    return tuple(_for_all(place, known.get(place.device or "")) for place in find_places((machine or _here()).tree))


def _here() -> PaceMachine:
    return PaceMachine()


def _for_all(place: Place, device: Device | None) -> PaceDevice:
    return with_rights(place, device.vid if device else None, device.pid if device else None)


def pace(
    device: str,
    seconds: float = PACE_SECONDS,
    stop: Callable[[], bool] = lambda: False,
    tell: Callable[[Beat], None] = lambda _beat: None,
    machine: PaceMachine | None = None,
) -> PaceDocument:
    """Measure for so many seconds, or until `stop` says so; `tell` gets a beat some ten times a second.

    `device` is an id of the snapshot, `/dev/input/eventN` or `/dev/hidrawN`. Both are called in this thread.
    Raises BadInputError for anything else. What can't be opened gives a document that says so (`opened` is false).
    """
    if machine is None and platform.system() in _WITH_HIDAPI:
        return control_pace(device, seconds, stop, tell)
    check_seconds(seconds)
    at = machine or _here()
    tree = BusTree(at.snapshot())
    places = _places(device, at.tree)
    if not places:
        return PaceDocument(device=device, opened=False, words="Nothing was measured.", notes=(_missing(device, tree),))
    opened, notes = _opened(places, at, tree)
    wanted, witnesses = _roles(opened)
    if not wanted:
        return PaceDocument(device=device, opened=False, words="Nothing was measured.", notes=tuple(notes))
    judges = {stream: PaceJudge(_promise(stream.place, tree, at.tree)) for stream in wanted}

    def busiest() -> Stream:
        return max(wanted, key=lambda stream: judges[stream].reports)

    def take(stream: Stream, report: Report) -> None:
        if stream in judges:
            judges[stream].report(report)
            return
        for other in wanted:
            if other.steady_clock and other.place.interface == stream.place.interface:
                judges[other].witness(report.at_us)

    def tick(gone: float) -> None:
        tell(judges[busiest()].beat(gone))

    took = follow([*wanted, *witnesses], seconds, wanted, Listener(take, tick, stop))
    chosen = busiest()
    found = judges[chosen].document(device, took)
    return found.model_copy(
        update={"path": chosen.place.path, "name": chosen.place.name, "notes": (*notes, *_ends(chosen, took))}
    )


def _places(device: str, tree: Tree) -> tuple[Place, ...]:
    if is_device(device):
        return tuple(place for place in find_places(tree) if place.device == device)
    # A link such as those under /dev/input/by-id leads to the node itself.
    path = os.path.realpath(device) if device.startswith("/dev/") else device
    place = place_at(tree, path)
    if place is None:
        raise BadInputError(device, "this is no device whose pace can be taken", _HOW)
    beside = (p for p in find_places(tree) if p.kind == "hidraw" and p.device and p.device == place.device)
    raw = [p for p in beside if p.interface == place.interface] if place.kind == "event" else []
    return (place, *raw)


def _missing(device: str, tree: BusTree) -> str:
    if platform.system() != "Linux":
        return _ELSEWHERE
    if device not in tree.devices:
        return f"There is no device {device} on the bus now; 'portmend look' shows what there is."
    return f"{device} is there, but the system makes no input of it: it is no control, or no driver took it."


def _opened(places: Sequence[Place], machine: PaceMachine, tree: BusTree) -> tuple[list[Stream], list[str]]:
    """What can be opened, and sentences about the rest."""
    opened: list[Stream] = []
    notes: list[str] = []
    for place in places:
        try:
            opened.append(machine.open(place))
        except OSError as error:
            notes += _refused(place, tree, error)
    if any(place.kind == "event" for place in places):
        # The raw way is only a help then: nobody needs to hear that it is closed.
        notes = [note for note in notes if "/dev/hidraw" not in note]
    return opened, list(dict.fromkeys(notes))


def _refused(place: Place, tree: BusTree, error: OSError) -> list[str]:
    if isinstance(error, PermissionError):
        told = _for_all(place, tree.devices.get(place.device or ""))
        sentences = [told.why, told.mend]
        return [" ".join(s for s in sentences if s)] if told.why else [f"You may not read {place.path}."]
    reason = "it is not there" if isinstance(error, FileNotFoundError) else (error.strerror or "unknown reason")
    return [f"{place.path} can't be opened: {reason}."]


def _roles(opened: Sequence[Stream]) -> tuple[list[Stream], list[Stream]]:
    """The streams to judge, and those that only bear witness: event devices have the kernel's own time stamps, so
    the raw way comes first only where it is the only one."""
    events = [stream for stream in opened if stream.place.kind == "event"]
    raw = [stream for stream in opened if stream.place.kind == "hidraw"]
    return (events, raw) if events else (raw, [])


def _promise(place: Place, tree: BusTree, files: Tree) -> float | None:
    if place.device is None:
        return None
    return promised_ms(tree, place.device, place.interface, forced_poll_ms(files, place.sort))


def _ends(stream: Stream, took: float) -> list[str]:
    if stream.failure == "left":
        return [f"The device left the bus after {took:.1f} s: unplugged, or it dropped out. What came before counts."]
    return [f"Reading ended after {took:.1f} s: {stream.failure}."] if stream.failure else []
