"""The look through libusb, on devices made by hand: the same ids and shape as on Linux, and honest gaps."""

import threading
import time

import pytest
from sysfs_builder import HUB, KEYBOARD, configuration, device, endpoint, interface

from wizard.bus.errors import CancelledError
from wizard.bus.model import Snapshot
from wizard.bus.tree import BusTree
from wizard.observe import libusb
from wizard.observe.libusb import LESS, NO_LIBUSB, look
from wizard.observe.notes import NO_BUS
from wizard.observe.seen import Watcher
from wizard.observe.usb_port import Answers, Listed

TWO = device((0, 0, 0), configuration(1, 0x80, 50), configuration(2, 0xC0, 0, interface(0, 0, (8, 6, 80))))
MULTI = device((9, 0, 2), configuration(1, 0xE0, 0, interface(0, 0, (9, 0, 1), endpoint(0x81, 3, 1, 12))))


class Port:
    """A stand-in for libusb."""

    def __init__(self, *devices):
        self._devices = devices

    def listed(self):
        yield from self._devices


def made(ports=(2,), blob=KEYBOARD, speed=2, bus=1, address=5, answers=None, trouble=None, ask=None):
    told = answers or Answers(configuration=1, product="Fader Bank", manufacturer="Invented", serial="S1")
    return Listed(bus, address, ports, speed, blob, trouble, ask or (lambda: told))


def seen(*devices):
    return look(port=Port(*devices)).snapshot


def one(snapshot, identifier):
    (found,) = [d for d in snapshot.devices if d.id == identifier]
    return found


def test_ids_and_parents_follow_the_path_of_sockets():
    snapshot = seen(
        made((), HUB, 3, address=1), made((4,), HUB, 3, address=2), made((4, 2)), made((1,), address=9, bus=2)
    )
    assert {d.id: d.parent for d in snapshot.devices} == {
        "usb1": "bus-1",
        "1-4": "usb1",
        "1-4.2": "1-4",
        "usb2": "bus-2",
        "2-1": "usb2",
    }
    assert [c.id for c in snapshot.controllers] == ["bus-1", "bus-2"]
    assert BusTree(snapshot).controller_of("1-4.2").id == "bus-1"
    assert [s.id for s in snapshot.sockets] == ["1-4", "1-4.2", "2-1"]


def test_a_keyboard_tells_what_its_descriptors_say():
    keyboard = one(seen(made()), "1-2")
    assert (keyboard.vid, keyboard.pid, keyboard.usb_version, keyboard.release) == ("1209", "0001", "2.00", "1.23")
    assert (keyboard.speed, keyboard.mbps, keyboard.max_power_ma, keyboard.self_powered) == ("full", 12.0, 100, False)
    assert (keyboard.product, keyboard.serial, keyboard.configuration) == ("Fader Bank", "S1", 1)
    assert keyboard.interfaces[0].alternates[0].endpoints[0].interval_us == 10_000
    assert keyboard.unreadable == ()


def test_what_libusb_does_not_tell_stays_unknown():
    snapshot = seen(made())
    keyboard = one(snapshot, "1-2")
    assert (keyboard.interfaces[0].driver, keyboard.interfaces[0].active_alternate, keyboard.power_saving) == (
        None,
        None,
        None,
    )
    assert snapshot.sockets[0].over_current_count is None
    assert snapshot.controllers[0].slot_limit is None


@pytest.mark.parametrize(
    ("code", "speed", "mbps"),
    # enum libusb_speed in libusb.h
    [
        (1, "low", 1.5),
        (2, "full", 12),
        (3, "high", 480),
        (4, "super", 5000),
        (5, "super_plus", 10000),
        (6, "super_plus", 20000),
        (0, None, None),
        (77, None, None),
    ],
)
def test_speeds_have_our_words(code, speed, mbps):
    keyboard = one(seen(made(speed=code)), "1-2")
    assert (keyboard.speed, keyboard.mbps) == (speed, mbps)


def test_a_controller_with_a_super_speed_device_is_an_xhci():
    assert seen(made(speed=4)).controllers[0].kind == "xhci"
    assert seen(made(speed=3)).controllers[0].kind == "other"


