"""The one boundary for the unexpected: details to a file, a plain word to the user, the case safe.

Expected trouble (a file that can't be read, a look without a bus) never comes here.
"""

import sys
from collections.abc import Callable
from pathlib import Path
from types import TracebackType

from PySide6.QtCore import QCoreApplication, QObject, Qt, Signal
from PySide6.QtWidgets import QMessageBox, QWidget


class Boundary(QObject):
    """Catches what nobody expected. `saved_as` says where the case lies, if it was saved."""

    heard = Signal(str)  # every fault, in one line

    def __init__(self, window: QWidget, saved_as: Callable[[], Path | None]) -> None:
        super().__init__(window)
        self._window = window
        self._saved_as = saved_as
        self._shown: QMessageBox | None = None

    def install(self) -> None:
        """From now on, exceptions that reach Qt end here instead of on a console nobody sees."""
        sys.excepthook = self._hook

    def _hook(self, kind: type[BaseException], fault: BaseException, trace: TracebackType | None) -> None:
        if not isinstance(fault, Exception):  # a request to stop, not a fault
            sys.__excepthook__(kind, fault, trace)
            return
        self.report(fault)

    def report(self, fault: BaseException) -> None:
        """Write the details down and say so. While one notice is open, further faults are only written."""
        from wizard.store.details import write_details  # the start of the window must not wait for it

        self.heard.emit(f"{type(fault).__name__}: {fault}")
        try:
            details: Path | None = write_details(fault)
        except OSError:
            details = None
        if self._shown is not None:
            return
        box = QMessageBox(self._window)
        box.setIcon(QMessageBox.Icon.Warning)
        box.setWindowTitle(_tr("Something went wrong in Portmend"))
        box.setTextFormat(Qt.TextFormat.PlainText)
        box.setText(_tr("Something went wrong in Portmend itself. Your USB gear was not touched."))
        box.setInformativeText("\n\n".join((self._about_the_case(), _about_the_details(details))))
        box.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        box.setStandardButtons(QMessageBox.StandardButton.Ok)
        box.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        box.finished.connect(self._closed)
        self._shown = box
        box.open()

    def _closed(self) -> None:
        self._shown = None

    def _about_the_case(self) -> str:
        path = self._saved_as()
        if path is None:
            return _tr("There was no case to save yet. You can go on, or close the window and start again.")
        return _tr("Your case is saved in %1. You can go on, or close the window and open it again.").replace(
            "%1", str(path)
        )


def _about_the_details(path: Path | None) -> str:
    if path is None:
        return _tr("The details could not be written to a file: there was no place to write to.")
    return _tr("The details are in %1. Please add that file if you tell anybody about it.").replace("%1", str(path))


def _tr(text: str) -> str:
    return QCoreApplication.translate("crash", text)
