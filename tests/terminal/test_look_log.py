"""`look` says whether a log could be read before it says that nothing is in it."""

from pathlib import Path
from typing import Any

import pytest

from wizard.bus.model import Device, Snapshot
from wizard.observe import live
from wizard.observe.seen import Seen


@pytest.mark.parametrize(
    ("log", "said"),
    [
        (b"", "The log is empty: nothing can be told from it."),
        (b"\x00\xff\x9c\n" * 9, "No line of it looks like a line of a system log: nothing can be told from it."),
        (b"[ 1.0] audit: fine\n", "The log was read, 1 line: nothing in it reports trouble with USB."),
    ],
)
def test_a_log_without_signs_is_called_clean_only_if_it_was_understood(
    call: Any, tmp_path: Path, log: bytes, said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "log").write_bytes(log)
    monkeypatch.setattr(live, "look", lambda *_: Seen(Snapshot(devices=(Device(id="1-1"),))))
    _, screen = call("look", "--log", tmp_path / "log")
    assert said in " ".join(screen.text.split())
    _, screen = call("look", "--log", tmp_path / "log", "--json")
    assert any("nothing can be told" in note for note in screen.document["notes"]) is not log.startswith(b"[")
