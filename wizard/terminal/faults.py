"""The one boundary of the terminal for everything that stops a command: one line, an exit code, never a trace."""

import os
import sys
from collections.abc import Callable

from wizard.bus.errors import CancelledError, PortmendError, RulebookError
from wizard.store.details import write_details
from wizard.terminal.judging import DONE, INTERRUPTED, OWN_FAULT, WRONG_INPUT
from wizard.terminal.screen import Screen


def guarded(work: Callable[[], int], screen: Screen) -> int:
    """Do the work and hand over what it said; whatever stops it becomes one line and the exit code for it."""
    try:
        code = work()
        screen.flush()
        return code
    except BrokenPipeError:
        _stop_writing()
        return DONE  # whoever read it has seen enough
    except (KeyboardInterrupt, CancelledError):
        screen.note("Stopped.")
        return INTERRUPTED
    except RulebookError as broken:
        return _own_fault(broken, screen)
    except PortmendError as expected:
        screen.note(str(expected))
        return WRONG_INPUT
    except Exception as fault:  # the boundary: nothing beyond may ever reach the user as a trace
        return _own_fault(fault, screen)


def _own_fault(fault: Exception, screen: Screen) -> int:
    try:
        where = f"the details are in {write_details(fault)}"
    except OSError as failure:
        where = f"the details could not be saved ({failure.strerror})"
    screen.note(f"portmend: a fault of Portmend itself ({type(fault).__name__}); nothing was changed; {where}")
    return OWN_FAULT


def _stop_writing() -> None:
    """Let what is still buffered go nowhere, or Python complains about the broken pipe when it ends."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
    os.close(nowhere)
