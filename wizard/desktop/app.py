"""The window as a program: starting it, measuring its start, and building every page off screen to check it."""

import os
import sys
from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

from wizard.desktop import theme
from wizard.desktop.jobs import let_end
from wizard.desktop.measure import peak_memory_mb, seconds_since_start
from wizard.desktop.opening import Opening
from wizard.desktop.window import Window

SWITCH_S = 0.001
"""How long a thread may keep Python to itself while another waits: measured to keep the window's stalls short."""

START_PATIENCE_S = 30.0
"""How long a start may take before the check calls it failed: common practice (no source)."""


def application(argv: list[str]) -> QApplication:
    """The one Qt application, dressed."""
    # Looking for plug-ins of pydantic, of which we use none, costs a tenth of a second and some megabytes.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    # A worker that computes holds on to the interpreter for 5 ms at a time; the window should not wait so long.
    sys.setswitchinterval(SWITCH_S)
    present = QApplication.instance()
    app = present if isinstance(present, QApplication) else QApplication(argv or ["portmend"])
    app.setApplicationName("portmend")
    app.setApplicationDisplayName("Portmend")
    app.setDesktopFileName("portmend")
    theme.apply(app)
    app.styleHints().colorSchemeChanged.connect(lambda _scheme: theme.apply(app))
    return app


def open_window(case: Path | None = None) -> Opening:
    """A window with its first page, being filled; `case` is opened as soon as it can be."""
    window = Window()
    opening = Opening(window)
    opening.start()
    if case is not None:
        opening.wish(lambda presenter: presenter.open_case(case))
    window.show()
    return opening


def run_window(argv: list[str]) -> int:
    """Run the window until it is closed; one argument may name a case to open. Returns the exit code."""
    app = application(["portmend", *argv])
    opening = open_window(Path(argv[0]) if argv else None)
    code = app.exec()
    opening.window.deleteLater()
    let_end()
    return code


def run_start_check(say: Callable[[str], None]) -> int:
    """Open the window; say when its first page could be used, when everything was loaded and idle, and the peak
    memory; leave. 0 if it came up, else 1."""
    app = application(["portmend"])
    opening = open_window()
    usable: list[float] = []
    loaded: list[float] = []

    def idle() -> None:
        loaded.append(seconds_since_start())
        app.quit()

    # Qt gives timers without delay their turn once all that was pending is done; the first drawing is pending only
    # when the window has come up, hence twice.
    QTimer.singleShot(0, lambda: QTimer.singleShot(0, lambda: usable.append(seconds_since_start())))
    opening.ready.connect(lambda: QTimer.singleShot(0, idle))
    QTimer.singleShot(round(START_PATIENCE_S * 1000), app.quit)
    app.exec()
    opening.window.close()
    let_end()
    if not usable or not loaded:
        say(f"The window was not ready after {START_PATIENCE_S:.0f} s.")
        return 1
    memory = peak_memory_mb()
    told = "unknown" if memory is None else f"{memory:.0f} MB"
    say(
        f"The window was ready after {usable[0]:.2f} s, everything behind it after {loaded[0]:.2f} s; "
        f"peak memory {told}."
    )
    return 0


def build_every_page() -> list[str]:
    """Walk a demo through every page without showing anything; returns what went wrong, in sentences."""
    if QApplication.instance() is None:
        os.environ["QT_QPA_PLATFORM"] = "offscreen"
    from wizard.desktop.walk import walk_demos
    from wizard.desktop.wired import WiredEngine

    application(["portmend"])
    return walk_demos(WiredEngine)
