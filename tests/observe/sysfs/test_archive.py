"""Captures in tar files, whole and hostile: read like a folder, unpacked nowhere."""

import gzip
import io
import tarfile

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from wizard.bus.errors import BadInputError, CancelledError
from wizard.observe.sysfs import archive as archive_module
from wizard.observe.sysfs.archive import open_archive
from wizard.observe.sysfs.tree import read_one


def never():
    """Nobody stops the work."""


def packed(tmp_path, *members, name="capture.tar.gz", mode="w:gz"):
    """A tar file of (name, bytes) and of TarInfo headers as they are."""
    path = tmp_path / name
    with tarfile.open(path, mode) as archive:
        for member in members:
            if isinstance(member, tarfile.TarInfo):
                archive.addfile(member)
                continue
            info = tarfile.TarInfo(member[0])
            info.size = len(member[1])
            archive.addfile(info, io.BytesIO(member[1]))
    return path


def link(name, target, kind=tarfile.SYMTYPE):
    info = tarfile.TarInfo(name)
    info.type, info.linkname = kind, target
    return info


@pytest.mark.parametrize(("name", "mode"), [("a.tar", "w"), ("a.tar.gz", "w:gz"), ("a.tgz", "w:gz")])
def test_files_folders_and_links_are_there(tmp_path, name, mode):
    path = packed(
        tmp_path, ("./sys/a/speed", b"480\n"), link("sys/b", "a"), link("sys/c", "/sys/a/speed"), name=name, mode=mode
    )
    tree = open_archive(path, never)
    assert read_one(tree, "sys/a/speed") == b"480\n"
    assert read_one(tree, "sys/b/speed") == b"480\n"
    assert read_one(tree, "sys/c") == b"480\n"
    assert tree.names("sys") == {"a": "folder", "b": "link", "c": "link"}
    assert tree.link("sys/b") == "a"
    assert tree.is_folder("sys/a")
    assert not tree.is_folder("sys/b")
    assert read_one(tree, "sys/missing") is None
    assert read_one(tree, "sys/a") == "failed"


def test_names_that_climb_out_are_left_out(tmp_path):
    path = packed(tmp_path, ("../evil", b"x"), ("sys/../../evil", b"x"), ("/sys/fine", b"y"), link("sys/up", "../../x"))
    tree = open_archive(path, never)
    assert tree.names("") == {"sys": "folder"}
    assert read_one(tree, "sys/fine") == b"y"
    assert tree.resolve("sys/up") is None


def test_circles_pipes_and_nodes_are_no_files(tmp_path):
    pipe, node = tarfile.TarInfo("sys/pipe"), tarfile.TarInfo("sys/node")
    pipe.type, node.type = tarfile.FIFOTYPE, tarfile.CHRTYPE
    tree = open_archive(packed(tmp_path, pipe, node, link("sys/x", "y"), link("sys/y", "x")), never)
    assert [read_one(tree, f"sys/{name}") for name in ("pipe", "node", "x")] == ["failed"] * 3


def test_a_hard_link_is_the_file_it_links(tmp_path):
    path = packed(tmp_path, ("sys/a", b"1"), link("sys/b", "sys/a", tarfile.LNKTYPE))
    assert read_one(open_archive(path, never), "sys/b") == b"1"


def test_a_later_member_of_the_same_name_wins(tmp_path):
    path = packed(tmp_path, ("sys/a", b"old"), link("sys/a", "b"), ("sys/b", b"new"))
    assert read_one(open_archive(path, never), "sys/a") == b"new"


def test_a_long_file_is_told_as_too_large(tmp_path):
    tree = open_archive(packed(tmp_path, ("sys/a", b"x" * 5000), ("sys/b", bytes(2_000_000))), never)
    assert read_one(tree, "sys/a") == "too_large"
    assert read_one(tree, "sys/b", 10_000_000) == "too_large"


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"not a tar",
        b"\x1f\x8b",
        b"\x1f\x8b\x08" + bytes(50),
        bytes(100),
        gzip.compress(b"no tar inside" * 100, mtime=0),
    ],
)
def test_a_file_that_is_no_archive_is_one_clear_sentence(tmp_path, content):
    path = tmp_path / "odd.tar.gz"
    path.write_bytes(content)
    with pytest.raises(BadInputError) as caught:
        open_archive(path, never)
    assert str(path) in str(caught.value)
    assert "archive" in str(caught.value)
    assert "\n" not in str(caught.value)


def test_an_archive_that_unpacks_to_too_much_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(archive_module, "_MOST_BYTES", 100_000)
    path = packed(tmp_path, *((f"sys/{n}", bytes(10_000)) for n in range(20)))
    assert path.stat().st_size < 2000
    with pytest.raises(BadInputError, match="unpacks to more"):
        open_archive(path, never)


def test_an_archive_of_too_many_files_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(archive_module, "_MOST_MEMBERS", 10)
    with pytest.raises(BadInputError, match="more files"):
        open_archive(packed(tmp_path, *((f"sys/{n}", b"") for n in range(11))), never)


def test_a_header_that_promises_an_endless_name_is_refused(tmp_path):
    info = tarfile.TarInfo("x")
    info.type, info.size = tarfile.GNUTYPE_LONGNAME, 8 * 10**9
    path = tmp_path / "long.tar"
    path.write_bytes(info.tobuf(tarfile.GNU_FORMAT) + bytes(1024))
    with pytest.raises(BadInputError):
        open_archive(path, never)


def test_opening_can_be_stopped(tmp_path):
    def stop():
        raise CancelledError("Opening the capture")

    with pytest.raises(CancelledError):
        open_archive(packed(tmp_path, ("sys/a", b"")), stop)


@pytest.fixture(scope="module")
def good(tmp_path_factory):
    members = [(f"sys/devices/{n}/speed", b"480\n") for n in range(4)]
    return packed(tmp_path_factory.mktemp("good"), *members, link("sys/x", "devices"), mode="w").read_bytes()


@given(st.lists(st.tuples(st.integers(0, 6000), st.integers(0, 255)), min_size=1, max_size=20), st.integers(0, 10000))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=150)
def test_a_damaged_archive_is_read_or_refused_but_never_a_crash(good, tmp_path, changes, cut):
    data = bytearray(good)
    for at, value in changes:
        data[at % len(data)] = value
    path = tmp_path / "damaged.tar"
    path.write_bytes(data[:cut] if cut < len(data) else data)
    try:
        tree = open_archive(path, never)
    except BadInputError:
        return
    for name in tree.names("sys"):
        read_one(tree, f"sys/{name}")
