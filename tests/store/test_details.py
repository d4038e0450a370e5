"""A fault of our own leaves a file that can be attached."""

from pathlib import Path

import platformdirs
import pytest

from wizard.store.details import write_details


def a_fault() -> Exception:
    try:
        raise KeyError("missing \ud800 word")
    except KeyError as fault:
        return fault


def test_the_file_holds_the_trace_and_the_versions(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(platformdirs, "user_log_path", lambda *_a, **_k: tmp_path / "log")
    path = write_details(a_fault())
    assert path.parent == tmp_path / "log"
    text = path.read_text(encoding="utf-8")
    assert "Portmend 0." in text
    assert "KeyError" in text
    assert "in a_fault" in text


def test_without_a_log_folder_it_goes_to_the_temporary_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").touch()
    monkeypatch.setattr(platformdirs, "user_log_path", lambda *_a, **_k: tmp_path / "file" / "log")
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    assert write_details(a_fault()).parent == tmp_path
