"""The bus as strips: two halves are one socket, nothing is lost, and what is not known is not called free."""

import subprocess
import sys

import pytest
from bench.bench_ledger import made
from builders import controller, device, hub, root, snapshot

from wizard.bus.model import Device, Hub, Interface, Snapshot, Socket, Typical
from wizard.desktop.strip_figures import WORDS, figure_of
from wizard.desktop.strip_words import as_text, free_words, socket_title
from wizard.desktop.strips import ADRIFT, picture_of
from wizard.desktop.trying import State


def halves(ports=2):
    """The sockets of a controller that has both sides, each half naming the other."""
    slow = [Socket(id=f"1-{n}", hub="usb1", peer=f"2-{n}", usable=True, place="rear") for n in range(1, ports + 1)]
    return [*slow, *(Socket(id=s.peer, hub="usb2", peer=s.id, usable=True) for s in slow)]


BOTH = (controller(), root(1, "high", ports=2), root(2, "super", ports=2), *halves())


def test_the_two_halves_of_a_usb_3_socket_are_one_socket_and_of_a_usb_3_hub_one_strip():
    inside = [Socket(id=f"1-1.{n}", hub="1-1", peer=f"2-1.{n}") for n in (1, 2)]
    inside += [Socket(id=s.peer, hub="2-1", peer=s.id) for s in inside]
    twins = (hub("1-1", ports=2), hub("2-1", speed="super", ports=2))
    seen = snapshot(*BOTH, *twins, *inside, device("2-1.2", "super", 100))
    picture = picture_of(seen)
    assert [(s.key, s.kind, len(s.holes)) for s in picture.strips.values()] == [
        ("0000:00:14.0", "pc", 2),
        ("1-1", "hub", 2),
    ]
    plug = picture.holes["1-1"].plug
    assert plug is not None
    assert plug.halves == ("1-1", "2-1")
    assert picture.hole_of["2-1.2"] == "1-1.2"
    assert picture.holes["1-1.2"].fast
    assert socket_title(picture.holes["1-1"]) == "USB 3 socket 1 (1-1, rear)"


def test_every_device_is_in_one_socket_and_once_only():
    seen = made(2, 40)
    plugs = [half for h in picture_of(seen).holes.values() if h.plug is not None for half in h.plug.halves]
    assert sorted(plugs) == sorted(d.id for d in seen.devices if not d.root)


def test_a_socket_that_is_led_nowhere_is_not_drawn_and_one_that_may_be_is_not_called_free():
    sockets = (
        Socket(id="1-1", hub="usb1", usable=True),
        Socket(id="1-2", hub="usb1", usable=False),
        Socket(id="1-3", hub="usb1", usable=True, built_in=True),
        Socket(id="1-4", hub="usb1"),
    )
    picture = picture_of(snapshot(controller(), root(1), *sockets))
    assert {h.key: free_words(h) for h in picture.holes.values()} == {
        "1-1": "free",
        "1-3": "wired for good",
        "1-4": "free, if it is led out of the PC",
    }


def test_without_a_list_of_sockets_the_number_of_ports_tells():
    picture = picture_of(snapshot(controller(), root(1), hub("1-1", ports=5), device("1-1.3", "full", 100)))
    strip = picture.strips["1-1"]
    assert [(h.label, h.plug is None) for h in strip.holes] == [
        ("1", True), ("2", True), ("3", False), ("4", True), ("5", True),
    ]  # fmt: skip


def test_what_hangs_nowhere_is_shown_as_adrift():
    lost = Device(id="5-1.2", parent="5-1", name="Stray")
    picture = picture_of(snapshot(*BOTH, lost))
    assert [h.plug.name for h in picture.strips[ADRIFT].holes if h.plug is not None] == ["Stray"]
    assert "unknown where it hangs" in as_text(picture, State(snapshot(*BOTH, lost), ()).bands)


def test_a_ring_of_hubs_and_a_root_hub_without_a_controller_are_survived():
    ring = (Device(id="1-1", parent="1-2", hub=Hub()), Device(id="1-2", parent="1-1", hub=Hub()))
    alone = Device(id="usb7", root=True, hub=Hub(ports=1))
    picture = picture_of(Snapshot(devices=(*ring, alone, Device(id="7-1", parent="usb7"))))
    assert {"1-1", "1-2", "7-1"} <= picture.hole_of.keys()
    assert not picture_of(Snapshot()).strips


def test_a_chain_of_a_thousand_hubs_is_survived():
    chain = [Device(id="1-1", parent="usb1", hub=Hub(ports=1))]
    for _ in range(1000):
        last = chain[-1].id
        chain.append(Device(id=f"{last}.1", parent=last, hub=Hub(ports=1)))
    picture = picture_of(snapshot(controller(), root(1), *chain))
    assert len(list(picture.below("0000:00:14.0"))) == 1001


@pytest.mark.parametrize(
    ("classes", "figure"),
    [(((3, 1),), "keys"), (((3, 2),), "pointer"), (((3, 0),), "control"), (((1, 0), (3, 0)), "sound"),
     (((1, 0), (14, 0)), "picture"), (((8, 80),), "drive"), (((255, 0),), "own"), ((), "unread")],
)  # fmt: skip
def test_the_figure_follows_the_classes_a_device_declares(classes, figure):
    """Class codes: USB-IF Defined Class Codes; protocols of input devices: HID 1.11 §4.3 (both from memory)."""
    interfaces = tuple(
        Interface.model_validate({"number": n, "class": code, "protocol": protocol})
        for n, (code, protocol) in enumerate(classes)
    )
    assert figure_of(Device(id="1-1", name="Thing", interfaces=interfaces)) == figure
    assert WORDS[figure_of(Device(id="1-1", hub=Hub()))] == "hub"


def test_what_a_nameless_input_device_is_for_is_not_claimed_and_a_typical_keyboard_is_one():
    plain = Interface.model_validate({"number": 0, "class": 3})
    assert figure_of(Device(id="1-1", interfaces=(plain,))) == "unread"
    typical = Typical(kind="keyboard", peak_ma=None, need_mb_s=None)
    assert figure_of(Device(id="1-1", name="Keyboard", interfaces=(plain,), typical=typical)) == "keys"


def test_the_text_says_what_the_picture_says():
    seen = made(1, 12)
    state = State(seen, ())
    told = as_text(state.picture, state.bands)
    assert all(hole.id in told for hole in state.picture.holes.values())


def test_the_model_behind_the_picture_needs_no_qt():
    code = (
        "import sys, wizard.desktop.trying, wizard.desktop.strip_layout, wizard.desktop.strip_trial_words;"
        "sys.exit(any(name.startswith('PySide6') for name in sys.modules))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