@pytest.mark.parametrize(
    ("blob", "speed", "translator"),
    [(HUB, 3, "single"), (MULTI, 3, None), (MULTI, 2, "none"), (HUB, 4, "none"), (HUB, 0, None)],
)
def test_a_translator_is_told_only_where_there_is_no_choice(blob, speed, translator):
    assert one(seen(made(blob=blob, speed=speed)), "1-2").hub.translator == translator


def test_a_device_that_may_not_be_opened_keeps_its_descriptors_and_is_no_evidence():
    keyboard = one(seen(made(answers=Answers(refused="permission"))), "1-2")
    assert (keyboard.name, keyboard.product, keyboard.configuration) == ("keyboard", None, None)
    assert keyboard.max_power_ma == 100  # its only configuration
    assert keyboard.unreadable == ()


def test_of_several_configurations_none_is_guessed():
    stick = one(seen(made(blob=TWO, answers=Answers(refused="permission"))), "1-2")
    assert (stick.configuration, stick.interfaces, stick.max_power_ma) == (None, (), None)
    told = one(seen(made(blob=TWO, answers=Answers(configuration=2))), "1-2")
    assert (told.configuration, told.self_powered, told.interfaces[0].class_code) == (2, True, 8)


def test_a_device_that_vanished_or_lost_its_descriptors_is_told():
    gone = one(seen(made(answers=Answers(refused="vanished"))), "1-2")
    assert [(u.where, u.reason) for u in gone.unreadable] == [("1-2", "vanished")]
    bare = one(seen(made(blob=KEYBOARD[:17] + b"\0", trouble="failed")), "1-2")
    assert ("1-2/descriptors", "failed") in [(u.where, u.reason) for u in bare.unreadable]


def test_names_from_devices_are_cleaned():
    found = one(seen(made(answers=Answers(product="\x1b[31mred\n", serial="\x00"))), "1-2")
    assert (found.product, found.serial) == ("[31mred", None)


def test_two_devices_with_one_path_both_stay():
    # macOS may give both halves of a USB 3 hub the same path.
    snapshot = seen(made(blob=HUB, speed=3, address=5), made(blob=HUB, speed=4, address=6))
    assert [d.id for d in snapshot.devices] == ["1-2", "1-2?6", "usb1"]
    assert [s.id for s in snapshot.sockets] == ["1-2"]


def test_a_device_without_path_that_is_no_hub_has_an_unknown_place():
    snapshot = seen(made(()))
    found = one(snapshot, "1-?5")
    assert (found.parent, found.root) == (None, False)
    assert snapshot.sockets == ()


def test_a_device_that_never_answers_does_not_hold_up_the_look():
    lock = threading.Event()

    def stuck():
        lock.wait()
        return Answers()

    started = time.monotonic()
    result = look(port=Port(made(ask=stuck), made((3,), address=6)))
    lock.set()
    assert time.monotonic() - started < 3
    assert [u.reason for u in one(result.snapshot, "1-2").unreadable] == ["blocked"]
    assert one(result.snapshot, "1-3").product == "Fader Bank"
    assert any("did not answer in time" in note for note in result.notes)


def test_notes_say_that_this_system_tells_less_or_has_nothing():
    assert look(port=Port(made())).notes == (LESS,)
    assert look(port=Port()).notes == (NO_BUS,)


def test_without_libusb_there_is_an_empty_snapshot_and_a_clear_word(monkeypatch):
    monkeypatch.setattr(libusb, "open_port", lambda: None)
    result = look()
    assert (result.snapshot.devices, result.notes) == ((), (NO_LIBUSB,))
    assert result.snapshot.system.os is not None


def test_any_bytes_as_descriptors_give_a_snapshot():
    for blob in (b"", b"\xff" * 200, KEYBOARD[:20], b"\x12\x01" + bytes(200)):
        snapshot = seen(made(blob=blob))
        assert Snapshot.model_validate_json(snapshot.model_dump_json(by_alias=True)) == snapshot


def test_stopping_is_heeded():
    with pytest.raises(CancelledError):
        look(Watcher(cancelled=lambda: True), Port(made()))
