"""The look at trees made to measure: what it says when all is well, and when files are missing, odd or stuck."""

import os
import threading
import time
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sysfs_builder import HUB, KEYBOARD, SysfsTree, configuration, device, endpoint, full_bus, interface

from wizard.bus.errors import CancelledError
from wizard.bus.model import Snapshot
from wizard.observe.kernel_log import read_signs
from wizard.observe.linux import look, look_at
from wizard.observe.notes import NO_BUS
from wizard.observe.seen import Watcher
from wizard.observe.sysfs.disk import DiskTree

MULTI_HUB = device(
    (9, 0, 2),
    configuration(
        1,
        0xE0,
        50,
        interface(0, 0, (9, 0, 1), endpoint(0x81, 3, 1, 12)),
        interface(0, 1, (9, 0, 2), endpoint(0x81, 3, 1, 12)),
    ),
)


@pytest.fixture
def tree(tmp_path):
    made = SysfsTree(tmp_path / "tree")
    made.root_hub()
    return made


def seen(tree, identifier):
    (found,) = [d for d in look(tree.root).snapshot.devices if d.id == identifier]
    return found


def reasons(found):
    return {u.where: u.reason for u in found.unreadable}


def test_a_keyboard_is_seen_whole(tree):
    tree.device("1-2")
    keyboard = seen(tree, "1-2")
    assert (keyboard.parent, keyboard.root, keyboard.hub) == ("usb1", False, None)
    assert (keyboard.vid, keyboard.pid, keyboard.release, keyboard.usb_version) == ("1209", "0001", "1.23", "2.00")
    assert (keyboard.speed, keyboard.mbps, keyboard.max_power_ma, keyboard.self_powered) == ("full", 12.0, 100, False)
    assert (keyboard.name, keyboard.manufacturer, keyboard.serial) == ("Gadget 1-2", "Invented", "S1-2")
    (keys,) = keyboard.interfaces
    assert (keys.class_code, keys.active_alternate, keys.driver) == (3, 0, "usbhid")
    assert (keyboard.power_saving.allowed, keyboard.power_saving.delay_ms) == (True, 2000)
    assert keyboard.unreadable == ()


def test_controller_and_its_sockets_are_seen(tree):
    snapshot = look(tree.root).snapshot
    (controller,) = snapshot.controllers
    assert (controller.id, controller.kind, controller.driver) == ("0000:00:14.0", "xhci", "xhci_hcd")
    assert (controller.pci.vendor, controller.pci.device, controller.pci.subsystem) == ("1234", "5678", "1111:2222")
    assert [s.id for s in snapshot.sockets] == ["1-1", "1-2", "1-3", "1-4"]
    assert {(s.hub, s.usable, s.built_in, s.over_current_count) for s in snapshot.sockets} == {("usb1", True, False, 0)}


@pytest.mark.parametrize("kind", ["uhci", "ohci", "ehci", "xhci"])
@pytest.mark.parametrize("by", ["driver", "class"])
def test_the_kind_of_a_controller_is_known_by_driver_or_by_pci_class(tmp_path, kind, by):
    tree = SysfsTree(tmp_path / "tree")
    folder = tree.controller(kind=kind)
    (folder / ("class" if by == "driver" else "driver")).unlink()
    tree.root_hub()
    assert look(tree.root).snapshot.controllers[0].kind == kind


@pytest.mark.parametrize(
    ("blob", "alternate", "speed", "translator"),
    [
        (HUB, "0", "480", "single"),
        (MULTI_HUB, "1", "480", "multi"),
        (MULTI_HUB, "0", "480", "single"),  # able to, but not doing it
        (HUB, "0", "12", "none"),
        (HUB, "0", "5000", "none"),
    ],
)
def test_the_translator_is_told_as_it_runs_now(tree, blob, alternate, speed, translator):
    folder = tree.hub("1-1", blob, speed)
    (folder / "1-1:1.0/bAlternateSetting").write_text(f" {alternate}\n")
    assert seen(tree, "1-1").hub.translator == translator


