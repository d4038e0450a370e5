"""Lines of a running log become events; drives count only if they hang on USB."""

import os
import stat
from pathlib import Path

import pytest

from wizard.observe import watch_kernel
from wizard.observe.watch_kernel import Journal, KernelRing, line_of, open_log
from wizard.observe.watch_log import LogLines


def test_a_line_gives_kind_place_address_and_stamp() -> None:
    news = LogLines().read(b"[   12.345678] usb 1-1.2: new high-speed USB device number 5 using xhci_hcd")
    assert news is not None
    assert (news.kind, news.where, news.address, news.at) == ("connect", "1-1.2", 5, "12.345678")


def test_other_lines_say_nothing() -> None:
    lines = LogLines()
    assert lines.read(b"[1.0] eth0: link up") is None
    assert lines.read(b"") is None
    assert lines.read(b"\xff\x00" * 9000) is None


def test_a_drives_complaint_counts_if_an_earlier_line_brought_it_in_by_usb() -> None:
    complaint = b"[ 99.0] sd 2:0:0:0: [sdb] Synchronize Cache(10) failed: Result: hostbyte=DID_NO_CONNECT driverbyte=OK"
    assert LogLines().read(complaint) is None
    lines = LogLines()
    lines.learn(b"[ 10.0] scsi host2: usb-storage 1-1:1.0")
    news = lines.read(complaint)
    assert news is not None
    assert news.kind == "storage_io_error"


def test_memory_stays_flat_over_any_number_of_lines() -> None:
    lines = LogLines()
    for number in range(5000):
        lines.learn(b"[ 10.0] scsi host%d: usb-storage 1-1:1.0" % number)
    assert len(lines._context) == 64


def test_a_record_of_the_kernel_becomes_a_line_and_that_of_a_program_does_not() -> None:
    """Documentation/ABI/testing/dev-kmsg: `level,number,microseconds,flags;text`, then lines of tags."""
    record = b"6,339,5140900,-;usb 1-1: USB disconnect, device number 5\n SUBSYSTEM=usb\n DEVICE=c189:4\n"
    assert line_of(record) == b"[    5.140900] usb 1-1: USB disconnect, device number 5"
    assert line_of(b"14,339,5140900,-;usb 1-1: USB disconnect, device number 5\n") is None
    assert line_of(b"junk") is None


@pytest.fixture
def pipe(tmp_path: Path) -> Path:
    path = tmp_path / "kmsg"
    os.mkfifo(path)
    return path


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes with names are Unix's")
def test_the_ring_is_read_without_waiting_and_ends_when_it_is_closed(pipe: Path) -> None:
    ring = KernelRing(pipe)
    writer = os.open(pipe, os.O_WRONLY)
    assert list(ring.waiting()) == []
    os.write(writer, b"6,1,1000000,-;usb 1-1: one\n")
    assert list(ring.waiting()) == [b"[    1.000000] usb 1-1: one"]
    assert not ring.ended
    os.close(writer)
    assert list(ring.waiting()) == []
    assert ring.ended
    assert not ring.lost()
    ring.close()


def a_program(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, script: str) -> None:
    program = tmp_path / "journalctl"
    program.write_text(f"#!/bin/sh\n{script}\n")
    program.chmod(program.stat().st_mode | stat.S_IXUSR)
    monkeypatch.setenv("PATH", str(tmp_path), prepend=os.pathsep)


@pytest.mark.skipif(os.name != "posix", reason="the journal is Linux's")
def test_the_journal_stands_in_where_it_shows_the_kernels_lines(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    script = 'case "$*" in *--follow*) echo "[ 2.0] new"; exec sleep 60;; *) echo "[ 1.0] old";; esac'
    a_program(tmp_path, monkeypatch, script)
    journal = Journal()
    try:
        assert list(journal.earlier()) == [b"[ 1.0] old"]
        lines: list[bytes] = []
        for _ in range(200):
            lines += journal.waiting()
            if lines:
                break
            os.sched_yield()
            __import__("time").sleep(0.02)
        assert lines == [b"[ 2.0] new"]
    finally:
        journal.close()


@pytest.mark.skipif(os.name != "posix", reason="the journal is Linux's")
def test_without_rights_to_either_the_reason_names_the_narrow_way(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    a_program(tmp_path, monkeypatch, "exit 0")

    def refuse(_path: object = None) -> None:
        raise PermissionError

    monkeypatch.setattr(watch_kernel, "KernelRing", refuse)
    reason = open_log()
    assert isinstance(reason, str)
    assert "sudo sysctl kernel.dmesg_restrict=0" in reason
    assert "root" not in reason
