"""Looking at a capture: folder or archive, whole, odd or missing."""

import io
import tarfile

import pytest
from sysfs_builder import SysfsTree

from wizard.bus.errors import BadInputError, CancelledError
from wizard.observe.captured import look
from wizard.observe.notes import NO_BUS_IN_CAPTURE
from wizard.observe.seen import Watcher


@pytest.fixture
def tree(tmp_path):
    made = SysfsTree(tmp_path / "capture")
    made.root_hub()
    made.device("1-2")
    return made


@pytest.mark.parametrize(("name", "mode"), [("c.tar", "w"), ("c.tar.gz", "w:gz"), ("c.tgz", "w:gz")])
@pytest.mark.parametrize("inside", [".", "", "pc-in-the-booth"])
def test_folder_and_archive_give_the_same_look(tree, tmp_path, name, mode, inside):
    path = tmp_path / name
    with tarfile.open(path, mode) as archive:
        archive.add(tree.root / "sys", arcname=f"{inside}/sys" if inside else "sys")
    assert look(path) == look(tree.root)
    assert [d.id for d in look(path).snapshot.devices] == ["1-2", "usb1"]


def test_links_in_an_archive_below_a_folder_stay_below_it(tree, tmp_path):
    path = tmp_path / "c.tar"
    with tarfile.open(path, "w") as archive:
        archive.add(tree.root / "sys", arcname="top/sys")
        for name, target in (("top/sys/bus/usb/devices/1-3", "../../../../../elsewhere/1-3"),):
            info = tarfile.TarInfo(name)
            info.type, info.linkname = tarfile.SYMTYPE, target
            archive.addfile(info)
        info = tarfile.TarInfo("elsewhere/1-3/speed")
        info.size = 4
        archive.addfile(info, io.BytesIO(b"480\n"))
    assert [d.id for d in look(path).snapshot.devices] == ["1-2", "usb1"]


def refused(path):
    with pytest.raises(BadInputError) as caught:
        look(path)
    sentence = str(caught.value)
    assert sentence.startswith(str(path))
    assert "\n" not in sentence
    return sentence


def test_a_folder_without_sys_says_what_is_missing_and_what_to_do(tmp_path):
    sentence = refused(tmp_path)
    assert "no captured `sys`" in sentence
    assert "Give the folder" in sentence


def test_a_path_that_is_not_there_says_so(tmp_path):
    assert "no such file or folder" in refused(tmp_path / "missing")


def test_an_archive_without_sys_says_so(tmp_path):
    path = tmp_path / "c.tar"
    with tarfile.open(path, "w") as archive:
        archive.addfile(tarfile.TarInfo("readme"))
    assert "no captured `sys`" in refused(path)


def test_a_file_that_is_no_archive_says_so(tmp_path):
    path = tmp_path / "notes.txt"
    path.write_text("just words")
    assert "not a readable tar archive" in refused(path)


@pytest.mark.parametrize("name", ["a\0b", "x" * 5000])
def test_a_path_no_system_can_open_says_so(tmp_path, name):
    with pytest.raises(BadInputError):
        look(tmp_path / name)


def test_a_sys_that_leads_out_of_the_folder_is_none(tmp_path, tree):
    other = tmp_path / "other"
    other.mkdir()
    (other / "sys").symlink_to(tree.root / "sys")
    assert "no captured `sys`" in refused(other)


def test_a_sys_that_is_a_link_inside_the_folder_is_followed(tmp_path, tree):
    (tree.root / "sys").rename(tree.root / "real")
    (tree.root / "sys").symlink_to("real")
    assert [d.id for d in look(tree.root).snapshot.devices] == ["1-2", "usb1"]


def test_a_capture_without_usb_is_a_normal_case(tmp_path):
    (tmp_path / "sys/devices").mkdir(parents=True)
    seen = look(tmp_path)
    assert (seen.snapshot.devices, seen.notes) == ((), (NO_BUS_IN_CAPTURE,))


def test_stopping_is_heeded(tree, tmp_path):
    path = tmp_path / "c.tar"
    with tarfile.open(path, "w") as archive:
        archive.add(tree.root / "sys", arcname="sys")
    for root in (tree.root, path):
        with pytest.raises(CancelledError):
            look(root, Watcher(cancelled=lambda: True))
