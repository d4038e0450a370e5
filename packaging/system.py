"""What the operating system must bring: Qt's libraries, a font, the programs that some tests use.

Knows how to see what is missing, which Debian package holds it, and how to ask apt for it where that is
allowed. Does not know the environment beyond asking it for its Python, and installs nothing without being
root. Where it may not install, it says the exact command.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from trouble import PrepareError, say

if TYPE_CHECKING:
    from environment import Home

# Debian's and Ubuntu's package of each library that Qt's widgets and its X11 and Wayland plugins link to
# (as `ldd` names them; packages by Debian 12's own index).
PACKAGES = {
    "libEGL.so.1": "libegl1",
    "libGL.so.1": "libgl1",
    "libGLX.so.0": "libglx0",
    "libOpenGL.so.0": "libopengl0",
    "libX11-xcb.so.1": "libx11-xcb1",
    "libX11.so.6": "libx11-6",
    "libbrotlidec.so.1": "libbrotli1",
    "libdbus-1.so.3": "libdbus-1-3",
    "libfontconfig.so.1": "libfontconfig1",
    "libfreetype.so.6": "libfreetype6",
    "libglib-2.0.so.0": "libglib2.0-0",
    "libgobject-2.0.so.0": "libglib2.0-0",
    "libgthread-2.0.so.0": "libglib2.0-0",
    "libwayland-client.so.0": "libwayland-client0",
    "libwayland-cursor.so.0": "libwayland-cursor0",
    "libwayland-egl.so.1": "libwayland-egl1",
    "libxcb-cursor.so.0": "libxcb-cursor0",
    "libxcb-glx.so.0": "libxcb-glx0",
    "libxcb-icccm.so.4": "libxcb-icccm4",
    "libxcb-image.so.0": "libxcb-image0",
    "libxcb-keysyms.so.1": "libxcb-keysyms1",
    "libxcb-randr.so.0": "libxcb-randr0",
    "libxcb-render-util.so.0": "libxcb-render-util0",
    "libxcb-render.so.0": "libxcb-render0",
    "libxcb-shape.so.0": "libxcb-shape0",
    "libxcb-shm.so.0": "libxcb-shm0",
    "libxcb-sync.so.1": "libxcb-sync1",
    "libxcb-util.so.1": "libxcb-util1",
    "libxcb-xfixes.so.0": "libxcb-xfixes0",
    "libxcb-xkb.so.1": "libxcb-xkb1",
    "libxcb.so.1": "libxcb1",
    "libxkbcommon-x11.so.0": "libxkbcommon-x11-0",
    "libxkbcommon.so.0": "libxkbcommon0",
    "libz.so.1": "zlib1g",
}
FONT_PACKAGE = "fonts-dejavu-core"
FONT_PLACES = ("/usr/share/fonts", "/usr/local/share/fonts", "~/.local/share/fonts", "~/.fonts")
# Programs that some tests use, and Debian's package of each.
TEST_TOOLS = {
    "umockdev-run": "umockdev",
    "desktop-file-validate": "desktop-file-utils",
    "qemu-system-x86_64": "qemu-system-x86",
}

PLUGIN_FOLDER = "import PySide6, pathlib; print(pathlib.Path(PySide6.__file__).parent)"
OPEN_AND_CLOSE = "from PySide6.QtWidgets import QApplication; QApplication([])"


def may_install() -> bool:
    """Whether apt is here and we are root."""
    return sys.platform == "linux" and os.geteuid() == 0 and shutil.which("apt-get") is not None


def apt_install(packages: list[str]) -> bool:
    """Install Debian packages; False if that isn't ours to do, PrepareError if apt itself fails."""
    if not may_install():
        return False
    say(f"installing what the system lacks: {' '.join(packages)}")
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    for command in (["update"], ["install", "--yes", "--no-install-recommends", *packages]):
        done = subprocess.run(
            ["apt-get", "-qq", *command],
            env=quiet,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            check=False,
        )
        if done.returncode != 0:
            last = (done.stderr.strip().splitlines() or ["it gave no reason"])[-1]
            raise PrepareError(f"apt-get {command[0]} failed: {last}")
    return True


