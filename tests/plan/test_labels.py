"""Labels for sockets: what belongs there, and where nothing more should be plugged in."""

from typing import Any

from builders import controller, device, hub, iso, root, snapshot

from wizard.budget.setup import Setup
from wizard.bus.model import Interface, Snapshot, Socket
from wizard.bus.tree import BusTree
from wizard.diagnosis.texts import Texts
from wizard.plan.arrange.clock import Clock
from wizard.plan.arrange.options import arrange
from wizard.plan.labels import Label, socket_labels
from wizard.report.blocks import Table
from wizard.report.labels_part import label_words, labels_section, place_name

FOREVER = Clock(lambda: 60.0)


def sound(identifier: str, serial: str | None = None, size: int = 1023) -> Any:
    made = device(identifier, "full", 100, iso(size), serial=serial)
    first = made.interfaces[0].model_dump(by_alias=True) | {"class": 1}
    return made.model_copy(update={"interfaces": (Interface.model_validate(first),)})


def pc(*parts: Any) -> Snapshot:
    sides = ["front", "front", "rear", "rear"]
    sockets = [Socket(id=f"1-{i}", hub="usb1", place=sides[i - 1]) for i in range(1, 5)]
    return snapshot(controller(), root(ports=4), *sockets, *parts)


CROWDED = pc(
    hub("1-1"),
    *(Socket(id=f"1-1.{i}", hub="1-1") for i in range(1, 5)),
    sound("1-1.1", "A"),
    sound("1-1.2", "B"),
)


def by_socket(labels: tuple[Label, ...]) -> dict[str, Label]:
    return {label.socket: label for label in labels}


def test_what_was_moved_keeps_its_socket_for_itself(prose: Texts) -> None:
    (option, *_) = arrange(CROWDED, Setup(), FOREVER).options
    (move,) = option.moves
    labels = by_socket(socket_labels(CROWDED, Setup(), option))
    there = labels[move.to or ""]
    assert (there.kind, there.advice, there.device) == ("sound", "only", move.device)
    assert label_words(there, prose) == "sound only"
    assert labels[move.device].device is None


def test_the_third_socket_of_the_pc_is_the_first_at_the_rear(prose: Texts) -> None:
    labels = by_socket(socket_labels(CROWDED, Setup()))
    assert place_name(labels["1-3"], BusTree(CROWDED), prose) == "rear 1"
    assert place_name(labels["1-2"], BusTree(CROWDED), prose) == "front 2"


def test_a_free_socket_that_shares_what_is_nearly_used_up_stays_free() -> None:
    """One stream of 806 us (1023 bytes at full speed, USB 2.0 §5.11.3) in the 900 us of a shared translator."""
    snap = pc(hub("1-1"), *(Socket(id=f"1-1.{i}", hub="1-1") for i in range(1, 5)), sound("1-1.1"))
    labels = by_socket(socket_labels(snap, Setup()))
    assert labels["1-1.2"].advice == "leave_free"
    assert labels["1-1.1"].advice == "only"
    assert labels["1-3"].advice == "free"


def test_where_there_is_room_a_device_may_stay_or_go() -> None:
    labels = by_socket(socket_labels(pc(sound("1-1", size=100)), Setup()))
    assert (labels["1-1"].kind, labels["1-1"].advice) == ("sound", "as_is")


def test_something_bought_gets_labels_too() -> None:
    taken = [device(f"1-{i}", "full", 100) for i in (2, 3, 4)]
    full = snapshot(*CROWDED.controllers, *CROWDED.sockets, *CROWDED.devices, *taken)
    told = Setup(pinned=("1-2", "1-3", "1-4"))
    option = arrange(full, told, FOREVER).options[0]
    assert option.adds
    labels = by_socket(socket_labels(full, told, option))
    moved = [m for m in option.moves if m.device.startswith("1-1.")]
    assert [labels[m.to or ""].advice for m in moved] == ["only"] * len(moved)


def test_every_label_is_in_the_table_that_is_printed(prose: Texts) -> None:
    labels = socket_labels(CROWDED, Setup())
    section = labels_section(labels, BusTree(CROWDED), prose)
    assert section is not None
    assert labels_section((), BusTree(CROWDED), prose) is None
    rows = next(b for b in section.blocks if isinstance(b, Table)).rows
    assert [row.cells[2] for row in rows] == [label.socket for label in labels]


def test_a_free_socket_is_promised_for_no_more_than_is_known_of_it(prose: Texts) -> None:
    """A hub whose supply nobody told of may have as little as 100 mA for a socket (USB 2.0 §7.2.1)."""
    parts = (hub("1-1"), Socket(id="1-1.1", hub="1-1"), device("1-4", "full", 100))
    sockets = [
        Socket(id="1-2", hub="usb1", generation="usb2"),
        Socket(id="1-3", hub="usb1", peer="2-1"),
        Socket(id="2-1", hub="usb2", peer="1-3"),
        Socket(id="1-5", hub="usb1"),
    ]
    snap = snapshot(controller(), root(ports=5), root(2, "super", ports=1), *sockets, *parts)
    said = {s: label_words(one, prose) for s, one in by_socket(socket_labels(snap, Setup())).items()}
    assert (said["1-2"], said["1-3"], said["1-5"]) == ("free, USB 2", "free, USB 3", "free")
    assert said["1-1.1"] == "free, for something small"
    told = by_socket(socket_labels(snap, Setup(supplies_ma={"1-1": 2000})))
    assert label_words(told["1-1.1"], prose) == "free, USB 2"
