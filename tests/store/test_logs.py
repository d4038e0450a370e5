"""Logs are read as bytes, bounded, from a file or from standard input."""

import io
import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from wizard.bus.errors import BadInputError
from wizard.store import logs


class _Stdin(io.TextIOWrapper):
    def __init__(self, data: bytes, terminal: bool = False) -> None:
        super().__init__(io.BytesIO(data))
        self.terminal = terminal

    def isatty(self) -> bool:
        return self.terminal


def test_any_bytes_come_back_as_they_are(tmp_path: Path) -> None:
    data = bytes(range(256)) * 1000
    (tmp_path / "log").write_bytes(data)
    assert logs.read_log(tmp_path / "log") == data


def test_an_empty_log_is_a_log(tmp_path: Path) -> None:
    (tmp_path / "log").touch()
    assert logs.read_log(str(tmp_path / "log")) == b""


def test_standard_input_is_read(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", _Stdin(b"usb 1-4: \xff\n"))
    assert logs.read_log("-") == b"usb 1-4: \xff\n"


def test_a_terminal_is_not_waited_for(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", _Stdin(b"", terminal=True))
    with pytest.raises(BadInputError, match="nothing comes in"):
        logs.read_log("-")


def test_of_a_longer_log_the_end_is_kept_from_the_start_of_a_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(logs, "MAX_BYTES", 1_000_000)
    lines = [b"line %d\n" % n for n in range(300_000)]
    (tmp_path / "log").write_bytes(b"".join(lines))
    said: list[str] = []
    kept = logs.read_log(tmp_path / "log", said.append)
    assert 999_000 <= len(kept) <= 1_000_000
    assert kept.splitlines(keepends=True) == lines[-kept.count(b"\n") :]
    assert len(said) == 1
    assert "the case keeps only its last 1 MB" in said[0]


def test_of_a_longer_log_the_whole_is_streamed_in_small_pieces(tmp_path: Path) -> None:
    lines = [b"line %d\n" % n for n in range(500_000)]
    (tmp_path / "log").write_bytes(b"".join(lines))
    with logs.open_log(tmp_path / "log") as chunks:
        pieces = list(chunks)
    assert b"".join(pieces) == b"".join(lines)
    assert max(map(len, pieces)) <= 1 << 20


def test_a_stream_that_breaks_off_is_one_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "log").write_bytes(b"usb 1-4: reset")

    def broken(_file: object) -> Iterator[bytes]:
        yield b"usb"
        raise OSError(5, os.strerror(5))

    monkeypatch.setattr(logs, "_chunks", broken)
    with pytest.raises(BadInputError, match="can't be read"), logs.open_log(tmp_path / "log") as chunks:
        list(chunks)


def test_a_log_that_fits_exactly_is_kept_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(logs, "MAX_BYTES", 200_000)
    data = b"x" * 200_000
    (tmp_path / "log").write_bytes(data)
    said: list[str] = []
    assert logs.read_log(tmp_path / "log", said.append) == data
    assert said == []


@pytest.mark.parametrize(
    ("name", "said"),
    [(".", "it is a folder"), ("none", "no such file"), ("a\0b", "can't be read"), ("x" * 5000, "can't be read")],
)
def test_what_is_no_log_is_one_sentence(tmp_path: Path, name: str, said: str) -> None:
    with pytest.raises(BadInputError, match=said) as caught:
        logs.read_log(tmp_path / name)
    assert "\n" not in str(caught.value)


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no such device here")
def test_an_endless_device_is_refused() -> None:
    with pytest.raises(BadInputError, match="it is a device"):
        logs.read_log("/dev/zero")


def test_no_permission_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "log").touch()

    def refuse(*_args: object, **_more: object) -> None:
        raise PermissionError(13, os.strerror(13))

    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(BadInputError, match="you may not read it"):
        logs.read_log(tmp_path / "log")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_before_a_pipe_is_waited_for_it_is_said(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    keep = os.open(pipe, os.O_RDWR)  # so that opening it does not wait here
    said: list[str] = []
    with logs.open_log(pipe, said.append):
        assert said == [f"Reading from the pipe {pipe} until it is closed; Ctrl-C ends it."]
    os.close(keep)
