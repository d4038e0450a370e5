"""A folder made to hurt: nothing in it hangs a look, and nothing outside it is ever read."""

import os
import socket
import threading
import time
from pathlib import Path

import pytest

from wizard.observe.sysfs.disk import DiskTree, reason_of
from wizard.observe.sysfs.tree import read_one


@pytest.fixture
def secret(tmp_path):
    """A file beside the tree that no link may reach."""
    path = tmp_path / "outside/secret"
    path.parent.mkdir()
    path.write_text("secret")
    return path


@pytest.fixture
def top(tmp_path):
    folder = tmp_path / "tree"
    (folder / "sys/a/b").mkdir(parents=True)
    (folder / "sys/a/b/plain").write_bytes(b"text\n")
    return folder


def test_a_file_is_read_whole_with_or_without_newline(top):
    (top / "sys/bare").write_bytes(b"480")
    tree = DiskTree(top)
    assert read_one(tree, "sys/a/b/plain") == b"text\n"
    assert read_one(tree, "sys/bare") == b"480"


def test_what_is_not_there_is_none(top):
    tree = DiskTree(top)
    assert read_one(tree, "sys/a/b/missing") is None
    assert read_one(tree, "sys/nowhere/file") is None
    assert tree.names("sys/nowhere") == {}
    assert not tree.is_folder("sys/nowhere")


def test_links_inside_the_tree_are_followed_also_absolute_ones_and_folders(top):
    (top / "sys/relative").symlink_to("a/b/plain")
    (top / "sys/absolute").symlink_to("/sys/a/b/plain")
    (top / "sys/folder").symlink_to("a")
    tree = DiskTree(top)
    assert read_one(tree, "sys/relative") == b"text\n"
    assert read_one(tree, "sys/absolute") == b"text\n"
    assert read_one(tree, "sys/folder/b/plain") == b"text\n"
    assert tree.resolve("sys/folder/b") == "sys/a/b"


def test_no_link_leads_out_of_the_tree(top, secret):
    (top / "sys/up").symlink_to("../../outside/secret")
    (top / "sys/far").symlink_to(str(secret))
    (top / "sys/door").symlink_to("../../outside")
    (top / "sys/a/power").symlink_to(str(secret.parent))
    tree = DiskTree(top)
    for path in ("sys/up", "sys/far", "sys/door/secret", "sys/a/power/secret"):
        assert read_one(tree, path) != b"secret"
    found = {}
    tree.read_into(found, "sys/a", ("power/secret", "b/plain"))
    assert found == {"power/secret": None, "b/plain": b"text\n"}
    assert tree.names("sys/door") == {}


def test_links_in_a_circle_end(top):
    (top / "sys/one").symlink_to("two")
    (top / "sys/two").symlink_to("one")
    (top / "sys/self").symlink_to("self/self")
    tree = DiskTree(top)
    assert tree.resolve("sys/one") is None
    assert read_one(tree, "sys/self") == "failed"


def test_a_long_chain_of_links_ends(top):
    for number in range(3000):
        (top / f"sys/l{number}").symlink_to(f"l{number + 1}")
    assert DiskTree(top).resolve("sys/l0") is None


def test_links_that_double_at_every_step_end_quickly(top):
    (top / "sys/x0").mkdir()
    for number in range(1, 40):
        (top / f"sys/x{number}").symlink_to(f"x{number - 1}/../x{number - 1}")
    started = time.monotonic()
    DiskTree(top).resolve("sys/x39")
    assert time.monotonic() - started < 2


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs pipes in the file system")
def test_pipes_sockets_and_folders_are_not_opened(top, monkeypatch):
    os.mkfifo(top / "sys/pipe")
    (top / "sys/folder").mkdir()
    listener = socket.socket(socket.AF_UNIX)
    monkeypatch.chdir(top / "sys")  # the name of a socket must be short
    listener.bind("door")
    listener.close()
    results = {}
    tree = DiskTree(top)
    thread = threading.Thread(target=tree.read_into, args=(results, "sys", ("pipe", "folder", "door")), daemon=True)
    thread.start()
    thread.join(5)
    assert results == {"pipe": "failed", "folder": "failed", "door": "failed"}


def test_a_link_to_a_device_node_is_not_opened(top):
    (top / "sys/zero").symlink_to("/dev/zero")
    assert read_one(DiskTree(top), "sys/zero") is None  # /dev is looked for inside the tree


def test_a_file_too_long_is_told_and_not_read_to_its_end(top):
    with (top / "sys/endless").open("wb") as file:
        file.truncate(10**12)  # sparse: takes no room
    started = time.monotonic()
    assert read_one(DiskTree(top), "sys/endless") == "too_large"
    assert time.monotonic() - started < 1


def test_a_file_of_exactly_the_limit_is_still_whole(top):
    (top / "sys/full").write_bytes(b"x" * 65553)
    assert read_one(DiskTree(top), "sys/full", 65553) == b"x" * 65553
    assert read_one(DiskTree(top), "sys/full", 65552) == "too_large"


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="the administrator may read everything")
def test_a_file_we_may_not_read_is_told_so(top):
    (top / "sys/private").write_text("x")
    (top / "sys/private").chmod(0)
    assert read_one(DiskTree(top), "sys/private") == "permission"


@pytest.mark.parametrize(
    ("number", "reason"),
    [(2, None), (20, None), (19, "vanished"), (6, "vanished"), (13, "permission"), (1, "permission"), (5, "failed")],
)
def test_the_systems_errors_have_our_reasons(number, reason):
    # errno: ENOENT, ENOTDIR, ENODEV, ENXIO, EACCES, EPERM, EIO (asm-generic/errno-base.h)
    assert reason_of(OSError(number, "")) == reason


@pytest.mark.skipif(os.name != "posix", reason="only there is / the running system")
def test_the_running_system_is_a_tree_too():
    assert "proc" in DiskTree(Path("/")).names("")
