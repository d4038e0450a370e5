"""The set-up script: one clear line when something is in the way, nothing done twice, nothing of ours leaked."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

Scripts = dict[str, ModuleType]

# Closing lines of pip 23 to 26 for each trouble, hosts left out.
PIP_SAID = {
    "offline": "connection broken by 'NewConnectionError('<...>: Failed to establish a new connection: [Errno -3] "
    "Temporary failure in name resolution')': /simple/hatchling/\n"
    "ERROR: No matching distribution found for pyside6-essentials==6.12.0",
    "hash": "ERROR: THESE PACKAGES DO NOT MATCH THE HASHES FROM THE REQUIREMENTS FILE.",
    "disk": "ERROR: Could not install packages due to an OSError: [Errno 28] No space left on device",
    "no_qt": "ERROR: No matching distribution found for pyside6-essentials==6.12.0",
    "not_built": "ERROR: No matching distribution found for highspy==1.15.1",
    "other": "ERROR: Something nobody has seen yet",
}
# As `ldd` of glibc prints it.
LDD = """\
\tlinux-vdso.so.1 (0x00007ffd2a5f2000)
\tlibxcb-cursor.so.0 => not found
\tlibc.so.6 => /lib/x86_64-linux-gnu/libc.so.6 (0x00007f0b0a000000)
\tlibEGL.so.1 => not found
\tlibxcb-cursor.so.0 => not found
"""


@pytest.fixture
def small_checkout(scripts: Scripts, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> tuple[Path, list[str]]:
    """A checkout with lock files, and the list of what the scripts would have done to it."""
    done: list[str] = []
    environment = scripts["environment"]
    (tmp_path / "packaging").mkdir()
    for name in environment.LOCKS.values():
        (tmp_path / "packaging" / name).write_text(f"{name}\n", "utf-8")
    (tmp_path / "pyproject.toml").write_text("", "utf-8")

    def create(home: Any) -> None:
        done.append("create")
        home.stamp = {}
        home.note(checkout=str(home.checkout))

    monkeypatch.setattr(environment, "_create", create)
    monkeypatch.setattr(environment, "_is_sound", lambda home: home.read_stamp())
    monkeypatch.setattr(environment, "_install_libraries", lambda home, purpose: done.append(purpose))
    monkeypatch.setattr(environment, "_install_portmend", lambda home: done.append("portmend"))
    return tmp_path, done


def test_a_second_run_does_nothing(scripts: Scripts, small_checkout: tuple[Path, list[str]]) -> None:
    checkout, done = small_checkout
    scripts["environment"].make_ready(checkout, "run")
    assert done == ["create", "run", "portmend"]
    scripts["environment"].make_ready(checkout, "run")
    assert done == ["create", "run", "portmend"]


def test_what_was_made_for_tests_is_enough_to_run(scripts: Scripts, small_checkout: tuple[Path, list[str]]) -> None:
    checkout, done = small_checkout
    scripts["environment"].make_ready(checkout, "test")
    scripts["environment"].make_ready(checkout, "run")
    assert done == ["create", "test", "portmend"]


def test_a_new_lock_is_installed_and_a_new_pyproject_too(
    scripts: Scripts, small_checkout: tuple[Path, list[str]]
) -> None:
    checkout, done = small_checkout
    scripts["environment"].make_ready(checkout, "run")
    (checkout / "packaging" / "requirements.lock").write_text("changed\n", "utf-8")
    scripts["environment"].make_ready(checkout, "run")
    (checkout / "pyproject.toml").write_text("# changed\n", "utf-8")
    scripts["environment"].make_ready(checkout, "run")
    assert done == ["create", "run", "portmend", "run", "portmend"]


def test_an_environment_that_someone_else_made_is_left_alone(scripts: Scripts, tmp_path: Path) -> None:
    (tmp_path / ".venv").mkdir()
    precious = tmp_path / ".venv" / "precious"
    precious.write_text("mine", "utf-8")
    with pytest.raises(scripts["trouble"].PrepareError, match="was not made by this script"):
        scripts["environment"].make_ready(tmp_path, "run")
    scripts["environment"].remove(tmp_path)
    assert precious.exists()


@pytest.mark.parametrize("stamp", ["", "not json", "[]", '{"checkout": "/somewhere/else"}'])
def test_a_stamp_that_is_garbled_or_of_another_place_vouches_for_nothing(
    scripts: Scripts, tmp_path: Path, stamp: str
) -> None:
    environment = scripts["environment"]
    (tmp_path / ".venv").mkdir()
    (tmp_path / ".venv" / environment.STAMP).write_text(stamp, "utf-8")
    assert not environment._is_sound(environment.Home(tmp_path))


@pytest.mark.parametrize(("reason", "said"), PIP_SAID.items())
def test_a_failed_fetch_is_explained(scripts: Scripts, reason: str, said: str) -> None:
    environment = scripts["environment"]
    assert environment.failure(f"Collecting things\n{said}\n") == reason
    assert "\n" not in environment.EXPLAINED[reason]


def test_without_qt_the_rest_of_the_lock_stays_whole(scripts: Scripts, checkout: Path) -> None:
    lock = (checkout / "packaging" / "requirements.lock").read_text("utf-8")
    left = scripts["environment"].without_qt(lock)
    assert "pyside6" not in left
    assert "shiboken6" not in left
    removed = [line for line in lock.splitlines() if line not in left.splitlines()]
    assert sum("==" in line for line in removed) == 2
    assert left.splitlines() == [line for line in lock.splitlines() if line not in removed]


def test_missing_libraries_are_read_from_the_loaders_listing(scripts: Scripts) -> None:
    assert scripts["system"].not_found(LDD) == ["libEGL.so.1", "libxcb-cursor.so.0"]


@pytest.mark.parametrize(
    ("tool", "words"),
    [
        ("apt-get", "sudo apt-get install fonts-dejavu-core libegl1"),
        ("dnf", "sudo dnf install 'libEGL.so.1()(64bit)'"),
        ("zypper", "sudo zypper install 'libEGL.so.1()(64bit)'"),
        ("none of them", "a font, libEGL.so.1"),
    ],
)
def test_who_may_not_install_is_told_what_to_install(
    scripts: Scripts, monkeypatch: pytest.MonkeyPatch, tool: str, words: str
) -> None:
    system = scripts["system"]
    monkeypatch.setattr(system.shutil, "which", lambda name: name if name == tool else None)
    assert words in system.advice({"libEGL.so.1": "libegl1", "a font": "fonts-dejavu-core"})


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux lacks libraries of Qt's")
def test_nothing_is_installed_by_someone_who_is_not_root(scripts: Scripts, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(scripts["system"].os, "geteuid", lambda: 1000)
    monkeypatch.setattr(scripts["system"].subprocess, "run", lambda *_, **__: pytest.fail("something was started"))
    assert scripts["system"].apt_install(["libegl1"]) is False


def test_settings_that_would_let_other_packages_in_are_left_behind(
    scripts: Scripts, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PYTHONPATH", "elsewhere")
    monkeypatch.setenv("PIP_USER", "1")
    monkeypatch.setenv("LANG", "en_GB.UTF-8")
    variables = scripts["environment"].clean_variables()
    assert "PYTHONPATH" not in variables
    assert "PIP_USER" not in variables
    assert variables["LANG"] == "en_GB.UTF-8"


def test_with_a_window_the_window_is_the_main_job(scripts: Scripts) -> None:
    assert scripts["prepare"].main_job(has_window=True) == []


def test_without_a_window_the_terminal_is(scripts: Scripts, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys.stdin, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True, raising=False)
    assert scripts["prepare"].main_job(has_window=False) == ["ask"]


def test_with_nobody_to_answer_a_demo_is_shown(
    scripts: Scripts, checkout: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys.stdin, "isatty", lambda: False, raising=False)
    word, name = scripts["prepare"].main_job(has_window=False)
    assert word == "demo"
    assert (checkout / "resources" / "demo" / name).is_dir()


@pytest.mark.parametrize("arguments", [[], ["fly"], ["test", "more"]])
def test_a_wrong_call_shows_how_it_is_called(checkout: Path, arguments: list[str]) -> None:
    command = [sys.executable, str(checkout / "packaging" / "prepare.py"), *arguments]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert done.stderr.startswith("usage: ")
    assert len(done.stderr.splitlines()) == 1


def test_an_older_python_is_told_so_in_one_line(
    scripts: Scripts, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(scripts["prepare"].sys, "version_info", (3, 9, 2, "final", 0))
    assert scripts["prepare"].main(["run"]) == 2
    assert capsys.readouterr().err == "Portmend needs Python 3.11 or newer; this is 3.9.\n"
