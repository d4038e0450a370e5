"""The chain of a drive from its name to the document: captures, and what a live machine would add."""

from pathlib import Path

import pytest

from wizard import wiring
from wizard.bus.drive import Contents, DriveDocument
from wizard.bus.errors import BadInputError
from wizard.observe.captured import look
from wizard.observe.sysfs.archive import open_archive

CAPTURE = Path(__file__).parent.parent / "reference" / "captures" / "storage.tar.gz"
LOG = (
    "[   20.100000] usb 2-6: new high-speed USB device number 7 using xhci_hcd\n"
    "[   20.200000] scsi host5: usb-storage 2-6:1.0\n"
    "[   90.000000] blk_update_request: I/O error, dev sdg, sector 2048 op 0x0:(READ) flags 0x0 phys_seg 1\n"
)


def machine(log: str | None = None, contents: Contents | None = None) -> wiring.DriveMachine:
    def read(_name: str, _number: str, _sector: int, _whole: bool) -> Contents:
        return contents or Contents()

    return wiring.DriveMachine(open_archive(CAPTURE, lambda: None), read, lambda: (log, None if log else "no log here"))


def link(found: DriveDocument, name: str) -> str:
    return next(each.state for each in found.links if each.link == name)


@pytest.mark.parametrize("name", ["2-6", "/dev/sdg", "sdg", "/dev/sdg1"])
def test_a_drive_is_found_by_its_id_and_by_its_disk(name: str) -> None:
    found = wiring.drive(name, CAPTURE)
    assert (found.opened, found.device, found.name) == (True, "2-6", "QEMU USB HARDDRIVE")
    assert (link(found, "enumerated"), link(found, "partition_table")) == ("ok", "ok")


@pytest.mark.parametrize("name", ["", "sdz", "/dev/nvme0n1", "usb2", "/etc/passwd", "2-6:1.0"])
def test_anything_else_is_refused_with_how_to_name_a_drive(name: str) -> None:
    with pytest.raises(BadInputError, match="portmend look"):
        wiring.drive(name, CAPTURE)


def test_a_device_that_is_not_there_gives_a_document_that_says_so() -> None:
    found = wiring.drive("2-15", CAPTURE)
    assert (found.opened, found.links, found.observations) == (False, (), {})
    assert "2-15" in found.notes[0]


def test_what_the_log_says_of_a_device_that_is_not_there_is_told() -> None:
    log = "[    1.0] usb 2-15: device descriptor read/64, error -71\n"
    assert "descriptor read failed" in wiring.drive("2-15", machine=machine(log)).notes[1]


def test_a_capture_does_not_touch_the_disks_of_this_machine() -> None:
    assert all(v.contents is None for v in wiring.drive("2-6", CAPTURE).facts.disks[0].volumes)  # type: ignore[union-attr]  # there are facts


def test_errors_since_it_was_plugged_in_count_and_earlier_ones_of_the_same_name_do_not() -> None:
    assert link(wiring.drive("2-6", machine=machine(LOG)), "io_errors") == "fails"
    earlier = LOG.splitlines(keepends=True)
    assert link(wiring.drive("2-6", machine=machine(earlier[2] + earlier[0] + earlier[1])), "io_errors") == "ok"


def test_a_log_that_may_not_be_read_is_noted() -> None:
    found = wiring.drive("2-6", machine=machine())
    assert (link(found, "io_errors"), found.notes) == ("unknown", ("no log here",))


def test_what_may_not_be_read_comes_with_the_narrow_right_that_would_help() -> None:
    found = wiring.drive("2-6", machine=machine(LOG, Contents(reason="permission")))
    assert "setfacl -m u:$USER:r /dev/sdg" in found.notes[0]


def test_drives_are_known_by_their_interfaces() -> None:
    assert wiring.drive_devices(look(CAPTURE).snapshot) == tuple(f"2-{port}" for port in range(1, 9))
