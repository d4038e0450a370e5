"""Where Portmend starts: the window, or a sub-command in the terminal. Alone sees both.

The window is imported only when it is wanted, so that the terminal works where Qt does not.
"""

import os
import sys
from collections.abc import Callable, Sequence

from wizard.bus.errors import BadInputError
from wizard.terminal.check import WindowChecks
from wizard.terminal.commands import execute
from wizard.terminal.faults import guarded
from wizard.terminal.screen import Screen, real_screen


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command line and return its exit code; without arguments the window, or the questions."""
    given = list(sys.argv[1:] if argv is None else argv)
    screen = real_screen()
    if given:
        return execute(given, WindowChecks(_build_pages, _check_start), screen)
    return _open_window(screen) if has_display() else _ask(screen)


def window() -> int:
    """The same without a console, as a launcher starts it; one argument may name a case to open."""
    return _open_window(real_screen(), sys.argv[1:])


def has_display() -> bool:
    """Whether there is a screen to open a window on; only Linux runs without one as a matter of course."""
    if not sys.platform.startswith("linux"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def _open_window(screen: Screen, argv: Sequence[str] = ()) -> int:
    try:
        from wizard.desktop.app import run_window
    except ImportError as missing:
        screen.note(f"The window can't open here ({missing}), so the questions come in the terminal.")
        return _ask(screen)
    return guarded(lambda: run_window(list(argv)), screen)


def _ask(screen: Screen) -> int:
    return execute(["ask"], WindowChecks(_build_pages, _check_start), screen)


def _build_pages() -> list[str]:
    from wizard.desktop.app import build_every_page

    return build_every_page()


def _check_start(say: Callable[[str], None]) -> int:
    # Qt ends the process at once where it finds no screen; the variable names one that needs none.
    if not has_display() and "QT_QPA_PLATFORM" not in os.environ:
        raise BadInputError("check --start", "there is no display to open a window on", "Start it on a desktop.")
    from wizard.desktop.app import run_start_check

    return run_start_check(say)


if __name__ == "__main__":
    sys.exit(main())
