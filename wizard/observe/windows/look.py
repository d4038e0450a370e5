"""A look on Windows: libusb and Windows' own list at the same time, joined. Judges nothing."""

import threading
from collections.abc import Callable

from wizard.bus.drive import with_disks
from wizard.observe import libusb
from wizard.observe.asking import Answer
from wizard.observe.merging import merged
from wizard.observe.notes import NO_BUS
from wizard.observe.seen import Seen, Watcher
from wizard.observe.windows.answers import Told, told_in
from wizard.observe.windows.drives import drives_of
from wizard.observe.windows.powershell import ask_windows

_ASKING = "Asking Windows what it knows of them"
_TICK_S = 0.05
_MISSING = {
    "missing": "Windows could not be asked: its PowerShell was not found or may not be started here.",
    "slow": "Windows did not answer in time.",
    "failed": "Windows could not answer: PowerShell ended with an error.",
    "cancelled": "Asking Windows was stopped.",
    "too_long": "Windows answered far more than can be of use.",
}
_WITHOUT = "Names, drivers and problem codes stay unknown."
_IN_PART = "Some of what Windows knows of the devices stays unknown."


def look(
    watcher: Watcher | None = None,
    see: Callable[[Watcher], Seen] = libusb.look,
    ask: Callable[[Callable[[], bool]], Answer] = ask_windows,
) -> Seen:
    """Look at this PC. Raises CancelledError if the watcher says so. `see` and `ask` stand in in tests."""
    watching = watcher or Watcher()
    answers: list[Answer] = []
    asking = threading.Thread(
        target=lambda: answers.append(ask(watching.cancelled)), name="portmend-windows", daemon=True
    )
    asking.start()
    seen = see(watching)
    watching.progress(_ASKING, None)
    while asking.is_alive():
        asking.join(_TICK_S)
        watching.progress(_ASKING, None)
    answer = answers[0] if answers else Answer(trouble="failed")
    return joined(seen, told_in(answer.output), answer)


def joined(seen: Seen, told: Told, answer: Answer) -> Seen:
    """Both looks in one, with sentences about what is missing."""
    notes = [note for note in seen.notes if not told.snapshot.devices or note not in (libusb.LESS, NO_BUS)]
    if answer.trouble is not None:
        notes.append(f"{_MISSING[answer.trouble]} {_IN_PART if told.snapshot.devices else _WITHOUT}")
    elif not told.snapshot.devices:
        notes.append(f"Windows lists no USB devices. {_WITHOUT}")
    snapshot = merged(seen.snapshot, told.snapshot)
    drives = drives_of(snapshot, told.disks, told.volumes)
    return Seen(with_disks(snapshot, drives), (*notes, *told.notes), told.signs, drives)
