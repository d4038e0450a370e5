"""The launcher: what a person clicks to open Portmend, in each system's own form.

Knows where each system keeps a person's own launchers and what they look like. Does not know how Portmend
was installed beyond the path of its windowed program. Only the Linux form has been run so far.
"""

from __future__ import annotations

import os
import plistlib
import shutil
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from trouble import say

if TYPE_CHECKING:
    from environment import Home

NAME = "Portmend"
COMMENT = "Find out why USB gear misbehaves, and what to do about it"
PROGRAM = "portmend-window"

# PowerShell, since a Windows shortcut is a binary file that only the system writes; the paths come in
# through variables, so that no character in them can be taken for a command.
SHORTCUT = (
    "$s = (New-Object -ComObject WScript.Shell).CreateShortcut($env:PORTMEND_LINK);"
    "$s.TargetPath = $env:PORTMEND_TARGET; $s.WorkingDirectory = $env:USERPROFILE;"
    "$s.Description = $env:PORTMEND_COMMENT; $s.Save()"
)


def place() -> Path:
    """Where this system keeps a person's own launcher for Portmend: a file, on macOS a folder."""
    if sys.platform == "win32":
        roaming = os.environ.get("APPDATA") or str(Path.home() / "AppData" / "Roaming")
        return Path(roaming) / "Microsoft/Windows/Start Menu/Programs" / f"{NAME}.lnk"
    if sys.platform == "darwin":
        return Path.home() / "Applications" / f"{NAME}.app"
    data = os.environ.get("XDG_DATA_HOME") or str(Path.home() / ".local" / "share")
    return Path(data) / "applications" / "portmend.desktop"


def write(home: Home) -> None:
    """Write or renew the launcher; says where it is when it is new. Trouble here is told, not fatal."""
    target, program = place(), home.script(PROGRAM)
    was_there = target.exists()
    try:
        if sys.platform == "win32":
            _write_shortcut(target, program)
        elif sys.platform == "darwin":
            _write_bundle(target, program)
        else:
            icon = home.checkout / "resources" / "icons" / "portmend.svg"
            _write_text(target, desktop_entry(program, icon))
    except (OSError, subprocess.SubprocessError) as trouble:
        say(f"the launcher could not be written ({trouble}); open {program} instead")
        return
    if not was_there:
        say(f"{NAME} is now among your programs ({target})")


def remove(checkout: Path) -> None:
    """Take the launcher away, if it is there and opens this checkout."""
    target = place()
    if not target.exists() or str(checkout) not in _readable(target):
        return
    if target.is_dir():
        shutil.rmtree(target)
    else:
        target.unlink()
    say(f"removed {target}")


def desktop_entry(program: Path, icon: Path) -> str:
    """A Linux launcher (Desktop Entry Specification, freedesktop.org)."""
    lines = [
        "[Desktop Entry]",
        "Type=Application",
        "Version=1.0",
        f"Name={NAME}",
        f"Comment={COMMENT}",
        f"Exec={quoted(program)}",
        f"TryExec={escaped(str(program))}",
        f"Icon={escaped(str(icon))}",
        "Terminal=false",
        "Categories=System;",
        "Keywords=USB;hub;port;troubleshooting;",
    ]
    return "\n".join(lines) + "\n"


def quoted(program: Path) -> str:
    """A path as an argument of Exec: quoted, and escaped twice over, as that specification's chapter 7 asks."""
    inner = str(program).replace("\\", "\\\\")
    for special in ('"', "`", "$"):
        inner = inner.replace(special, "\\" + special)
    return escaped('"' + inner.replace("%", "%%") + '"')


def escaped(value: str) -> str:
    """A string value of a desktop entry: the backslash is its escape character."""
    return value.replace("\\", "\\\\").replace("\n", "\\n")


def bundle_files(program: Path) -> dict[str, bytes]:
    """A macOS application: path inside the bundle -> content."""
    facts = {
        "CFBundleName": NAME,
        "CFBundleIdentifier": "portmend.launcher",
        "CFBundleExecutable": "open-portmend",
        "CFBundlePackageType": "APPL",
        "CFBundleVersion": "1",
        "NSHighResolutionCapable": True,
    }
    path = str(program).replace("'", "'\\''")
    return {
        "Contents/Info.plist": plistlib.dumps(facts),
        "Contents/MacOS/open-portmend": f"#!/bin/sh\nexec '{path}'\n".encode(),
    }


def _write_text(target: Path, text: str) -> None:
    target.parent.mkdir(parents=True, exist_ok=True)
    if not target.exists() or target.read_text("utf-8") != text:
        target.write_text(text, "utf-8")
    # Some file managers start a launcher by double-click only if it is marked as a program.
    target.chmod(0o755)


def _write_bundle(target: Path, program: Path) -> None:
    for inside, content in bundle_files(program).items():
        path = target / inside
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    (target / "Contents/MacOS/open-portmend").chmod(0o755)


def _write_shortcut(target: Path, program: Path) -> None:
    target.parent.mkdir(parents=True, exist_ok=True)
    values = {"PORTMEND_LINK": str(target), "PORTMEND_TARGET": str(program), "PORTMEND_COMMENT": COMMENT}
    command = ["powershell", "-NoProfile", "-NonInteractive", "-Command", SHORTCUT]
    subprocess.run(command, env={**os.environ, **values}, check=True, capture_output=True)


def _readable(target: Path) -> str:
    """Whatever of a launcher can be read as text, to see which checkout it opens.

    A Windows shortcut holds its path in UTF-16 as well as in the local code page.
    """
    files = [path for path in target.rglob("*") if path.is_file()] if target.is_dir() else [target]
    raw = b"".join(path.read_bytes() for path in files)
    return raw.decode("utf-8", "replace") + raw.decode("utf-16-le", "replace")