def has_display() -> bool:
    """Whether there is a screen to open a window on, as far as one can tell beforehand."""
    if sys.platform != "linux":
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def window_works(home: Home) -> bool:
    """Whether Qt starts here; installs what it lacks if allowed, else says what to install."""
    screen = "screen" if has_display() else "offscreen"
    if home.stamp.get("window") == [screen, home.stamp.get("run")]:
        return True
    missing = missing_packages(home)
    if missing and apt_install(sorted(set(missing.values()))):
        missing = missing_packages(home)
    if missing:
        if has_display():
            say(f"the window needs {advice(missing)}")
        return False
    complaint = _start_qt(home, None if has_display() else "offscreen")
    if complaint:
        say(f"Qt can't open a window here: {complaint}")
        return False
    home.note(window=[screen, home.stamp.get("run")])
    return True


def ready_for_tests(home: Home) -> None:
    """Qt off screen, and the programs that some tests use; without those the tests are skipped and say so."""
    locked = home.stamp.get("test")
    if home.stamp.get("tests_ready") == locked:
        return
    missing = missing_packages(home)
    if sys.platform == "linux":
        missing |= {tool: package for tool, package in TEST_TOOLS.items() if shutil.which(tool) is None}
    if not missing or apt_install(sorted(set(missing.values()))):
        missing = {}
    elif missing.keys() <= TEST_TOOLS.keys():
        say(f"some tests will be skipped; they need {advice(missing)}")
    else:
        say(f"the tests need {advice(missing)}")
    complaint = _start_qt(home, "offscreen")
    if complaint:
        raise PrepareError(f"Qt does not start, and the tests need it: {complaint}")
    if not missing:
        home.note(tests_ready=locked)


def advice(missing: dict[str, str]) -> str:
    """The exact words to mend MISSING (what is missing -> Debian's package for it) by hand."""
    if shutil.which("apt-get"):
        return f"some system packages: sudo apt-get install {' '.join(sorted(set(missing.values())))}"
    libraries = sorted(name for name in missing if ".so" in name)
    for tool in ("dnf", "zypper"):
        # Both resolve a library's own name, whatever the package is called.
        if shutil.which(tool) and libraries:
            named = " ".join(f"'{name}()(64bit)'" for name in libraries)
            return f"some system libraries: sudo {tool} install {named}"
    return f"the system packages that hold: {', '.join(sorted(missing))}"


def missing_packages(home: Home) -> dict[str, str]:
    """What Qt's window lacks here: library or 'a font' -> Debian's package for it. Only Linux can lack any."""
    if sys.platform != "linux":
        return {}
    python = str(home.script("python"))
    asked = subprocess.run([python, "-I", "-c", PLUGIN_FOLDER], capture_output=True, text=True, check=False)
    if asked.returncode != 0:
        raise PrepareError("Qt is not in the environment; remove .venv and run this again")
    folder = Path(asked.stdout.strip())
    parts = [folder / "QtWidgets.abi3.so", folder / "Qt/plugins/platforms/libqxcb.so"]
    if os.environ.get("WAYLAND_DISPLAY"):
        parts += sorted((folder / "Qt/plugins/platforms").glob("libqwayland*.so"))
    missing = {name: PACKAGES.get(name, name) for part in parts for name in unresolved(part)}
    if not has_font():
        missing["a font"] = FONT_PACKAGE
    return missing


def unresolved(library: Path) -> list[str]:
    """The names of the libraries that LIBRARY needs and the system's loader does not find."""
    listed = subprocess.run(["ldd", str(library)], capture_output=True, text=True, check=False)
    return not_found(listed.stdout)


def not_found(listing: str) -> list[str]:
    """The names in ldd's LISTING that it marks as not found, each once."""
    lines = (line.split("=>") for line in listing.splitlines() if "=> not found" in line)
    return sorted({name.strip() for name, *_ in lines})


def has_font() -> bool:
    """Whether there is any font to draw with; a bare system has none and shows empty boxes."""
    places = (Path(place).expanduser() for place in FONT_PLACES)
    return any(next(place.rglob("*.[to]tf"), None) for place in places if place.is_dir())


def _start_qt(home: Home, platform: str | None) -> str | None:
    """Open and close an application on PLATFORM (None: the real screen); the last complaint, or None."""
    variables = {**os.environ, **({"QT_QPA_PLATFORM": platform} if platform else {})}
    command = [str(home.script("python")), "-I", "-c", OPEN_AND_CLOSE]
    done = subprocess.run(command, env=variables, capture_output=True, text=True, check=False)
    if done.returncode == 0:
        return None
    return (done.stderr.strip().splitlines() or [f"exit code {done.returncode}"])[-1]
