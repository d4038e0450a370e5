"""What may hang on a bus: harmless only where descriptors say so."""

import pytest
from builders import controller, device, hub, root, snapshot

from wizard.bus.model import Device, Interface, Snapshot, Unreadable
from wizard.diagnosis.facts import Facts
from wizard.plan.cautions import cautions_in
from wizard.plan.present import EITHER, may_hang
from wizard.plan.steps import Remedy


def of_class(code: int, protocol: int = 0, identifier: str = "1-1") -> Device:
    plain = device(identifier, "high", 100)
    return plain.model_copy(update={"interfaces": (Interface(number=0, class_code=code, protocol=protocol),)})


def bus(*devices: Device) -> Snapshot:
    return snapshot(controller(), root(), *devices)


@pytest.mark.parametrize(
    ("code", "protocol", "expected"),
    # Classes and boot protocols: USB-IF Defined Class Codes, HID 1.11 §4.3.
    [(0x08, 80, {"drive"}), (0x03, 1, set()), (0x03, 0, EITHER), (0xFF, 0, EITHER), (0x0A, 0, EITHER)],
)
def test_a_device_is_harmless_only_where_its_class_says_so(code: int, protocol: int, expected: set[str]) -> None:
    assert may_hang(bus(of_class(code, protocol))) == expected


def test_without_a_look_or_with_something_unread_anything_may_hang_there() -> None:
    keyboard = of_class(0x03, 1)
    unread = keyboard.model_copy(update={"unreadable": (Unreadable(where="1-1", reason="blocked"),)})
    for seen in (None, bus(), bus(unread), bus(keyboard, device("1-2", "full", None))):
        assert may_hang(seen) == EITHER


def test_hubs_count_by_what_hangs_on_them() -> None:
    assert may_hang(bus(hub("1-1"), of_class(0x08, 80, "1-1.1"))) == {"drive"}


def test_a_step_that_moves_plugs_leaves_out_what_surely_is_not_there(remedies: tuple[Remedy, ...]) -> None:
    hungry = next(r for r in remedies if r.id == "move_hungry")
    drive = Facts(symptoms=("dropout",), observations={"device_kind": "storage"})
    assert "motor_safe" in cautions_in(hungry, drive)
    assert "motor_safe" not in cautions_in(hungry, drive, may_hang(bus(of_class(0x08, 80))))
    assert "eject_drive" in cautions_in(hungry, drive, may_hang(bus(of_class(0x08, 80))))


def test_what_misbehaves_may_be_anything_where_its_kind_is_not_known(remedies: tuple[Remedy, ...]) -> None:
    hungry = next(r for r in remedies if r.id == "move_hungry")
    nobody = Facts(symptoms=("device_missing",))
    assert {"motor_safe", "eject_drive"} <= set(cautions_in(hungry, nobody, may_hang(bus(of_class(0x03, 1)))))


def test_mains_restarts_and_opened_cases_warn_of_drives_and_motors_whatever_was_seen(
    remedies: tuple[Remedy, ...],
) -> None:
    keyboard = may_hang(bus(of_class(0x03, 1)))
    facts = Facts(symptoms=("other",), observations={"device_kind": "keyboard_mouse"})
    for remedy in remedies:
        if {"mains", "restart", "case", "firmware", "board_setup"} & set(remedy.touches):
            assert {"motor_safe", "eject_drive"} <= set(cautions_in(remedy, facts, keyboard)), remedy.id
