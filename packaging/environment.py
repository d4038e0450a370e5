"""The private environment `.venv`: made from a lock file with hashes, and left alone while it is right.

Knows venv, pip and the stamp that says what is installed. Does not know Qt's system libraries, and never
touches the Python it was started with. A second call with nothing changed takes a few milliseconds.
"""

from __future__ import annotations

import hashlib
import importlib.util
import json
import os
import shutil
import subprocess
import sys
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import system
from trouble import PrepareError, say

LOCKS = {"run": "requirements.lock", "test": "requirements-dev.lock"}
STAMP = "portmend.json"
QT = ("pyside6-essentials", "shiboken6")


@dataclass
class Home:
    """One checkout with its environment; `stamp` is what is known to be installed there."""

    checkout: Path
    stamp: dict[str, Any] = field(default_factory=dict)

    @property
    def root(self) -> Path:
        """The environment's folder."""
        return self.checkout / ".venv"

    @property
    def log(self) -> Path:
        """Where pip and apt leave their details."""
        return self.root / "prepare.log"

    @property
    def has_qt(self) -> bool:
        """False on the few systems that Qt's makers build nothing for; the terminal works there."""
        return not self.stamp.get("no_qt", False)

    def script(self, name: str) -> Path:
        """The installed program NAME (`python`, `portmend`, …)."""
        return self.root / "Scripts" / f"{name}.exe" if os.name == "nt" else self.root / "bin" / name

    def read_stamp(self) -> bool:
        """Fill `stamp` from disk; False if there is none that can be read."""
        try:
            found = json.loads((self.root / STAMP).read_text("utf-8"))
        except (OSError, ValueError):
            return False
        self.stamp = found if isinstance(found, dict) else {}
        return bool(self.stamp)

    def note(self, **facts: Any) -> None:
        """Add to the stamp and save it; called only after the thing noted is done."""
        self.stamp.update(facts)
        self.root.mkdir(exist_ok=True)
        (self.root / STAMP).write_text(json.dumps(self.stamp, indent=1), "utf-8")


def clean_variables() -> dict[str, str]:
    """Our own variables without those that would let another Python's packages or settings leak in."""
    leaks = {"PYTHONPATH", "PYTHONHOME", "PIP_TARGET", "PIP_PREFIX", "PIP_USER", "VIRTUAL_ENV"}
    return {name: value for name, value in os.environ.items() if name not in leaks}


def fingerprint(path: Path) -> str:
    """SHA-256 of a file, in hex."""
    return hashlib.sha256(path.read_bytes()).hexdigest()


def make_ready(checkout: Path, purpose: str) -> Home:
    """The environment for PURPOSE ("run" or "test"), made or brought up to date if need be."""
    home = Home(checkout)
    if not _is_sound(home):
        _create(home)
    wanted = {name: fingerprint(checkout / "packaging" / LOCKS[name]) for name in LOCKS}
    if home.stamp.get(purpose) != wanted[purpose]:
        _install_libraries(home, purpose)
        # The lock for tests holds everything that the one for running holds.
        home.note(**(wanted if purpose == "test" else {"run": wanted["run"]}))
    project = fingerprint(checkout / "pyproject.toml")
    if home.stamp.get("project") != project:
        _install_portmend(home)
        home.note(project=project)
    return home


def remove(checkout: Path) -> None:
    """Delete the environment, if it is one of ours."""
    home = Home(checkout)
    if home.read_stamp():
        shutil.rmtree(home.root)
        say(f"removed {home.root}")


def _is_sound(home: Home) -> bool:
    """Whether the environment is ours, stands where it was made, and its Python still runs."""
    if not home.read_stamp() or home.stamp.get("checkout") != str(home.checkout):
        return False
    probe = [str(home.script("python")), "-I", "-c", "import pip, sys; print(*sys.version_info[:2])"]
    try:
        answer = subprocess.run(probe, capture_output=True, text=True, check=False)
    except OSError:
        return False
    return answer.returncode == 0 and answer.stdout.split() == home.stamp.get("python")


def _create(home: Home) -> None:
    if home.root.exists() and not home.stamp:
        raise PrepareError(f"{home.root} was not made by this script; move it away, then run this again")
    if importlib.util.find_spec("ensurepip") is None:
        _get_venv()
    say(f"making its own environment in {home.root}")
    if home.root.exists():
        shutil.rmtree(home.root)
    home.stamp = {}
    home.note(checkout=str(home.checkout))
    # Started from inside an environment, the Python below it is the one to build on.
    python = getattr(sys, "_base_executable", None) or sys.executable
    made = subprocess.run([python, "-I", "-m", "venv", str(home.root)], capture_output=True, text=True, check=False)
    if made.returncode != 0:
        home.log.write_text(made.stdout + made.stderr, "utf-8")
        raise PrepareError(f"Python could not make an environment; the details are in {home.log}")
    home.note(python=[str(part) for part in sys.version_info[:2]])