def test_a_hub_whose_setting_is_not_told_has_an_unknown_translator(tree):
    folder = tree.hub("1-1", MULTI_HUB)
    (folder / "1-1:1.0/bAlternateSetting").unlink()
    assert seen(tree, "1-1").hub.translator is None


def test_a_port_tells_its_place_shape_peer_and_offer(tmp_path):
    tree = SysfsTree(tmp_path / "tree")
    tree.root_hub(1)
    tree.root_hub(2, "5000")
    port = tree.port("usb1", 1)
    (port / "peer").symlink_to("../../../usb2/2-0:1.0/usb2-port1")
    (port / "physical_location").mkdir()
    (port / "physical_location/panel").write_text("back\n")
    (port / "connect_type").write_text("hardwired\n")
    (port / "over_current_count").write_text("7\n")
    typec = tree.root / "sys/devices/typec/port0"
    typec.mkdir(parents=True)
    (typec / "power_role").write_text("[source] sink\n")
    (typec / "power_operation_mode").write_text("3.0A\n")
    (port / "connector").symlink_to(os.path.relpath(typec, port))
    sockets = {s.id: s for s in look(tree.root).snapshot.sockets}
    first = sockets["1-1"]
    assert (first.peer, first.place, first.shape, first.generation) == ("2-1", "rear", "usb_c", "usb3")
    assert (first.usable, first.built_in, first.over_current_count, first.offers_ma) == (True, True, 7, 3000.0)
    assert sockets["1-2"].generation == "usb2"  # the kernel paired ports of this hub, but not this one
    assert sockets["2-2"].generation == "usb3"


def test_without_port_folders_the_number_of_ports_still_gives_sockets(tree):
    folder = tree.hub("1-1", ports=3)
    for port in (folder / "1-1:1.0").glob("1-1-port*"):
        for file in port.iterdir():
            file.unlink()
        port.rmdir()
    sockets = [s for s in look(tree.root).snapshot.sockets if s.hub == "1-1"]
    assert [(s.id, s.usable) for s in sockets] == [("1-1.1", None), ("1-1.2", None), ("1-1.3", None)]


def test_a_tree_without_listing_is_walked_and_gives_the_same(tmp_path):
    snapshots = []
    for listing in (True, False):
        tree = SysfsTree(tmp_path / str(listing), listing=listing)
        tree.root_hub()
        tree.hub("1-1")
        tree.device("1-1.2")
        snapshots.append(look(tree.root).snapshot)
    assert snapshots[0] == snapshots[1]
    assert [d.id for d in snapshots[0].devices] == ["1-1", "1-1.2", "usb1"]


def test_a_device_no_configuration_of_which_is_in_use_says_so(tree):
    folder = tree.device("1-2", bConfigurationValue="")
    for file in (folder / "1-2:1.0").iterdir():
        file.unlink()
    (folder / "1-2:1.0").rmdir()
    (tree.root / "sys/bus/usb/devices/1-2:1.0").unlink()
    found = seen(tree, "1-2")
    assert (found.configuration, found.interfaces, found.max_power_ma) == (0, (), None)


def test_an_interface_without_driver_is_seen_without_one(tree):
    folder = tree.device("1-2")
    (folder / "1-2:1.0/driver").unlink()
    assert seen(tree, "1-2").interfaces[0].driver is None


def test_missing_files_leave_facts_unknown_and_nothing_else(tree):
    folder = tree.device("1-2")
    for name in ("product", "manufacturer", "serial", "power/control", "power/runtime_status"):
        (folder / name).unlink()
    found = seen(tree, "1-2")
    assert (found.product, found.serial, found.power_saving) == (None, None, None)
    assert found.name == "keyboard"
    assert found.unreadable == ()


