"""A capture shows others what this machine shows, and nothing of whose machine it is."""

import json
import tarfile
from pathlib import Path
from typing import Any

import pytest

from wizard import wiring
from wizard.bus.errors import BadInputError
from wizard.bus.model import Snapshot
from wizard.observe.captured import LOG_NAME, look
from wizard.observe.seen import Seen
from wizard.observe.sysfs.archive import open_archive
from wizard.observe.sysfs.disk import DiskTree

CAPTURES = Path(__file__).parent.parent / "reference" / "captures"
LOG = (
    "[    0.000000] Command line: BOOT_IMAGE=/vmlinuz root=UUID=12345678-9abc-def0-1234-56789abcdef0 user=otto\n"
    "[    1.100000] usb 1-2: SerialNumber: FIELD0042\n"
    "[    2.200000] r8152 1-3:1.0 eth0: v1.12, 02:00:5e:10:20:30\n"
    "[    3.300000] pierhost sudo: otto : TTY=pts/0 ; PWD=/home/otto\n"
    "[    4.400000] usb 1-2: reset high-speed USB device number 3 using xhci_hcd\n"
)


def machine(tree: Any, log: str | None = None) -> wiring.CaptureMachine:
    names = (("host", "pierhost"), ("user", "otto"))
    return wiring.CaptureMachine(
        tree=tree, log=lambda: (log, None if log else "It may not be read."), names=lambda: names
    )


def without_serials(snapshot: Snapshot) -> Snapshot:
    devices = tuple(d if d.root else d.model_copy(update={"serial": d.serial and "any"}) for d in snapshot.devices)
    return snapshot.model_copy(update={"devices": devices})


@pytest.mark.parametrize("path", sorted(CAPTURES.glob("*.tar.gz")), ids=lambda path: path.name)
def test_a_look_at_the_capture_equals_the_look_at_the_machine_but_for_serial_numbers(
    path: Path, tmp_path: Path
) -> None:
    made = wiring.capture(tmp_path / "bus.tar.gz", machine=machine(open_archive(path, lambda: None)))
    before, after = look(path), look(made.path)
    assert without_serials(after.snapshot) == without_serials(before.snapshot)
    assert after.notes == before.notes
    serials = {d.serial for d in before.snapshot.devices if d.serial and not d.root}
    told = {d.serial for d in after.snapshot.devices if d.serial and not d.root}
    assert len(told) == len(serials)
    assert all(word.startswith("serial-") for word in told)


def test_a_drive_is_told_from_the_capture_as_from_the_machine(tmp_path: Path) -> None:
    path = CAPTURES / "storage.tar.gz"
    made = wiring.capture(tmp_path / "bus.tar.gz", machine=machine(open_archive(path, lambda: None)))
    for device in wiring.drive_devices(look(path).snapshot):
        assert wiring.drive(device, made.path).links == wiring.drive(device, path).links
    assert wiring.drive("/dev/sdg1", made.path).device == "2-6"


def test_input_devices_are_in_the_capture(tmp_path: Path) -> None:
    made = wiring.capture(
        tmp_path / "bus.tar.gz", machine=machine(open_archive(CAPTURES / "joystick.tar.gz", lambda: None))
    )
    bus = wiring.PaceMachine(tree=open_archive(made.path, lambda: None))
    ways = wiring.pace_devices(look(made.path).snapshot, bus)
    assert {(way.device, way.kind) for way in ways} >= {("1-1", "event"), ("1-1", "hidraw")}


@pytest.fixture
def private(tmp_path: Path) -> DiskTree:
    """A machine full of things that are nobody's business; all invented."""
    device = "sys/devices/platform/loggers/usb1/1-2"
    files = {
        f"{device}/speed": "480", f"{device}/serial": "FIELD0042", f"{device}/product": "Otto's field recorder",
        f"{device}/1-2:1.0/bInterfaceClass": "08", f"{device}/../speed": "480",
        f"{device}/1-2:1.0/host3/target3:0:0/3:0:0:0/block/sdb/size": "32768",
        f"{device}/1-2:1.0/host3/target3:0:0/3:0:0:0/block/sdb/dev": "8:16",
        "proc/version": "Linux version 6.1.0-9 (otto@pierhost) (gcc) #1 SMP",
        "proc/self/mountinfo": "1 0 8:2 / /home/otto rw - ext4 /dev/sda2 rw\n"
        "9 1 8:16 / /media/otto/Otto\\040private rw,nosuid - vfat /dev/sdb rw,uid=1000\n",
        "etc/os-release": "PRETTY_NAME=\"Pier OS 3\"\nHOME_URL=http://pierhost/\n",
        "etc/hostname": "pierhost", "home/otto/letter": "dear diary",
        "run/udev/data/b8:16": "E:ID_FS_TYPE=vfat\nE:ID_FS_LABEL=Otto private\nE:ID_SERIAL_SHORT=FIELD0042\n",
        "sys/kernel/debug/usb/devices": "S:  Product=Otto's field recorder\nS:  SerialNumber=FIELD0042\n",
        "sys/class/dmi/id/board_vendor": "Pier Works", "sys/class/dmi/id/board_serial": "BOARD777",
        "sys/class/input/event0/device/name": "Otto's headset",
    }  # fmt: skip
    for name, text in files.items():
        (tmp_path / "m" / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / "m" / name).write_text(text + "\n")
    return DiskTree(tmp_path / "m")


