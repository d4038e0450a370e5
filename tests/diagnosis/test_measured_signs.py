"""What a sign says by itself, of the subject and of nothing else. Devices are invented."""

import pytest

from wizard.bus.listing import Listing
from wizard.bus.model import Device, Snapshot
from wizard.bus.sign import Sign
from wizard.bus.tree import BusTree
from wizard.diagnosis.measured_signs import observations_of_signs

STICK = Device(id="1-2", parent="usb1", disks=("disk 1",), listing=Listing(instance_id="USB\\VID_1234&PID_5678\\A"))
OTHER = Device(id="1-3", parent="usb1", disks=("disk 2", "F:"))
TREE = BusTree(Snapshot(devices=(STICK, OTHER)))


def said(*signs, subject=("1-2",), tree=TREE):
    return observations_of_signs(tree, subject, [Sign(kind=kind, where=where) for kind, where in signs])


@pytest.mark.parametrize(("code", "word"), [(10, "code_10"), (12, "code_12"), (43, "code_43")])
def test_a_problem_code_of_the_subject_is_what_the_system_said(code, word):
    assert said((f"windows_problem_{code}", "usb\\vid_1234&pid_5678\\a")) == {"message": (word,)}


def test_other_codes_and_other_devices_say_nothing():
    assert said(("windows_problem_28", "1-2"), ("windows_problem_10", "1-3"), ("driver_failed", "1-2")) == {}


def test_the_words_behind_code_12_are_no_second_message():
    assert said(("windows_problem_12", "1-2"), ("no_controller_resources", "1-2")) == {"message": ("code_12",)}
    assert said(("no_controller_resources", "1-2")) == {"message": ("no_resources",)}


@pytest.mark.parametrize(
    ("kind", "volume"),
    [
        ("windows_disk_offline", "offline"),
        ("windows_disk_offline_4", "offline"),
        ("windows_disk_raw", "no_partition"),
        ("windows_no_letter", "no_letter"),
    ],
)
def test_what_disk_management_shows_of_the_subjects_disk_is_known(kind, volume):
    assert said((kind, "disk 1")) == {"volume": volume}
    assert said((kind, "disk 2")) == {}


def test_an_offline_disk_is_offline_whatever_else_it_lacks():
    assert said(("windows_no_letter", "disk 1"), ("windows_disk_offline_1", "disk 1"))["volume"] == "offline"


def test_a_further_partition_without_a_letter_says_nothing_where_another_has_one():
    assert said(("windows_no_letter", "disk 2"), subject=("1-3",)) == {}


def test_without_a_subject_only_a_single_place_speaks():
    empty = BusTree(Snapshot())
    assert said(("windows_problem_10", "A"), subject=(), tree=empty) == {"message": ("code_10",)}
    assert said(("windows_problem_10", "A"), ("windows_problem_43", "B"), subject=(), tree=empty) == {}
