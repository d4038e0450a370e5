"""Where Portmend starts: the window, or a sub-command in the terminal. Alone sees both.

Each face is imported only when it is wanted: the terminal works where Qt does not, and the window need not wait
for the terminal's commands.
"""

import os
import sys
from collections.abc import Callable, Sequence

from wizard.bus.errors import BadInputError


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command line and return its exit code; without arguments the window, or the questions."""
    given = list(sys.argv[1:] if argv is None else argv)
    if given == ["check", "--start"] and _can_open():  # measured as the window starts: without the terminal's half
        return _told(lambda: _check_start(print))
    if given:
        return _in_terminal(given)
    return _open_window() if has_display() else _in_terminal(["ask"])


def window() -> int:
    """The same without a console, as a launcher starts it; one argument may name a case to open."""
    return _open_window(sys.argv[1:])


def has_display() -> bool:
    """Whether there is a screen to open a window on; only Linux runs without one as a matter of course."""
    if not sys.platform.startswith("linux"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def _open_window(argv: Sequence[str] = ()) -> int:
    try:
        from wizard.desktop.app import run_window
    except ImportError as missing:
        from wizard.terminal.screen import real_screen

        real_screen().note(f"The window can't open here ({missing}), so the questions come in the terminal.")
        return _in_terminal(["ask"])
    return _told(lambda: run_window(list(argv)))


def _told(work: Callable[[], int]) -> int:
    """Do the work; if it fails, the boundary of the terminal has the words for it."""
    try:
        return work()
    except Exception as fault:  # nothing beyond may ever reach the user as a trace
        from wizard.terminal.faults import guarded
        from wizard.terminal.screen import real_screen

        failed = fault

        def again() -> int:
            raise failed

        return guarded(again, real_screen())


def _in_terminal(argv: Sequence[str]) -> int:
    from wizard.terminal.check import WindowChecks
    from wizard.terminal.commands import execute
    from wizard.terminal.screen import real_screen

    return execute(list(argv), WindowChecks(_build_pages, _check_start), real_screen())


def _can_open() -> bool:
    """Qt ends the process at once where it finds no screen; the variable names one that needs none."""
    return has_display() or "QT_QPA_PLATFORM" in os.environ


def _build_pages() -> list[str]:
    from wizard.desktop.app import build_every_page

    return build_every_page()


def _check_start(say: Callable[[str], None]) -> int:
    if not _can_open():
        raise BadInputError("check --start", "there is no display to open a window on", "Start it on a desktop.")
    from wizard.desktop.app import run_start_check

    return run_start_check(say)


if __name__ == "__main__":
    sys.exit(main())