def test_nothing_private_leaves_the_machine(private: DiskTree, tmp_path: Path) -> None:
    made = wiring.capture(tmp_path / "bus.tar.gz", machine=machine(private, LOG))
    with tarfile.open(made.path) as archive:
        names = archive.getnames()
        everything = b"\n".join(f.read() for m in archive if (f := archive.extractfile(m)) is not None)
    for secret in (b"otto", b"Otto", b"pierhost", b"FIELD0042", b"BOARD777", b"diary", b"02:00:5e", b"12345678-9abc"):
        assert secret not in everything, secret
    assert not [name for name in names if "home" in name or "hostname" in name or "event0" in name]


def test_what_was_equal_stays_equal(private: DiskTree, tmp_path: Path) -> None:
    made = wiring.capture(tmp_path / "bus.tar.gz", machine=machine(private, LOG))
    (device,) = [d for d in look(made.path).snapshot.devices if not d.root]
    assert (device.serial, device.product) == ("serial-1", "somebody's field recorder")
    with tarfile.open(made.path) as archive:
        log = archive.extractfile(LOG_NAME)
        assert log is not None
        text = log.read().decode()
    assert "SerialNumber: serial-1" in text
    assert "usb 1-2: reset high-speed" in text


def test_the_drive_in_it_is_still_known_to_be_mounted(private: DiskTree, tmp_path: Path) -> None:
    made = wiring.capture(tmp_path / "bus.tar.gz", machine=machine(private))
    links = {link.link: link for link in wiring.drive("1-2", made.path).links}
    assert (links["file_system"].found, links["mounted"].found) == ("fat on sdb.", "Its files are at /mount-1.")


def test_the_log_in_a_capture_is_read_with_it(private: DiskTree, tmp_path: Path) -> None:
    made = wiring.capture(tmp_path / "bus.tar.gz", machine=machine(private, LOG))
    signs = wiring.look_captured(made.path).signs
    assert [(s.kind, s.where) for s in signs] == [("reset", "1-2")]


def test_a_machine_without_a_bus_gives_a_capture_that_says_so(tmp_path: Path) -> None:
    (tmp_path / "m/sys/devices").mkdir(parents=True)
    made = wiring.capture(tmp_path / "bus.tar.gz", machine=machine(DiskTree(tmp_path / "m")))
    assert not made.has_bus
    assert not wiring.look_captured(made.path).has_bus
    assert any("log is not in it" in note for note in made.notes)


def test_a_file_that_is_there_is_replaced_only_if_told(private: DiskTree, tmp_path: Path) -> None:
    path = tmp_path / "bus.tar.gz"
    path.write_text("precious")
    with pytest.raises(BadInputError, match="already"):
        wiring.capture(path, machine=machine(private))
    assert path.read_text() == "precious"
    wiring.capture(path, replace=True, machine=machine(private))
    assert look(path).snapshot.devices


@pytest.mark.parametrize("name", ["bus", "bus.json", "bus.zip"])
def test_a_name_that_does_not_fit_is_refused(private: DiskTree, tmp_path: Path, name: str) -> None:
    with pytest.raises(BadInputError, match=r"\.tar\.gz"):
        wiring.capture(tmp_path / name, machine=machine(private))


def test_where_there_is_no_tree_the_look_is_saved_instead_and_said_so(tmp_path: Path) -> None:
    seen = look(CAPTURES / "basic.tar.gz")
    elsewhere = wiring.CaptureMachine(tree=None, look=lambda _watcher: Seen(seen.snapshot), names=lambda: ())
    made = wiring.capture(tmp_path / "bus.json", machine=elsewhere)
    document = json.loads(made.path.read_text())
    assert document["schema"] == "portmend/look/1"
    assert len(document["snapshot"]["devices"]) == len(seen.snapshot.devices)
    assert "the look itself was saved" in made.notes[-1]
    assert {d["serial"] for d in document["snapshot"]["devices"] if not d["root"]} != {
        d.serial for d in seen.snapshot.devices if not d.root
    }
    with pytest.raises(BadInputError, match=r"\.json"):
        wiring.capture(tmp_path / "bus.tar.gz", machine=elsewhere)