def test_without_descriptors_single_attributes_tell_what_they_can(tree):
    folder = tree.device("1-2")
    (folder / "descriptors").unlink()
    texts = {
        "idVendor": "1209",
        "idProduct": "00ab",
        "bcdDevice": "0210",
        "version": " 1.10",
        "bDeviceClass": "00",
        "bMaxPower": "98mA",
        "bmAttributes": "e0",
        "1-2:1.0/bInterfaceClass": "03",
    }
    for name, text in texts.items():
        (folder / name).write_text(text + "\n")
    found = seen(tree, "1-2")
    assert (found.vid, found.pid, found.release, found.usb_version) == ("1209", "00ab", "2.10", "1.10")
    assert (found.max_power_ma, found.self_powered, found.class_code) == (98, True, 0)
    assert [(i.class_code, i.alternates, i.driver) for i in found.interfaces] == [(3, (), "usbhid")]
    assert reasons(found) == {"1-2/descriptors": "failed"}


def test_garbled_files_are_told_and_the_rest_stays(tree):
    folder = tree.device("1-2")
    (folder / "descriptors").write_bytes(b"\xff" * 40)
    (folder / "speed").write_bytes(b"\x00\x01warp")
    (folder / "idVendor").write_text("zzzz")
    (folder / "maxchild").write_text("many")
    (folder / "1-2:1.0/bAlternateSetting").write_text("?")
    found = seen(tree, "1-2")
    assert (found.speed, found.vid, found.hub) == (None, None, None)
    assert found.product == "Gadget 1-2"
    assert set(reasons(found).values()) == {"garbled"}
    assert {"1-2/speed", "1-2/idVendor", "1-2/maxchild", "1-2/1-2:1.0/bAlternateSetting"} <= set(reasons(found))


def test_hostile_entries_in_place_of_files_are_told_and_do_no_harm(tree, tmp_path):
    (tmp_path / "secret").write_text("secret")
    folder = tree.device("1-2")
    for name in ("descriptors", "speed", "product", "manufacturer", "serial"):
        (folder / name).unlink()
    os.mkfifo(folder / "speed")
    (folder / "descriptors").mkdir()
    (folder / "product").symlink_to(tmp_path / "secret")
    (folder / "manufacturer").symlink_to("manufacturer")
    (folder / "serial").write_bytes(b"9" * 200_000)
    result = look(tree.root)
    assert "secret" not in result.snapshot.model_dump_json()
    (found,) = [d for d in result.snapshot.devices if d.id == "1-2"]
    assert (found.speed, found.product, found.manufacturer, found.serial) == (None, None, None, None)
    assert reasons(found) == {"1-2": "failed"}  # speed and descriptors both: the device is told as one


def test_a_listing_whose_links_lead_nowhere_is_told(tree):
    listing = tree.root / "sys/bus/usb/devices"
    (listing / "1-3").symlink_to("../../../devices/gone/1-3")
    (listing / "1-4").symlink_to("../../../../../../../etc")
    (listing / "1-2").symlink_to("1-2")
    snapshot = look(tree.root).snapshot
    assert {(u.where, u.reason) for u in snapshot.unreadable} == {(f"1-{n}", "vanished") for n in (2, 3, 4)}


@pytest.mark.parametrize("name", ["usb0x", "1-", "1-0", "1-2.0", "-1", "1-2:1", "usb" + "9" * 400, "1-" + "2." * 90])
def test_names_that_are_no_usb_names_are_passed_over(tree, name):
    folder = tree.root / "sys/devices/odd"
    folder.mkdir()
    (tree.root / "sys/bus/usb/devices" / name[:200]).symlink_to("../../../devices/odd")
    assert [d.id for d in look(tree.root).snapshot.devices] == ["usb1"]


class Vanishing(DiskTree):
    """A device that is gone by the time its files are read."""

    def __init__(self, top, name):
        super().__init__(top)
        self._name = name

    def read_into(self, found, folder, names, limit=4096):
        if self._name in folder:
            found.update(dict.fromkeys(names))
            return
        super().read_into(found, folder, names, limit)

    def is_folder(self, path):
        # The listing still shows it; the second question comes after reading.
        asked, self._asked = getattr(self, "_asked", False), self._name in path or getattr(self, "_asked", False)
        return super().is_folder(path) and not (asked and self._name in path)


