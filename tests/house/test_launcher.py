"""The launcher in each system's form, as that system's own rules read it back."""

from __future__ import annotations

import configparser
import os
import plistlib
import shutil
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest

Scripts = dict[str, ModuleType]
linux_only = pytest.mark.skipif(sys.platform != "linux", reason="the launcher's form is Linux's")


def entry_of(text: str) -> dict[str, str]:
    """The keys of a desktop entry, case kept, nothing interpolated."""
    parser = configparser.RawConfigParser(delimiters="=", strict=True)
    parser.optionxform = str
    parser.read_string(text)
    return dict(parser["Desktop Entry"])


def unescaped(value: str) -> str:
    """A string value as a desktop reads it (Desktop Entry Specification 1.5, chapter 4)."""
    return value.replace("\\\\", "\0").replace("\\n", "\n").replace("\0", "\\")


def argument(value: str) -> str:
    """The one quoted argument of Exec as a desktop reads it (the same, chapter 7)."""
    inner = unescaped(value)
    assert inner[0] == inner[-1] == '"'
    inner = inner[1:-1].replace("\\\\", "\0")
    for special in ('"', "`", "$"):
        inner = inner.replace("\\" + special, special)
    return inner.replace("\0", "\\").replace("%%", "%")


@pytest.mark.parametrize("folder", ["/opt/portmend", "/opt/my tools", '/opt/100% "odd" $HOME `x`', "/opt/back\\slash"])
def test_a_linux_launcher_opens_the_program_whatever_its_folder_is_called(scripts: Scripts, folder: str) -> None:
    program, icon = Path(folder) / "portmend-window", Path(folder) / "portmend.svg"
    entry = entry_of(scripts["launcher"].desktop_entry(program, icon))
    assert argument(entry["Exec"]) == str(program)
    assert unescaped(entry["TryExec"]) == str(program)
    assert unescaped(entry["Icon"]) == str(icon)
    assert entry["Terminal"] == "false"


@pytest.mark.skipif(shutil.which("desktop-file-validate") is None, reason="needs desktop-file-validate")
def test_a_linux_launcher_pleases_the_standards_own_checker(scripts: Scripts, tmp_path: Path) -> None:
    path = tmp_path / "portmend.desktop"
    path.write_text(scripts["launcher"].desktop_entry(Path("/opt/p/portmend-window"), Path("/opt/p/i.svg")), "utf-8")
    done = subprocess.run(["desktop-file-validate", str(path)], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (0, "")


def test_a_mac_launcher_is_a_bundle_that_names_its_program(scripts: Scripts) -> None:
    files = scripts["launcher"].bundle_files(Path("/Users/pat/it's here/portmend-window"))
    facts = plistlib.loads(files["Contents/Info.plist"])
    script = files[f"Contents/MacOS/{facts['CFBundleExecutable']}"].decode()
    assert script.splitlines()[0] == "#!/bin/sh"
    # What a shell makes of it, without running it: print in place of exec.
    shown = subprocess.run(
        ["sh", "-c", script.replace("exec", "printf %s")], capture_output=True, text=True, check=True
    )
    assert shown.stdout == "/Users/pat/it's here/portmend-window"


@linux_only
def test_writing_twice_leaves_one_launcher_and_says_so_once(
    scripts: Scripts, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    home = scripts["environment"].Home(tmp_path)
    launcher = scripts["launcher"]
    launcher.write(home)
    assert "among your programs" in capsys.readouterr().out
    launcher.write(home)
    assert capsys.readouterr().out == ""
    assert launcher.place().is_relative_to(os.environ["XDG_DATA_HOME"])
    assert os.access(launcher.place(), os.X_OK)


@linux_only
def test_removing_takes_only_the_launcher_of_this_checkout(scripts: Scripts, tmp_path: Path) -> None:
    launcher = scripts["launcher"]
    launcher.write(scripts["environment"].Home(tmp_path / "mine"))
    launcher.remove(tmp_path / "another")
    assert launcher.place().exists()
    launcher.remove(tmp_path / "mine")
    assert not launcher.place().exists()


@linux_only
def test_a_launcher_that_cannot_be_written_is_told_and_stops_nothing(
    scripts: Scripts, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    blocked = tmp_path / "a-file"
    blocked.write_text("in the way", "utf-8")
    monkeypatch.setenv("XDG_DATA_HOME", str(blocked))
    scripts["launcher"].write(scripts["environment"].Home(tmp_path))
    assert "could not be written" in capsys.readouterr().out