def _get_venv() -> None:
    """Debian and its kin ship Python without the part that makes environments."""
    package = f"python{sys.version_info[0]}.{sys.version_info[1]}-venv"
    if not system.apt_install([package]):
        raise PrepareError(
            f"this Python can't make environments; install that part (sudo apt-get install {package}; "
            "elsewhere the package that holds Python's 'ensurepip'), then run this again"
        )


def _install_libraries(home: Home, purpose: str) -> None:
    lock = home.checkout / "packaging" / LOCKS[purpose]
    say("fetching the libraries it needs (once; about 120 MB)")
    reason = _pip(home, _locked(lock))
    if reason == "no_qt" and purpose == "run":
        say("Qt's makers build nothing for this system, so there will be no window; the terminal works")
        home.note(no_qt=True)
        without = home.root / "requirements-without-qt.lock"
        without.write_text(without_qt(lock.read_text("utf-8")), "utf-8")
        reason = _pip(home, _locked(without))
    if reason:
        raise PrepareError(EXPLAINED.get(reason, EXPLAINED["other"]).format(log=home.log))


def _install_portmend(home: Home) -> None:
    # The builder (hatchling) is in the lock: nothing unlocked is fetched here, hence --no-index.
    if _pip(home, ["--no-index", "--no-build-isolation", "--no-deps", "--editable", str(home.checkout)]):
        raise PrepareError(f"Portmend itself could not be installed; the details are in {home.log}")


def _locked(lock: Path) -> list[str]:
    return ["--require-hashes", "--only-binary", ":all:", "--no-deps", "--requirement", str(lock)]


def without_qt(lock: str) -> str:
    """LOCK's text less Qt's entries (an entry is its first line and the indented ones below it)."""
    kept: list[str] = []
    dropping = False
    for line in lock.splitlines():
        if not line.startswith((" ", "\t")):
            dropping = line.split("==")[0].strip().lower() in QT
        if not dropping:
            kept.append(line)
    return "\n".join(kept) + "\n"


EXPLAINED = {
    "offline": "the package index does not answer; check the network and pip's proxy settings, then run this "
    "again (details: {log})",
    "hash": "a fetched file is not the one the lock file names, so nothing was installed (details: {log})",
    "disk": "the disk is full; make room (about 600 MB), then run this again",
    "no_qt": "Qt's makers build nothing for this system, and the tests need it (details: {log})",
    "not_built": "one of the libraries is not built for this system or this Python (details: {log})",
    "other": "the libraries could not be installed; the details are in {log}",
}


def failure(log: str) -> str:
    """Which key of EXPLAINED a failed pip's log stands for."""
    signs = {
        "hash": ("DO NOT MATCH THE HASHES",),
        "disk": ("No space left on device", "not enough space on the disk"),
        "offline": ("NewConnectionError", "NameResolutionError", "ConnectTimeoutError", "ProxyError", "SSLError"),
        "no_qt": tuple(f"No matching distribution found for {name}" for name in QT),
        "not_built": ("No matching distribution found for",),
    }
    lowered = log.lower()
    for reason, texts in signs.items():
        if any(text.lower() in lowered for text in texts):
            return reason
    return "other"


def _pip(home: Home, arguments: list[str]) -> str | None:
    """Run pip in the environment; None if it worked, else a key of EXPLAINED."""
    home.log.unlink(missing_ok=True)
    command = [str(home.script("python")), "-I", "-m", "pip", "install", "--disable-pip-version-check"]
    command += ["--no-input", "--retries", "2", "--log", str(home.log)]
    # On a terminal pip shows its progress; in a file that would only be noise.
    command += [] if sys.stdout.isatty() else ["--quiet", "--progress-bar", "off"]
    done = subprocess.run([*command, *arguments], env=clean_variables(), stderr=subprocess.PIPE, text=True, check=False)
    if done.returncode == 0:
        return None
    logged = home.log.read_text("utf-8", "replace") if home.log.exists() else ""
    home.log.write_text(logged + done.stderr, "utf-8")
    return failure(logged + done.stderr)