def test_a_device_that_leaves_while_it_is_read_is_told_as_vanished(tree):
    tree.device("1-2")
    tree.device("1-3")
    result = look_at(Vanishing(tree.root, "1-2"), Watcher(), NO_BUS)
    found = {d.id: d for d in result.snapshot.devices}
    assert reasons(found["1-2"]) == {"1-2": "vanished"}
    assert found["1-3"].unreadable == ()
    assert any("unplugged" in note for note in result.notes)


def test_attributes_that_answer_no_such_device_are_told_as_vanished(tree, monkeypatch):
    tree.device("1-2")
    real = DiskTree._read

    def gone(self, folder, name, *more):
        if folder.endswith("1-2") and name == "product":
            raise OSError(19, "No such device")
        return real(self, folder, name, *more)

    monkeypatch.setattr(DiskTree, "_read", gone)
    assert reasons(seen(tree, "1-2")) == {"1-2/product": "vanished"}


class Locked(DiskTree):
    """Some files of some folders wait for a lock that nobody gives back."""

    def __init__(self, top, lock, *waiting):
        super().__init__(top)
        self._lock = lock
        self._waiting = waiting

    def read_into(self, found, folder, names, limit=4096):
        for name in names:
            if any(folder.endswith(place) and name in files for place, files in self._waiting):
                self._lock.wait()
            super().read_into(found, folder, (name,), limit)


LOCKABLE = ("bConfigurationValue", "product", "manufacturer", "serial", "bMaxPower", "bmAttributes")


@pytest.fixture
def lock():
    event = threading.Event()
    yield event
    event.set()


def test_a_locked_hub_keeps_its_name_and_nothing_else_from_us(tree, lock):
    tree.hub("1-1")
    tree.device("1-1.2")
    tree.device("1-3")
    started = time.monotonic()
    result = look_at(Locked(tree.root, lock, ("/1-1", LOCKABLE)), Watcher(), NO_BUS)
    assert time.monotonic() - started < 3  # the design's target
    found = {d.id: d for d in result.snapshot.devices}
    hub = found["1-1"]
    assert reasons(hub) == {f"1-1/{name}": "blocked" for name in ("product", "manufacturer", "serial")}
    assert (hub.speed, hub.configuration, hub.max_power_ma, hub.hub.ports) == ("high", 1, 0, 4)
    assert hub.name == "hub with 4 sockets"
    assert found["1-1.2"].product == "Gadget 1-1.2"
    assert found["1-3"].unreadable == ()
    assert len([s for s in result.snapshot.sockets if s.hub == "1-1"]) == 4
    (note,) = result.notes
    assert "did not answer in time" in note


def test_every_hub_locked_at_once_still_ends_in_time(tmp_path, lock):
    tree = full_bus(tmp_path / "tree")
    started = time.monotonic()
    result = look_at(Locked(tree.root, lock, ("", LOCKABLE)), Watcher(), NO_BUS)
    assert time.monotonic() - started < 3
    assert len(result.snapshot.devices) == 127
    assert all(any(u.reason == "blocked" for u in d.unreadable) for d in result.snapshot.devices)
    assert all(d.speed for d in result.snapshot.devices)


def test_a_device_not_even_the_free_files_of_which_come_back_is_told(tree, lock):
    tree.device("1-2")
    result = look_at(Locked(tree.root, lock, ("/1-2", ("descriptors",))), Watcher(), NO_BUS)
    found = {d.id: d for d in result.snapshot.devices}
    assert reasons(found["1-2"]) == {"1-2": "blocked"}
    assert found["usb1"].unreadable == ()


def test_what_comes_back_after_the_look_changes_nothing_in_it(tree, lock):
    tree.hub("1-1", product="Late")
    result = look_at(Locked(tree.root, lock, ("/1-1", ("product",))), Watcher(), NO_BUS)
    before = result.snapshot.model_dump_json()
    lock.set()
    time.sleep(0.1)
    assert result.snapshot.model_dump_json() == before


