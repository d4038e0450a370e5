"""Files from another computer: the built-in commands that make them, to copy, and what to do with what comes of them.

The commands are those of the systems themselves and stand in the texts; nothing has to be installed.
"""

from PySide6.QtCore import Signal
from PySide6.QtGui import QFontDatabase, QGuiApplication
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QSizePolicy, QWidget

from wizard.desktop import theme
from wizard.desktop.flow import Flow
from wizard.desktop.page import Action, Page
from wizard.desktop.session import Session
from wizard.desktop.widgets.card import Card, Caution, Column
from wizard.desktop.widgets.text import Text, heading
from wizard.diagnosis.texts import Texts

LINUX_CAPTURE = "portmend capture --to usb-capture.tar.gz"

COMMANDS = ("windows_devices", "windows_events", "macos_devices", "macos_events")
"""Keys below `exports` in the texts, each with `title`, `do` and `command`."""


class ExportsPage(Page):
    """`left` says that the user goes back to where the files are read."""

    left = Signal()

    def __init__(self, flow: Flow) -> None:
        super().__init__("", "")
        self.title.say(self.tr("Files from another computer"))
        self.setAccessibleName(self.title.text())
        texts = flow.engine.texts
        self.words.say(texts.get("exports.why") or "")
        self.words.show()
        column = Column()
        column.fill(
            Caution(self.tr("Before you send them"), [texts.get("exports.private") or ""]),
            Text(texts.get("exports.rights") or "", quiet=True),
            *(self._card(*words) for words in _commands(texts)),
            self._card(
                self.tr("Linux: devices and log in one file"),
                self.tr("Where Portmend is installed. This one leaves out serial numbers and names by itself."),
                LINUX_CAPTURE,
            ),
        )
        self.body.addWidget(column, 1)

    def _card(self, name: str, how: str, command: str) -> Card:
        card = Card()
        card.column.addWidget(heading(name))
        card.column.addWidget(Text(how))
        card.column.addWidget(self._command(command))
        return card

    def _command(self, command: str) -> QWidget:
        holder = QWidget()
        row = QHBoxLayout(holder)
        row.setContentsMargins(0, 0, 0, 0)
        words = Text(command.strip())
        words.setFont(theme.sized(QFontDatabase.systemFont(QFontDatabase.SystemFont.FixedFont), theme.SMALL))
        copy = QPushButton(self.tr("Copy"))
        copy.setAutoDefault(False)
        copy.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        copy.clicked.connect(lambda: self._copy(command.strip(), copy))
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


def _commands(texts: Texts) -> list[tuple[str, str, str]]:
    """Title, what to do, and the command, of every command that the texts have whole."""
    found = []
    for key in COMMANDS:
        words = [texts.get(f"exports.{key}.{part}") for part in ("title", "do", "command")]
        title, do, command = words
        if title and do and command:
            found.append((title, do, command))
    return found
