"""Taking the pace of a control on Windows and macOS: the same calls and documents as on Linux.

What the system keeps to itself gives a document that says so; nothing is guessed.
"""

from collections.abc import Callable

from wizard.bus.errors import BadInputError
from wizard.bus.model import Snapshot
from wizard.bus.pace import Beat, PaceDevice, PaceDocument
from wizard.bus.tree import BusTree
from wizard.diagnosis.pace import PaceJudge
from wizard.diagnosis.pace_promise import promised_ms
from wizard.observe import live
from wizard.observe.pace_hid import KEPT, NO_HIDAPI, Handle, HidPlace, Port, find_controls, follow_control, open_hidapi

_HOW = "Give an id such as 1-4.2 as 'portmend look' shows it."
_NONE = "{device} reports no input here: it is no control, or the system keeps it to itself."
_REFUSED = "The control can't be opened: another program may hold it, or the system does not let us."
_LEFT = "The device left the bus after {took:.1f} s: unplugged, or it dropped out. What came before counts."


def control_devices(snapshot: Snapshot, port: Port | None = None) -> tuple[PaceDevice, ...]:
    """Every control here, with whether its pace may be taken; empty without the library."""
    hid = port or open_hidapi()
    return tuple(_for_all(place) for place in find_controls(snapshot, hid)) if hid is not None else ()


def _for_all(place: HidPlace) -> PaceDevice:
    return PaceDevice(
        path=place.text,
        kind="hidraw",
        device=place.device,
        interface=place.interface,
        name=place.name,
        readable=not place.kept,
        why=KEPT if place.kept else None,
    )


def control_pace(
    device: str,
    seconds: float,
    stop: Callable[[], bool] = lambda: False,
    tell: Callable[[Beat], None] = lambda _beat: None,
    snapshot: Snapshot | None = None,
    port: Port | None = None,
) -> PaceDocument:
    """Measure a control by its id in the snapshot or hidapi's path; of several ways to read it, the first that opens.

    Raises BadInputError if there is no such device.
    """
    hid = port or open_hidapi()
    if hid is None:
        return _unopened(device, NO_HIDAPI)
    seen = snapshot if snapshot is not None else live.look().snapshot
    tree = BusTree(seen)
    places = [place for place in find_controls(seen, hid) if device in (place.device, place.text)]
    if not places and device not in tree.devices:
        raise BadInputError(device, "this is no device whose pace can be taken", _HOW)
    readable = [place for place in places if not place.kept]
    if not readable:
        return _unopened(device, KEPT if places else _NONE.format(device=device))
    for place in readable:
        try:
            handle = hid.open(place.path)
        except (OSError, ValueError):
            continue
        return _measured(device, place, handle, tree, seconds, stop, tell)
    return _unopened(device, _REFUSED)


def _unopened(device: str, note: str) -> PaceDocument:
    return PaceDocument(device=device, opened=False, words="Nothing was measured.", notes=(note,))


def _measured(
    device: str,
    place: HidPlace,
    handle: Handle,
    tree: BusTree,
    seconds: float,
    stop: Callable[[], bool],
    tell: Callable[[Beat], None],
) -> PaceDocument:
    judge = PaceJudge(promised_ms(tree, place.device, place.interface) if place.device else None)
    took, why = follow_control(handle, seconds, judge.report, lambda gone: tell(judge.beat(gone)), stop)
    notes = (_LEFT.format(took=took),) if why == "left" else ()
    found = judge.document(device, took)
    return found.model_copy(update={"path": place.text, "name": place.name, "notes": notes})
