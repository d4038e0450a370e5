"""A look at the bus of this computer: chooses the reader that its operating system needs."""

import platform

from wizard.observe import libusb, linux
from wizard.observe.macos.look import look as look_macos
from wizard.observe.seen import Seen, Watcher
from wizard.observe.windows.look import look as look_windows


def look(watcher: Watcher | None = None) -> Seen:
    """Look at this computer. A machine without a bus gives an empty snapshot and a note.

    Raises CancelledError if the watcher says to stop; every other trouble is told in the snapshot or the notes.
    """
    watching = watcher or Watcher()
    if platform.system() == "Linux":
        return linux.look(None, watching)
    if platform.system() == "Windows":
        return look_windows(watching)
    if platform.system() == "Darwin":
        return look_macos(watching)
    return libusb.look(watching)
