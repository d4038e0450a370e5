"""Files from another computer: the built-in commands that make them, to copy, and what to do with what comes of them.

The commands are those of the systems themselves; nothing has to be installed, and no rights are asked for.
"""

from PySide6.QtCore import Signal
from PySide6.QtGui import QFontDatabase, QGuiApplication
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QSizePolicy, QWidget

from wizard.desktop import theme
from wizard.desktop.flow import Flow
from wizard.desktop.page import Action, Page
from wizard.desktop.session import Session
from wizard.desktop.widgets.card import Card, Column
from wizard.desktop.widgets.text import Text, heading, quiet

WINDOWS_DEVICES = (
    "Get-PnpDevice | Where-Object InstanceId -match 'USB' | Select-Object InstanceId,FriendlyName,Class,Status,Problem"
    ' | ConvertTo-Json | Set-Content "$HOME\\usb-devices.json" -Encoding utf8'
)
WINDOWS_EVENTS = (
    "Get-WinEvent -LogName 'Microsoft-Windows-Kernel-PnP/Configuration','System' -MaxEvents 2000"
    " | Select-Object TimeCreated,ProviderName,Id,Message"
    ' | ConvertTo-Json | Set-Content "$HOME\\usb-events.json" -Encoding utf8'
)
MACOS_REPORT = "system_profiler -json SPUSBHostDataType SPUSBDataType > ~/Desktop/usb-report.json"
MACOS_LOG = "log show --last 1h --predicate 'eventMessage CONTAINS \"USB\"' > ~/Desktop/usb-log.txt"
LINUX_CAPTURE = "portmend capture --to usb-capture.tar.gz"


class ExportsPage(Page):
    """`left` says that the user goes back to where the files are read."""

    left = Signal()

    def __init__(self, flow: Flow) -> None:
        super().__init__("", "")
        self.title.say(self.tr("Files from another computer"))
        self.setAccessibleName(self.title.text())
        self.words.say(
            self.tr(
                "To look at a computer where Portmend does not run: have these commands run there, have the files sent "
                "to you, and add them on the page “Look”. They name devices, and may name users: look before you send."
            )
        )
        self.words.show()
        column = Column()
        column.fill(
            self._card(
                self.tr("Windows"),
                self.tr("In PowerShell, which every Windows has; no administrator is needed."),
                ((self.tr("What is plugged in"), WINDOWS_DEVICES), (self.tr("What happened"), WINDOWS_EVENTS)),
            ),
            self._card(
                self.tr("macOS"),
                self.tr("In Terminal; the files appear on the desktop."),
                ((self.tr("What is plugged in"), MACOS_REPORT), (self.tr("What happened"), MACOS_LOG)),
            ),
            self._card(
                self.tr("Linux"),
                self.tr("Where Portmend is installed. It leaves out serial numbers and names."),
                ((self.tr("Everything in one file"), LINUX_CAPTURE),),
            ),
        )
        self.body.addWidget(column, 1)

    def _card(self, system: str, where: str, commands: tuple[tuple[str, str], ...]) -> Card:
        card = Card()
        card.column.addWidget(heading(system))
        card.column.addWidget(quiet(where))
        for name, command in commands:
            card.column.addWidget(Text(name, bold=True))
            card.column.addWidget(self._command(command))
        return card

    def _command(self, command: str) -> QWidget:
        holder = QWidget()
        row = QHBoxLayout(holder)
        row.setContentsMargins(0, 0, 0, 0)
        words = Text(command)
        words.setFont(theme.sized(QFontDatabase.systemFont(QFontDatabase.SystemFont.FixedFont), theme.SMALL))
        copy = QPushButton(self.tr("Copy"))
        copy.setAutoDefault(False)
        copy.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        copy.clicked.connect(lambda: self._copy(command, copy))
        row.addWidget(words, 1)
        row.addWidget(copy)
        return holder

    def _copy(self, command: str, button: QPushButton) -> None:
        QGuiApplication.clipboard().setText(command)
        button.setText(self.tr("Copied"))

    def show_session(self, session: Session, flow: Flow) -> None:
        """Nothing here depends on the session."""

    def primary(self, session: Session, flow: Flow) -> Action:
        """Back to where the files are read."""
        return Action(self.tr("Back to &where I was"))

    def press_primary(self) -> None:
        """Back to where the files are read."""
        self.left.emit()