def test_stopping_is_heeded_before_and_while_reading(tree, lock):
    tree.hub("1-1")
    with pytest.raises(CancelledError):
        look(tree.root, Watcher(cancelled=lambda: True))
    asked = []

    def later():
        asked.append(1)
        return len(asked) > 3

    with pytest.raises(CancelledError):
        look_at(Locked(tree.root, lock, ("/1-1", LOCKABLE)), Watcher(cancelled=later), NO_BUS)


def test_progress_is_told_in_sentences(tree):
    told = []
    look(tree.root, Watcher(progress=lambda text, share: told.append((text, share))))
    assert told[0] == ("Searching for USB controllers", None)
    assert told[-1] == ("Looking at what is plugged in", 1.0)


def test_a_tree_without_usb_is_a_normal_case_with_a_clear_word(tmp_path):
    (tmp_path / "sys/devices").mkdir(parents=True)
    result = look(tmp_path)
    assert result.snapshot.devices == ()
    assert result.notes == (NO_BUS,)


def test_system_facts_are_read_without_anything_private(tree):
    board = tree.root / "sys/class/dmi/id"
    board.mkdir(parents=True)
    facts = {
        "board_vendor": "Invented Boards",
        "board_name": "Default string",
        "product_name": "Tower 7",
        "bios_version": "1.2",
        "bios_date": "01/02/2020",
        "product_serial": "PRIVATE",
    }
    for name, text in facts.items():
        (board / name).write_text(text + "\n")
    (tree.root / "proc/sys/kernel").mkdir(parents=True)
    (tree.root / "proc/sys/kernel/hostname").write_text("PRIVATE\n")
    (tree.root / "proc/version").write_text("Linux version 6.1.0-13-amd64 (someone@PRIVATE) #1 SMP\n")
    (tree.root / "etc").mkdir()
    (tree.root / "etc/os-release").write_text('NAME=x\nPRETTY_NAME="Invented Linux 9"\n')
    system = look(tree.root).snapshot.system
    assert system.model_dump() == {
        "os": "linux",
        "version": "Invented Linux 9",
        "kernel": "6.1.0-13-amd64",
        "board_maker": "Invented Boards",
        "board_model": "Tower 7",
        "firmware_version": "1.2",
        "firmware_date": "01/02/2020",
    }


@pytest.mark.parametrize(
    ("text", "slots"),
    [("HCSPARAMS1 = 0x08001040\n", 64), ("HCSPARAMS1 = 0x18000000\n", None), ("garbage", None), ("", None)],
)
def test_device_slots_are_read_where_the_kernel_shows_the_registers(tree, text, slots):
    registers = tree.root / "sys/kernel/debug/usb/xhci/0000:00:14.0"
    registers.mkdir(parents=True)
    (registers / "reg-cap").write_text(text)
    assert look(tree.root).snapshot.controllers[0].slot_limit == slots


def test_the_kernels_own_listing_is_never_opened(tree, monkeypatch):
    """Opening it live waits, and can't be interrupted, while a device does not answer."""
    listing = tree.root / "sys/kernel/debug/usb/devices"
    listing.parent.mkdir(parents=True)
    listing.write_text("T:  Bus=01\n")
    opened = []
    real = os.open

    def spy(path, *args, **more):
        opened.append(str(path))
        return real(path, *args, **more)

    monkeypatch.setattr(os, "open", spy)
    look(tree.root)
    assert opened
    assert not [path for path in opened if path.endswith("debug/usb/devices")]


def test_nothing_that_waits_for_a_locked_hub_is_read_before_what_does_not(tree, monkeypatch):
    tree.hub("1-1")
    order = []
    real = DiskTree.read_into

    def spy(self, found, folder, names, limit=4096):
        order.extend(f"{folder}/{name}" for name in names)
        real(self, found, folder, names, limit)

    monkeypatch.setattr(DiskTree, "read_into", spy)
    look(tree.root)
    waiting = [n for n, path in enumerate(order) if path.rpartition("/")[2] in LOCKABLE]
    free = [n for n, path in enumerate(order) if path.rpartition("/")[2] in ("descriptors", "speed", "connect_type")]
    assert max(free) < min(waiting)
    never = ("bNumInterfaces", "configuration", "uevent", "disable")
    assert not [path for path in order if path.rpartition("/")[2] in never]


