"""A look at the bus of this computer: chooses the reader that its operating system needs."""

import platform

from wizard.observe import libusb, linux
from wizard.observe.seen import Seen, Watcher


def look(watcher: Watcher | None = None) -> Seen:
    """Look at this computer. A machine without a bus gives an empty snapshot and a note.

    Raises CancelledError if the watcher says to stop; every other trouble is told in the snapshot or the notes.
    """
    watching = watcher or Watcher()
    if platform.system() == "Linux":
        return linux.look(None, watching)
    # Imported where they are used: the other systems need not pay for them at the start.
    if platform.system() == "Windows":
        from wizard.observe.windows import look as windows

        return windows.look(watching)
    if platform.system() == "Darwin":
        from wizard.observe.macos import look as macos

        return macos.look(watching)
    return libusb.look(watching)