FILES = ("speed", "maxchild", "descriptors", "product", "power/control", "1-2:1.0/bAlternateSetting")


@given(st.dictionaries(st.sampled_from(FILES), st.binary(max_size=60)))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
def test_any_bytes_in_any_file_give_a_snapshot(tmp_path_factory, contents):
    tree = SysfsTree(tmp_path_factory.mktemp("any") / "tree")
    tree.root_hub()
    folder = tree.device("1-2")
    for name, content in contents.items():
        (folder / name).write_bytes(content)
    snapshot = look(tree.root).snapshot
    assert Snapshot.model_validate_json(snapshot.model_dump_json(by_alias=True)) == snapshot


def test_a_full_bus_is_seen_whole(tmp_path):
    tree = full_bus(tmp_path / "tree")
    snapshot = look(tree.root).snapshot
    assert len(snapshot.devices) == 127
    assert all(d.unreadable == () for d in snapshot.devices)


@pytest.mark.slow
def test_a_full_bus_takes_about_as_long_as_reading_its_files(tmp_path, monkeypatch):
    """The design's target: at most twice the time of merely reading the same files in Python.

    Measured in processor time, the best of several, so that a busy machine does not decide.
    """
    tree = full_bus(tmp_path / "tree")
    files = []
    real = os.open

    def spy(path, flags, mode=0o777, *, dir_fd=None):
        handle = real(path, flags, mode, dir_fd=dir_fd)
        files.append(Path(f"/proc/self/fd/{handle}").readlink())
        return handle

    with monkeypatch.context() as patch:
        patch.setattr(os, "open", spy)
        look(tree.root)
    files = [path for path in files if path.is_file()]

    def taken(work):
        started = time.process_time()
        work()
        return time.process_time() - started

    # In turns, so that a processor that slows down or speeds up meanwhile does so for both.
    rounds = [(taken(lambda: [path.read_bytes() for path in files]), taken(lambda: look(tree.root))) for _ in range(40)]
    reading, looking = (min(times) for times in zip(*rounds, strict=True))
    assert len(files) > 1000
    assert looking <= 2 * reading


def test_identical_devices_keep_their_own_troubles(tree):
    for name in ("1-1", "1-2"):
        tree.device(name, KEYBOARD[:-1])
    assert set(reasons(seen(tree, "1-1"))) == {"1-1/descriptors"}
    assert set(reasons(seen(tree, "1-2"))) == {"1-2/descriptors"}


@pytest.mark.parametrize("driver", ["usb-storage", "uas", "usbhid"])
def test_a_drive_tells_what_the_system_calls_it(tree, driver):
    folder = tree.device("1-3") / "1-3:1.0"
    (folder / "driver").unlink()
    (folder / "driver").symlink_to("../" * 6 + f"bus/usb/drivers/{driver}")
    unit = folder / "host4/target4:0:0/4:0:0:0/block"
    (unit / "sda/sda1").mkdir(parents=True)
    (unit / "not a disk").mkdir()
    drive = seen(tree, "1-3")
    names = ((), ()) if driver == "usbhid" else (("host4",), ("sda",))
    assert (drive.scsi_hosts, drive.disks) == names


def test_what_a_drive_is_called_tells_which_lines_of_a_log_are_about_it(tree):
    folder = tree.device("1-3") / "1-3:1.0"
    (folder / "driver").unlink()
    (folder / "driver").symlink_to("../" * 6 + "bus/usb/drivers/uas")
    (folder / "host4/target4:0:0/4:0:0:0/block/sda").mkdir(parents=True)
    log = [b"blk_update_request: I/O error, dev %s, sector 8\n" % disk for disk in (b"sda", b"sdb")]
    signs = read_signs(log, look(tree.root).snapshot)
    assert [(s.kind, s.where) for s in signs] == [("storage_io_error", "sda")]
